//! Files made to be measured from outside: pieces as WAV, FLAC and MIDI, the clicks' times, every note of every instrument.
//!
//!     hear PIECE OUT.wav|flac|mid [--part N] [--click] [--drone] [--silent] [--level LUFS] [--rate N] [--font SF2 PROGRAM]
//!     hear --notes FOLDER      a WAV of each instrument, chromatic over its range; prints file, seconds and hertz of each note
//!     hear --speed PIECE       how many times faster than real time, and how soon the first sound is there
//!     hear --clicks PIECE OUT.wav   click only; prints the seconds where clicks must fall

use notation::{Rational, sketch};
use performance::play::{Performance, PlayOptions, perform};
use sound::{
    Click, Drone, DroneTonic, Font, SampleRate, Sound, SoundRequest, Sounder, Timbre, write_flac, write_midi,
    write_wav,
};
use std::error::Error;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::time::Instant;

type Anyhow<T> = Result<T, Box<dyn Error>>;

fn main() -> Anyhow<()> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["--notes", folder] => notes(folder),
        ["--speed", piece] => speed(piece),
        ["--clicks", piece, out] => click_times(piece, out),
        [piece, out, rest @ ..] => hear(piece, out, rest),
        _ => Err("see the head of this file".into()),
    }
}

fn play(piece: &str, part: usize) -> Anyhow<(Performance, Sounder)> {
    let bytes = std::fs::read(piece)?;
    let (piece, _) = formats::read(&bytes, piece)?;
    let played = perform(&piece, part, &PlayOptions::default()).ok_or("nothing is played")?;
    let known = piece.parts.get(part).and_then(instruments::identify);
    let instrument = known.map(|known| known.instrument);
    Ok((played, Sounder::Own(Timbre::of(instrument))))
}

fn hear(piece: &str, out: &str, rest: &[&str]) -> Anyhow<()> {
    let value = |name: &str| {
        rest.iter()
            .position(|word| *word == name)
            .and_then(|at| rest.get(at + 1))
    };
    let has = |name: &str| rest.contains(&name);
    let part = value("--part").map_or(Ok(1), |n| n.parse::<usize>())?;
    let (played, mut sounder) = play(piece, part.saturating_sub(1))?;
    if let Some(font) = value("--font") {
        sounder = Sounder::Font(Font::read(&std::fs::read(font)?)?, 74);
    }
    let rate = value("--rate").map_or(Ok(44_100), |n| n.parse::<u32>())?;
    let request = SoundRequest {
        rate: SampleRate::new(rate).ok_or("no such rate")?,
        level: value("--level").map_or(Ok(-20.0), |n| n.parse::<f64>())?,
        part: !has("--silent"),
        click: has("--click").then(Click::default),
        drone: has("--drone").then_some(Drone {
            tonic: DroneTonic::First,
            fifth: true,
            level: 0.0,
        }),
        ..SoundRequest::default()
    };
    let mut file = BufWriter::new(File::create(out)?);
    if out.ends_with(".mid") {
        file.write_all(&write_midi(&played, "part", 74))?;
        return Ok(());
    }
    let sound = Sound::measured(&played, &request, &sounder)?;
    if out.ends_with(".flac") {
        write_flac(&sound, rate, &mut file)?;
    } else {
        write_wav(&sound, rate, &mut file)?;
    }
    Ok(())
}

fn notes(folder: &str) -> Anyhow<()> {
    let mut out = std::io::stdout().lock();
    for instrument in instruments::all() {
        let Some((low, high)) = instrument.ranges.of(instruments::Experience::Professional) else {
            continue;
        };
        let shift = if instrument.ranges.sounding {
            Rational::ZERO
        } else {
            instrument.transposition().semitones()
        };
        let low = low.semitones() + shift;
        let count = (high.semitones() + shift - low).floor() + 1;
        // A chromatic scale of C4 and on, moved to where the instrument's lowest note sounds.
        let names = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];
        let note = |n: i64| {
            let name = usize::try_from(n % 12)
                .ok()
                .and_then(|n| names.get(n))
                .copied()
                .unwrap_or("C");
            format!("{name}{}/w!tenuto |", n / 12 + 4)
        };
        let text: Vec<String> = (0..count).map(note).collect();
        let piece = sketch(&format!("metre:4/4 mm:q=240 @mf {}", text.join(" ")))?;
        let options = PlayOptions {
            transpose: low - Rational::whole(60),
            ..PlayOptions::default()
        };
        let played = perform(&piece, 0, &options).ok_or("nothing is played")?;
        let sounder = Sounder::Own(Timbre::of(Some(instrument)));
        let request = SoundRequest::default();
        let sound = Sound::measured(&played, &request, &sounder)?;
        let path = format!("{folder}/{}.wav", instrument.id);
        write_wav(
            &sound,
            request.rate.get(),
            &mut BufWriter::new(File::create(&path)?),
        )?;
        for n in 0..count {
            let semitones = (low + Rational::whole(n)).to_f64();
            // Source: equal temperament, A4 = 440 Hz.
            let hertz = 440.0 * ((semitones - 69.0) / 12.0).exp2();
            writeln!(out, "{path}\t{n}\t{hertz:.6}")?;
        }
    }
    Ok(())
}

fn speed(piece: &str) -> Anyhow<()> {
    let mut out = std::io::stdout().lock();
    // First sound: from the bytes of the file to the first block.
    let start = Instant::now();
    let (played, sounder) = play(piece, 0)?;
    let request = SoundRequest {
        click: Some(Click::default()),
        ..SoundRequest::default()
    };
    let sound = Sound::at_once(&played, &request, &sounder)?;
    let mut stream = sound.stream()?;
    let mut block = [0.0; 512];
    stream.fill(&mut block);
    let first = start.elapsed();
    // From file to WAV.
    let start = Instant::now();
    let (played, sounder) = play(piece, 0)?;
    let request = SoundRequest::default();
    let sound = Sound::measured(&played, &request, &sounder)?;
    let mut wav = Vec::new();
    write_wav(&sound, request.rate.get(), &mut wav)?;
    let whole = start.elapsed();
    writeln!(
        out,
        "{piece}: {:.1} s of music in {:.0} ms, {:.0} times real time; first sound after {:.0} ms",
        played.seconds(),
        whole.as_secs_f64() * 1e3,
        played.seconds() / whole.as_secs_f64(),
        first.as_secs_f64() * 1e3
    )?;
    Ok(())
}

fn click_times(piece: &str, path: &str) -> Anyhow<()> {
    let (played, sounder) = play(piece, 0)?;
    let request = SoundRequest {
        part: false,
        click: Some(Click::default()),
        ..SoundRequest::default()
    };
    let sound = Sound::measured(&played, &request, &sounder)?;
    write_wav(
        &sound,
        request.rate.get(),
        &mut BufWriter::new(File::create(path)?),
    )?;
    let mut out = std::io::stdout().lock();
    for beat in &played.beats {
        writeln!(out, "{:.6}", played.clock.begins(beat.at))?;
    }
    Ok(())
}

//! What is heard in a sound file? One line a frame, or one an onset; for comparing with what other libraries hear.
//!
//!     ear FILE [--range LOW HIGH] [--a4 HERTZ]    frames: seconds, key (or -), best candidate's key, its probability, decibels, flux
//!     ear FILE … --onsets                         onsets: seconds, strength, by (p, e, f), key (or -)
//!     ear FILE … --speed                          seconds of sound, seconds of work for decoding, listening and onsets
//!
//! Several FILEs may be given; a line `FILE` goes before the lines of each.

use std::error::Error;
use std::fs::File;
use std::io::{BufReader, BufWriter, Write};
use std::time::Instant;
use take::{Ear, Track, decode_from, key_of, listen, onsets};

fn main() -> Result<(), Box<dyn Error>> {
    let mut ear = Ear::default();
    let (mut files, mut only_onsets, mut speed) = (Vec::new(), false, false);
    let mut arguments = std::env::args().skip(1);
    let number = |word: Option<String>| {
        word.ok_or("a number is missing")?
            .parse::<f64>()
            .map_err(|_| "no number")
    };
    while let Some(argument) = arguments.next() {
        match argument.as_str() {
            "--range" => {
                ear = Ear {
                    a4: ear.a4,
                    ..Ear::between(number(arguments.next())?, number(arguments.next())?)
                }
            }
            "--a4" => ear.a4 = Some(number(arguments.next())?),
            "--onsets" => only_onsets = true,
            "--speed" => speed = true,
            _ => files.push(argument),
        }
    }
    let mut out = BufWriter::new(std::io::stdout().lock());
    for file in files {
        let start = Instant::now();
        let (recording, findings) = decode_from(|| Ok(BufReader::new(File::open(&file)?)), &file)?;
        let decoded = start.elapsed();
        for finding in findings {
            writeln!(out, "# {finding}")?;
        }
        let track = listen(&recording, &ear);
        let listened = start.elapsed();
        writeln!(out, "FILE {file} {:.2} {:.1}", track.a4, track.floor_db)?;
        if speed {
            let found = onsets(&track).len();
            let all = start.elapsed();
            writeln!(
                out,
                "{:.3} {:.3} {:.3} {:.3} {found}",
                recording.seconds(),
                decoded.as_secs_f64(),
                (listened - decoded).as_secs_f64(),
                (all - listened).as_secs_f64()
            )?;
        } else if only_onsets {
            begin(&track, &mut out)?;
        } else {
            frames(&track, &mut out)?;
        }
    }
    Ok(())
}

fn key_or_dash(key: Option<f64>) -> String {
    key.map_or_else(|| "-".to_owned(), |key| format!("{key:.4}"))
}

fn frames(track: &Track, out: &mut impl Write) -> std::io::Result<()> {
    for frame in &track.frames {
        let best = frame.candidates().next();
        let (hertz, probability) = best.map_or((0.0, 0.0), |best| (best.hertz, best.probability));
        let likeliest = (hertz > 0.0).then(|| key_of(f64::from(hertz)));
        writeln!(
            out,
            "{:.6} {} {} {probability:.4} {:.2} {:.4}",
            frame.secs,
            key_or_dash(frame.key),
            key_or_dash(likeliest),
            frame.level_db,
            frame.flux
        )?;
    }
    Ok(())
}

fn begin(track: &Track, out: &mut impl Write) -> std::io::Result<()> {
    for onset in onsets(track) {
        let by: String = [
            (onset.by.pitch, 'p'),
            (onset.by.energy, 'e'),
            (onset.by.flux, 'f'),
        ]
        .into_iter()
        .filter_map(|(is, letter)| is.then_some(letter))
        .collect();
        writeln!(
            out,
            "{:.6} {:.3} {by} {}",
            onset.secs,
            onset.strength,
            key_or_dash(onset.key)
        )?;
    }
    Ok(())
}

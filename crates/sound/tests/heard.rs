//! What is heard, measured by means that the crate does not use itself.
#![expect(
    clippy::expect_used,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "tests: helpers outside of test functions, and counts as numbers"
)]

use notation::{BarIndex, KeyRegion, Pitch, Rational, Step, sketch};
use performance::play::{Performance, PlayOptions, perform};
use sound::{
    Click, ClickKind, ConcertPitch, Drone, DroneTonic, SampleRate, Sound, SoundRequest, Sounder, Subdivision,
    Timbre, Tuning, clicks, write_flac, write_midi, write_wav,
};
use std::f64::consts::TAU;

fn played(text: &str) -> Performance {
    perform(&sketch(text).expect("a sketch"), 0, &PlayOptions::default()).expect("something is played")
}

fn own() -> Sounder {
    Sounder::Own(Timbre::of(None))
}

fn samples(played: &Performance, request: &SoundRequest, sounder: &Sounder) -> Vec<f32> {
    let sound = Sound::measured(played, request, sounder).expect("a sound");
    let mut out = vec![0.0; usize::try_from(sound.samples()).expect("short")];
    let mut stream = sound.stream().expect("a stream");
    assert_eq!(stream.fill(&mut out), out.len());
    assert_eq!(stream.fill(&mut [0.0; 8]), 0);
    out
}

/// One bin of a Fourier transform under a Hann window: real and imaginary part.
fn bin(samples: &[f32], hertz: f64, rate: f64, start: usize) -> (f64, f64) {
    let size = samples.len() as f64;
    let mut sum = (0.0, 0.0);
    for (n, value) in samples.iter().enumerate() {
        let window = 0.5 - 0.5 * (TAU * n as f64 / size).cos();
        let angle = TAU * hertz * (n + start) as f64 / rate;
        sum.0 += f64::from(*value) * window * angle.cos();
        sum.1 -= f64::from(*value) * window * angle.sin();
    }
    sum
}

/// The frequency near `near`, by how far the phase of its bin turns between two windows.
fn measured(samples: &[f32], near: f64, rate: f64) -> f64 {
    // Windows four periods apart: a whole tone cannot turn the phase all round.
    let apart = (rate / near * 4.0) as usize;
    let size = samples.len() - apart;
    let phase = |start: usize| {
        let (re, im) = bin(&samples[start..start + size], near, rate, start);
        im.atan2(re)
    };
    let mut turn = phase(apart) - phase(0);
    while turn > TAU / 2.0 {
        turn -= TAU;
    }
    while turn < -TAU / 2.0 {
        turn += TAU;
    }
    near + turn / TAU * rate / apart as f64
}

fn cents(a: f64, b: f64) -> f64 {
    1200.0 * (a / b).log2()
}

/// Source: equal temperament on A4 (ISO 16); every semitone of every instrument's professional range, as it sounds.
#[test]
fn every_note_of_every_instrument_is_in_tune() {
    let rate = 44_100.0;
    let mut worst: f64 = 0.0;
    let mut count = 0;
    for instrument in instruments::all() {
        let Some((low, high)) = instrument.ranges.of(instruments::Experience::Professional) else {
            continue;
        };
        let shift = if instrument.ranges.sounding {
            Rational::ZERO
        } else {
            instrument.transposition().semitones()
        };
        let (low, high) = (low.semitones() + shift, high.semitones() + shift);
        let sounder = Sounder::Own(Timbre::of(Some(instrument)));
        // Every fifth semitone here; `reference/run tuning` takes them all, by another tracker.
        let mut key = low;
        while key <= high {
            let options = PlayOptions {
                transpose: key - Rational::whole(60),
                ..PlayOptions::default()
            };
            let piece = sketch("metre:4/4 mm:q=90 C4/q!tenuto |").expect("a sketch");
            let played = perform(&piece, 0, &options).expect("a note");
            let request = SoundRequest::default();
            let out = samples(&played, &request, &sounder);
            let wanted = 440.0 * ((key.to_f64() - 69.0) / 12.0).exp2();
            let middle = &out[3_500..28_500];
            let off = cents(measured(middle, wanted, rate), wanted).abs();
            assert!(off < 2.0, "{} {key}: {off} cents", instrument.id);
            worst = worst.max(off);
            count += 1;
            key += Rational::whole(5);
        }
    }
    assert!(count > 200, "{count}");
    println!("{count} notes, worst {worst} cents");
}

#[test]
fn concert_pitch_and_pure_intervals() {
    let played = played("metre:4/4 mm:q=60 A4/q E5/q C#5/q A4/q |");
    let rate = 44_100.0;
    let old = SoundRequest {
        a4: ConcertPitch::new(415.0).expect("in range"),
        ..SoundRequest::default()
    };
    let out = samples(&played, &old, &own());
    assert!(cents(measured(&out[6_000..36_000], 415.0, rate), 415.0).abs() < 0.5);
    assert!(ConcertPitch::new(450.0).is_none() && ConcertPitch::new(f64::NAN).is_none());
    let just = SoundRequest {
        tuning: Tuning::Just,
        drone: Some(Drone {
            tonic: DroneTonic::Given(Rational::whole(9)),
            fifth: false,
            level: -40.0,
        }),
        ..SoundRequest::default()
    };
    let out = samples(&played, &just, &own());
    let second = |n: usize| &out[n * 44_100 + 6_000..n * 44_100 + 36_000];
    assert!(
        cents(measured(second(1), 660.0, rate), 660.0).abs() < 0.5,
        "a pure fifth is 3:2"
    );
    assert!(
        cents(measured(second(2), 550.0, rate), 550.0).abs() < 0.5,
        "a pure third is 5:4"
    );
}

/// No partial above half the rate comes back as something else: between the partials there is next to nothing.
#[test]
fn nothing_is_folded_back() {
    let piece = sketch("metre:4/4 mm:q=60 C4/q!tenuto |").expect("a sketch");
    let options = PlayOptions {
        transpose: Rational::new(4_213, 100),
        ..PlayOptions::default()
    };
    let played = perform(&piece, 0, &options).expect("a note");
    let trumpet = instruments::by_id("trumpet-c").expect("a trumpet");
    let out = samples(
        &played,
        &SoundRequest::default(),
        &Sounder::Own(Timbre::of(Some(trumpet))),
    );
    let middle = &out[6_000..38_000];
    let rate = 44_100.0;
    let pitch = 440.0 * ((102.13_f64 - 69.0) / 12.0).exp2();
    let strength = |hertz: f64| {
        let (re, im) = bin(middle, hertz, rate, 0);
        re.hypot(im)
    };
    let tone = strength(pitch);
    for number in 6..=40 {
        // Where a partial above half the rate would come back.
        let folded = (f64::from(number) * pitch).rem_euclid(rate);
        let folded = folded.min(rate - folded);
        let nearest = (folded / pitch).round() * pitch;
        if (folded - nearest).abs() > 40.0 && f64::from(number) * pitch > rate / 2.0 {
            let level = 20.0 * (strength(folded) / tone).log10();
            assert!(level < -66.0, "partial {number} back at {folded} Hz: {level} dB");
        }
    }
}

fn click_only(subdivision: Subdivision, drop_out: Option<(u32, u32)>) -> SoundRequest {
    SoundRequest {
        part: false,
        click: Some(Click {
            subdivision,
            drop_out,
            level: 0.0,
        }),
        ..SoundRequest::default()
    }
}

/// Samples at which it becomes loud after silence.
fn onsets(out: &[f32], threshold: f32) -> Vec<usize> {
    let mut found = Vec::new();
    let mut quiet = 10_000;
    for (n, value) in out.iter().enumerate() {
        if value.abs() > threshold {
            if quiet > 1_000 {
                found.push(n);
            }
            quiet = 0;
        } else {
            quiet += 1;
        }
    }
    found
}

#[test]
fn clicks_fall_on_the_beat() {
    let played = played("metre:3/4 mm:q=90 C5/h. | D5/h. | E5/h. | F5/h. |");
    let out = samples(&played, &click_only(Subdivision::None, None), &own());
    let found = onsets(&out, 0.02);
    assert_eq!(found.len(), 12);
    for (n, at) in found.iter().enumerate() {
        let wanted = n as f64 * 60.0 / 90.0;
        assert!(
            (*at as f64 / 44_100.0 - wanted).abs() < 0.001,
            "click {n} at sample {at}"
        );
    }
    // The downbeat is higher and louder.
    let loud = |n: usize| {
        out[found[n]..found[n] + 200]
            .iter()
            .fold(0.0_f32, |most, value| most.max(value.abs()))
    };
    assert!(loud(0) > loud(1) * 1.2 && loud(3) > loud(4) * 1.2);
}

#[test]
fn clicks_in_a_ritardando_follow_the_clock() {
    let played = played("metre:4/4 mm:q=120 C5/w | \"rit.\" D5/w | \"a_tempo\" E5/w |");
    let out = samples(&played, &click_only(Subdivision::None, None), &own());
    let found = onsets(&out, 0.02);
    assert_eq!(found.len(), 12);
    for (beat, at) in played.beats.iter().zip(&found) {
        assert!((*at as f64 / 44_100.0 - played.clock.begins(beat.at)).abs() < 0.001);
    }
}

#[test]
fn subdivisions_and_silent_bars() {
    let six = played("metre:6/8 mm:q.=60 C5/h. | D5/h. |");
    assert_eq!(clicks(&six, &click_only(Subdivision::ByMetre, None)).len(), 12);
    assert_eq!(clicks(&six, &click_only(Subdivision::Into(2), None)).len(), 8);
    let options = PlayOptions {
        count_in: 1,
        ..PlayOptions::default()
    };
    let piece = sketch("metre:2/4 mm:q=60 C5/h | D5/h | E5/h | F5/h | G5/h |").expect("a sketch");
    let counted = perform(&piece, 0, &options).expect("played");
    let found = clicks(&counted, &click_only(Subdivision::None, Some((1, 2))));
    // The count-in, then one bar on, two silent.
    let seconds: Vec<u64> = found.iter().map(|click| click.sample / 44_100).collect();
    assert_eq!(seconds, [0, 1, 2, 3, 8, 9]);
    assert_eq!(found[0].kind, ClickKind::Downbeat);
    assert!(clicks(&counted, &SoundRequest::default()).is_empty());
}

fn region(from: u32, step: Step) -> KeyRegion {
    KeyRegion {
        from: BarIndex(from),
        to: BarIndex(from),
        tonic: (step, 0),
        mode: "major".to_owned(),
        certainty: 0.9,
    }
}

#[test]
fn a_drone_stays_unless_asked_to_follow() {
    let piece = sketch("metre:4/4 mm:q=60 C5/w | G4/w |").expect("a sketch");
    let options = PlayOptions {
        keys: vec![region(0, Step::C), region(1, Step::G)],
        ..PlayOptions::default()
    };
    let played = perform(&piece, 0, &options).expect("played");
    let with = |tonic: DroneTonic| SoundRequest {
        part: false,
        drone: Some(Drone {
            tonic,
            fifth: false,
            level: 0.0,
        }),
        ..SoundRequest::default()
    };
    let strength = |out: &[f32], second: usize, name: &str| {
        let hertz = 440.0 * ((Pitch::parse(name).expect(name).semitones().to_f64() - 69.0) / 12.0).exp2();
        let (re, im) = bin(&out[second * 44_100..(second + 1) * 44_100], hertz, 44_100.0, 0);
        re.hypot(im)
    };
    let stays = samples(&played, &with(DroneTonic::First), &own());
    let follows = samples(&played, &with(DroneTonic::Follows), &own());
    let ratio =
        |out: &[f32], second: usize| strength(out, second, "C3") / strength(out, second, "G3").max(1e-9);
    assert!(ratio(&stays, 1) > 30.0 && ratio(&stays, 6) > 30.0);
    assert!(
        ratio(&follows, 1) > 30.0 && ratio(&follows, 6) < 0.05,
        "{}",
        ratio(&follows, 6)
    );
}

#[test]
fn legato_does_not_dip_and_staccato_falls_silent() {
    let level = |text: &str, from: f64, to: f64| {
        let out = samples(&played(text), &SoundRequest::default(), &own());
        let range = (from * 44_100.0) as usize..(to * 44_100.0) as usize;
        // The least of the loudest samples of each 5 ms.
        let loudest = |chunk: &[f32]| chunk.iter().fold(0.0_f32, |most, value| most.max(value.abs()));
        out[range].chunks(220).map(loudest).fold(f32::MAX, f32::min)
    };
    let held = level("metre:2/4 mm:q=60 C5/h |", 0.9, 1.1);
    let joined = level("metre:2/4 mm:q=60 ( C5/q D5/q ) |", 0.9, 1.1);
    let short = level("metre:2/4 mm:q=60 C5/q!staccato D5/q |", 0.7, 0.95);
    assert!(joined > 0.6 * held, "{joined} beside {held}");
    assert!(short < 0.001, "{short}");
}

/// Source: EBU R 128 and ITU-R BS.1770: integrated loudness; read back here from the finished file.
#[test]
fn everything_comes_out_at_the_level_within_full_scale() {
    let loud =
        "metre:4/4 mm:q=100 @pp C5/q D5/q E5/q F5/q | @ff G5/q!accent A5/q!marcato B5/q C6/q | @sfz C6/w |";
    for (part, click, drone) in [
        (true, false, false),
        (true, true, true),
        (false, true, false),
        (false, false, true),
    ] {
        for level in [-24.0, -20.0, -14.0] {
            let request = SoundRequest {
                level,
                part,
                click: click.then(Click::default),
                drone: drone.then_some(Drone {
                    tonic: DroneTonic::First,
                    fifth: true,
                    level: 0.0,
                }),
                ..SoundRequest::default()
            };
            let out = samples(&played(loud), &request, &own());
            assert!(
                out.iter().all(|value| value.abs() < 0.9),
                "no sample near full scale"
            );
            let mut meter = ebur128::EbuR128::new(1, 44_100, ebur128::Mode::I).expect("a meter");
            meter.add_frames_f32(&out).expect("frames");
            let heard = meter.loudness_global().expect("a loudness");
            assert!(
                (heard - level).abs() < 1.0,
                "asked {level}, heard {heard}: part {part} click {click} drone {drone}"
            );
        }
    }
}

#[test]
fn blocks_of_any_size_give_the_same_samples() {
    let played = played("metre:4/4 mm:q=140 ( C5/e D5/e ) E5/q!staccato g:F5/s G5/h!trill |");
    let request = SoundRequest {
        click: Some(Click::default()),
        ..SoundRequest::default()
    };
    let sounder = own();
    let sound = Sound::measured(&played, &request, &sounder).expect("a sound");
    let whole: Vec<f32> = sound.stream().expect("a stream").collect();
    let mut pieces = Vec::new();
    let mut stream = sound.stream().expect("a stream");
    let mut size = 1;
    loop {
        let mut block = vec![0.0; size];
        let got = stream.fill(&mut block);
        if got == 0 {
            break;
        }
        pieces.extend_from_slice(&block[..got]);
        size = size * 7 % 1_009 + 1;
    }
    assert_eq!(whole, pieces);
}

/// Independent readers: `hound` for WAV, `claxon` for FLAC.
#[test]
fn wav_and_flac_hold_the_same_samples() {
    let played = played("metre:4/4 mm:q=100 @p ( C5/e D5/e ) r/q @f E5/q!staccato G5/q | r/w | C6/w!trill |");
    for rate in [22_050, 44_100, 48_000] {
        let request = SoundRequest {
            rate: SampleRate::new(rate).expect("a rate"),
            ..SoundRequest::default()
        };
        let sounder = own();
        let sound = Sound::measured(&played, &request, &sounder).expect("a sound");
        let (mut wav, mut flac) = (Vec::new(), Vec::new());
        write_wav(&sound, rate, &mut wav).expect("a file");
        write_flac(&sound, rate, &mut flac).expect("a file");
        let mut reader = hound::WavReader::new(wav.as_slice()).expect("a WAV file");
        assert_eq!((reader.spec().sample_rate, reader.spec().channels), (rate, 1));
        let from_wav: Vec<i32> = reader
            .samples::<i16>()
            .map(|value| i32::from(value.expect("a sample")))
            .collect();
        let mut reader = claxon::FlacReader::new(flac.as_slice()).expect("a FLAC file");
        assert_eq!(reader.streaminfo().sample_rate, rate);
        assert_eq!(reader.streaminfo().samples, Some(sound.samples()));
        let from_flac: Vec<i32> = reader.samples().map(|value| value.expect("a sample")).collect();
        assert_eq!(from_wav, from_flac);
        assert!(
            flac.len() < wav.len() * 3 / 4,
            "{} beside {}",
            flac.len(),
            wav.len()
        );
    }
}

/// When each note of a MIDI file starts: key and seconds. Independent reader: `midly`.
fn note_starts(bytes: &[u8]) -> Vec<(u8, f64)> {
    let file = midly::Smf::parse(bytes).expect("a MIDI file");
    let per_quarter = match file.header.timing {
        midly::Timing::Metrical(ticks) => f64::from(ticks.as_int()),
        midly::Timing::Timecode(..) => 0.0,
    };
    let (mut now, mut starts, mut tempo) = (0.0, Vec::new(), 0.5);
    for event in &file.tracks[0] {
        now += f64::from(event.delta.as_int()) / per_quarter * tempo;
        match event.kind {
            midly::TrackEventKind::Meta(midly::MetaMessage::Tempo(micros)) => {
                tempo = f64::from(micros.as_int()) / 1e6;
            }
            midly::TrackEventKind::Midi {
                message: midly::MidiMessage::NoteOn { key, .. },
                ..
            } => starts.push((key.as_int(), now)),
            _ => {}
        }
    }
    starts
}

#[test]
fn a_midi_file_keeps_notes_tempo_and_pauses() {
    for text in [
        "metre:4/4 mm:q=60 C5/q!tenuto D5/q!tenuto,caesura E5/h!tenuto | mm:q=120 F5/w!tenuto |",
        "metre:4/4 mm:q=60 \"rit.\" C5/q D5/q!caesura E5/h!fermata,caesura | \"a_tempo\" F5/w |",
    ] {
        let played = played(text);
        let starts = note_starts(&write_midi(&played, "Oboe", 69));
        let keys: Vec<u8> = starts.iter().map(|(key, _)| *key).collect();
        assert_eq!(keys, [72, 74, 76, 77]);
        for ((_, heard), note) in starts.iter().zip(&played.notes) {
            let wanted = played.clock.begins(note.onset);
            assert!((heard - wanted).abs() < 1e-3, "{heard} {wanted}: {text}");
        }
    }
}

#[test]
fn bytes_that_are_no_soundfont_are_refused() {
    assert!(sound::Font::read(b"RIFF....sfbk").is_err());
    assert!(sound::Font::read(&[]).is_err());
}

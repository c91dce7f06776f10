//! How long does a whole survey with a player take, in the process, after the file is read? `benches/study` runs it.
//!
//! An invented part of 64, 640 and 5,000 varied bars for four instruments. Exits with 1 if 64 bars take 15 ms or more, or a bar
//! of 5,000 more than one and a half times a bar of 640. Best of several runs: the limit is for a quiet machine.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "an example for the developer's terminal"
)]

use std::fmt::Write;
use std::hint::black_box;
use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;

/// Milliseconds for 64 bars.
const LIMIT: f64 = 15.0;
/// A bar of the longest part against one of the middle one.
const GROWTH: f64 = 1.5;
const STEPS: [&str; 7] = ["C", "D", "E", "F", "G", "A", "B"];

/// A note in sixteenths; every third one with something to notice.
fn note(text: &mut String, step: usize, octave: usize, length: usize, nth: usize, slur: &str) {
    let kind = match length {
        1 => "16th",
        2 => "eighth",
        4 => "quarter",
        _ => "half",
    };
    let (alter, sign) = match (STEPS[step], nth % 11) {
        ("F", 3) => ("", "<accidental>natural</accidental>"),
        ("F", _) => ("<alter>1</alter>", ""),
        ("C", 5) => ("<alter>1</alter>", "<accidental>sharp</accidental>"),
        _ => ("", ""),
    };
    let marks = match (slur, nth % 5) {
        ("", 2) => "<notations><articulations><staccato/></articulations></notations>".to_owned(),
        ("", _) => String::new(),
        (kind, _) => format!("<notations><slur number=\"1\" type=\"{kind}\"/></notations>"),
    };
    write!(
        text,
        "<note><pitch><step>{}</step>{alter}<octave>{octave}</octave></pitch><duration>{length}</duration><voice>1</voice>\
         <type>{kind}</type>{sign}{marks}</note>",
        STEPS[step]
    )
    .unwrap();
}

fn part(name: &str, clef: (&str, u8), octave: usize, bars: usize) -> String {
    const LENGTHS: [&[usize]; 6] = [
        &[4, 4, 4, 4],
        &[2, 2, 2, 2, 4, 4],
        &[1, 1, 1, 1, 2, 2, 4, 4],
        &[8, 2, 2, 4],
        &[1, 1, 1, 1, 1, 1, 1, 1, 4, 4],
        &[4, 2, 1, 1, 4, 4],
    ];
    let mut text = format!(
        "<?xml version=\"1.0\"?><score-partwise version=\"4.0\"><part-list><score-part id=\"P1\"><part-name>{name}</part-name>\
         </score-part></part-list><part id=\"P1\">"
    );
    let mut nth = 0;
    for bar in 0..bars {
        write!(text, "<measure number=\"{}\">", bar + 1).unwrap();
        if bar == 0 {
            write!(
                text,
                "<attributes><divisions>4</divisions><key><fifths>1</fifths></key><time><beats>4</beats><beat-type>4</beat-type>\
                 </time><clef><sign>{}</sign><line>{}</line></clef></attributes><direction placement=\"above\"><direction-type>\
                 <metronome><beat-unit>quarter</beat-unit><per-minute>96</per-minute></metronome></direction-type></direction>",
                clef.0, clef.1
            )
            .unwrap();
        }
        if bar % 4 == 0 {
            let loud = ["p", "mf", "f"][bar / 4 % 3];
            write!(
                text,
                "<direction placement=\"below\"><direction-type><dynamics><{loud}/></dynamics></direction-type></direction>"
            )
            .unwrap();
        }
        let lengths = LENGTHS[(bar * 5 + bar / 7) % LENGTHS.len()];
        let start = bar * 3 + bar / 5;
        for (at, length) in lengths.iter().enumerate() {
            let place = start + at * (1 + bar % 3);
            let slur = match (bar % 3, at) {
                (0, 0) => "start",
                (0, 1) => "stop",
                _ => "",
            };
            note(&mut text, place % 7, octave + place / 7 % 2, *length, nth, slur);
            nth += 1;
        }
        text.push_str("</measure>");
    }
    text.push_str("</part></score-partwise>");
    text
}

/// Milliseconds of the whole survey with a player, the best of several runs.
fn time(text: &str, instrument: &str, runs: usize) -> f64 {
    let opened = desk::open_bytes(Path::new("long.musicxml"), text.as_bytes()).unwrap();
    let asked = desk::Asked {
        player: desk::PlayerAsked {
            instrument: Some(instrument.to_owned()),
            ..Default::default()
        },
        ..Default::default()
    };
    (0..runs)
        .map(|_| {
            let start = Instant::now();
            let shown = desk::survey_piece(&opened, &asked).unwrap();
            assert!(shown.study.is_some());
            drop(black_box(shown));
            start.elapsed().as_secs_f64() * 1e3
        })
        .fold(f64::INFINITY, f64::min)
}

fn main() -> ExitCode {
    let mut good = true;
    for (instrument, name, clef, octave) in [
        ("flute", "Flute", ("G", 2), 4),
        ("bassoon", "Bassoon", ("F", 4), 2),
        ("trombone-tenor", "Trombone", ("F", 4), 2),
        ("violin", "Violin", ("G", 2), 4),
    ] {
        let instrument = if instruments::by_id(instrument).is_some() {
            instrument
        } else {
            name
        };
        let short = time(&part(name, clef, octave, 64), instrument, 40);
        let middle = time(&part(name, clef, octave, 640), instrument, 8);
        let long = time(&part(name, clef, octave, 5_000), instrument, 3);
        let growth = (long / 5_000.0) / (middle / 640.0);
        println!(
            "{name:9} 64 bars {short:6.2} ms ({:.1} times within {LIMIT} ms); 640 bars {middle:7.1} ms; 5,000 bars {long:7.1} ms: \
             {growth:.2} times as much a bar as of 640",
            LIMIT / short
        );
        good &= short < LIMIT && growth <= GROWTH;
    }
    if good {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

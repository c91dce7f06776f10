//! From what the press saw on a page to a piece: two systems of a demo piece as our press engraves them, in
//! `press/fixtures/two-systems.png`. What is expected was read off the picture by eye. The answer is a recorded one; that the press
//! gives it still is tested there (`press/tests/pages.rs`, which writes it anew with `FOREREAD_BLESS`).

#![allow(clippy::unwrap_used, clippy::panic)]

use job::{Answer, Letter};
use notation::{EventKind, Piece, SpanKind};
use pageread::{Read, System, assemble};

const SEEN: &[u8] = include_bytes!("../fixtures/two-systems.letter");
const EXPECTED: [&str; 8] = [
    "D4/3/2 F#4/1 A4/1/2 D5/3",
    "C#5/1 B4/1/2 A4/1 G4/1/2 F#4/3",
    "B3/3/2 D4/1 F#4/1/2 B4/3",
    "A4/1 G4/1/2 F#4/1 D#4/1/2 E4/3/2 r/3/2",
    "D4/3/2 F#4/1 A4/1/2 D5/3",
    "E5/1 D5/1/2 C#5/1 B4/1/2 A#4/3~",
    "A#4/3/2 B4/1 A4/1/2 G4/1 E4/1/2 C#4/1 E4/1/2",
    "D4/3~ D4/3/2 r/3/2",
];

fn read() -> Read {
    let answer: Letter<Answer> = Letter::read(&mut &*SEEN).unwrap();
    let Answer::Seen(page) = answer.head else {
        panic!("the recorded answer is no page");
    };
    let systems: Vec<System> = page
        .systems
        .iter()
        .zip(&answer.blobs)
        .map(|(place, scores)| {
            let (fours, _) = scores.as_chunks::<4>();
            let scores: Vec<f32> = fours.iter().map(|four| f32::from_le_bytes(*four)).collect();
            System::new(0, place, &scores)
        })
        .collect();
    assert!(systems.iter().all(System::is_music));
    assemble(&systems)
}

/// Each bar in words: notes with their length in quarter notes, `~` a tie.
fn said(piece: &Piece) -> Vec<String> {
    let bars = 0..piece.bars.len();
    bars.map(|bar| {
        let events = piece.parts[0]
            .events
            .iter()
            .filter(|event| event.place.bar.get() == bar);
        let words: Vec<String> = events
            .map(|event| match &event.kind {
                EventKind::Chord(heads) => {
                    let names: Vec<String> = heads
                        .iter()
                        .map(|head| head.pitch().unwrap().to_string())
                        .collect();
                    let tie = if heads.iter().any(|head| head.tie_start) {
                        "~"
                    } else {
                        ""
                    };
                    format!("{}/{}{tie}", names.join("+"), event.duration)
                }
                _ => format!("r/{}", event.duration),
            })
            .collect();
        words.join(" ")
    })
    .collect()
}

#[test]
fn a_page_of_two_systems_is_read_as_it_stands() {
    let read = read();
    assert_eq!(said(&read.piece), EXPECTED);
    let part = &read.piece.parts[0];
    assert_eq!(part.clefs[0].value.name(), "treble");
    assert_eq!(part.metres[0].value.name(), "12/8");
    assert_eq!(
        part.metres.len(),
        1,
        "the courtesy metre at the end belongs to a bar that is not here"
    );
    assert_eq!(
        part.spans
            .iter()
            .filter(|span| span.kind == SpanKind::Slur)
            .count(),
        12
    );
    assert_eq!((read.bars, read.bars_off), (8, 0));
    assert!(read.piece.bars[4].new_system && !read.piece.bars[3].new_system);
    // Every note knows where it stood and how sure it is.
    for event in &part.events {
        let origin = read.piece.provenance.origins.get(&event.id).unwrap();
        assert!(origin.confidence.is_some_and(|sure| (0.0..=1.0).contains(&sure)));
        let (page, [left, top, width, height]) = origin.page_box.unwrap();
        assert!(page == 0 && left >= 0.0 && top >= 0.0 && left + width < 1240.0 && top + height < 500.0);
    }
}

#[test]
fn nothing_seen_is_an_empty_piece() {
    let read = assemble(&[]);
    assert!(read.piece.bars.is_empty() && read.signs == 0);
}

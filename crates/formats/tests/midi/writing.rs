//! Does the written file sound as the piece is written? Demo pieces there and back, ties, graces, transposition, order.

use crate::{page, read, sounding};
use formats::{FormatError, MidiOptions, write_midi};
use notation::{BarIndex, Piece, Quarters, Rational, sketch};
use std::path::Path;

fn written(piece: &Piece, options: &MidiOptions<'_>) -> Piece {
    let (bytes, _) = write_midi(piece, options).unwrap_or_else(|error| panic!("{error}"));
    read(&bytes).0
}

fn heard(text: &str) -> Vec<String> {
    let piece = sketch(text).expect("a sketch");
    let back = written(&piece, &MidiOptions::default());
    let notes = sounding(&back, &back.parts[0]);
    notes
        .iter()
        .map(|(onset, key, duration)| format!("{key}@{onset}={duration}"))
        .collect()
}

/// The pieces of `demo/pieces`, without grace notes and cues, which a file can't tell from others.
pub fn demo_pieces() -> Vec<(String, Piece)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/pieces");
    let mut pieces = Vec::new();
    for entry in std::fs::read_dir(folder).expect("demo pieces") {
        let path = entry.expect("an entry").path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let (mut piece, _) = formats::read(&std::fs::read(&path).expect("bytes"), &name).expect("a piece");
        let bars = piece.bars.len();
        for part in &mut piece.parts {
            part.events.retain(|event| !event.is_grace() && !event.cue);
            part.index_bars(bars);
        }
        pieces.push((name, piece));
    }
    assert!(pieces.len() >= 10);
    pieces
}

#[test]
fn the_demo_pieces_sound_the_same_after_the_way_there_and_back() {
    for (name, piece) in demo_pieces() {
        for (index, part) in piece.parts.iter().enumerate() {
            let back = written(
                &piece,
                &MidiOptions {
                    parts: Some(&[index]),
                    ..MidiOptions::default()
                },
            );
            assert_eq!(
                sounding(&back, &back.parts[0]),
                sounding(&piece, part),
                "{name} {index}"
            );
            let lengths = |piece: &Piece| piece.bars.iter().map(|bar| bar.length).collect::<Vec<_>>();
            let (ours, theirs) = (lengths(&back), lengths(&piece));
            // The last bar may be short on the page; a file can't say so.
            let bars = ours.len().min(theirs.len()).saturating_sub(1);
            assert_eq!(ours[..bars], theirs[..bars], "{name} {index}");
        }
    }
}

#[test]
fn tied_notes_are_one() {
    assert_eq!(heard("metre:4/4 C4/w~ | C4/h D4/h |"), ["60@0=6", "62@6=2"]);
}

#[test]
fn the_pitch_is_the_sounding_one() {
    assert_eq!(heard("metre:4/4 trans:-1,-2 D5/w |"), ["72@0=4"]);
}

#[test]
fn the_key_signature_is_the_sounding_one() {
    let piece = sketch("key:2 metre:4/4 trans:-1,-2 D5/w |").expect("a sketch");
    assert_eq!(
        written(&piece, &MidiOptions::default()).parts[0].keys[0]
            .value
            .fifths,
        Some(0)
    );
}

#[test]
fn grace_notes_take_their_time_from_the_main_note() {
    assert_eq!(
        heard("metre:4/4 g:D5/e C5/q E5/h. |"),
        ["74@0=1/8", "72@1/8=7/8", "76@1=3"]
    );
    assert_eq!(
        heard("metre:4/4 a:D5/e a:E5/e C5/e r/e r/h. |"),
        ["74@0=1/8", "76@1/8=1/8", "72@1/4=1/4"]
    );
}

#[test]
fn bars_sound_in_the_order_asked_for() {
    let piece = sketch("metre:2/4 C4/h | D4/h~ | D4/h |").expect("a sketch");
    let order = [0, 1, 0, 1, 2].map(BarIndex);
    let back = written(
        &piece,
        &MidiOptions {
            order: Some(&order),
            ..MidiOptions::default()
        },
    );
    assert_eq!(page(&back, 0), "C4/half | D4/half | C4/half | D4/half | ~D4/half");
    let none = write_midi(
        &piece,
        &MidiOptions {
            order: Some(&[BarIndex(9)]),
            ..MidiOptions::default()
        },
    );
    assert!(matches!(none, Err(FormatError::Midi { .. })));
}

#[test]
fn pickups_and_metres_come_back() {
    let piece = sketch("metre:3/4 key:-3 G4/q | C5/h. | metre:6/8 C5/q. C5/q. |").expect("a sketch");
    let back = written(&piece, &MidiOptions::default());
    assert_eq!(page(&back, 0), "G4/quarter | C5/half. | C5/quarter. C5/quarter.");
    let metres: Vec<_> = back.parts[0]
        .metres
        .iter()
        .map(|metre| metre.value.name())
        .collect();
    assert_eq!(metres, ["3/4", "6/8"]);
    assert!(back.bars[0].implicit);
}

#[test]
fn tempo_follows_the_metronome_marks() {
    let piece = sketch("metre:4/4 C4/w | mm:h=100 C4/w |").expect("a sketch");
    let options = MidiOptions {
        tempo: Rational::whole(72),
        ..MidiOptions::default()
    };
    let back = written(&piece, &options);
    let tempos: Vec<_> = back
        .sound_hints
        .iter()
        .map(|hint| (hint.place.bar.0, hint.get("tempo").unwrap()))
        .collect();
    assert_eq!(tempos, [(0, "72"), (1, "200")]);
}

/// Source: MIDI 1.0 Detailed Specification, velocity scale; see `velocity.rs`.
#[test]
fn velocities_follow_the_dynamics() {
    let piece = sketch("metre:4/4 @p C4/h @ff D4/h |").expect("a sketch");
    let (bytes, _) = write_midi(&piece, &MidiOptions::default()).expect("written");
    let struck = |key: u8| {
        bytes
            .windows(3)
            .find(|three| three[0] == 0x90 && three[1] == key)
            .map(|three| three[2])
    };
    assert_eq!((struck(60), struck(62)), (Some(40), Some(104)));
}

#[test]
fn what_a_file_cannot_say_is_said() {
    let mut piece = sketch("metre:4/4 C4/q!staccato D4/q E4/h |").expect("a sketch");
    let kinds = |piece: &Piece| -> Vec<&'static str> {
        let (_, findings) = write_midi(piece, &MidiOptions::default()).expect("written");
        findings.iter().map(|finding| finding.kind).collect()
    };
    assert_eq!(kinds(&piece), ["midi-signs"]);
    piece.parts[0].events[1].duration = Quarters::new(1, 32_749);
    piece.parts[0].events[2].duration = Quarters::new(1, 32_719);
    piece.parts[0].events[2].cue = true;
    piece.parts[0].events[0].duration = Quarters::new(1, 32_719);
    assert_eq!(kinds(&piece), ["midi-rounded", "midi-cues", "midi-signs"]);
}

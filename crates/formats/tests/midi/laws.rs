//! What holds for every piece? What is typed exactly is read exactly; what is read can be written and read again.

use crate::file::{File, Track, file, track};
use crate::{read, sounding};
use formats::{MidiOptions, write_midi};
use notation::{Piece, Quarters};
use proptest::prelude::*;

/// 2⁵·3·5·7 ticks: all divisions below are exact.
const TICKS: u32 = 3_360;

/// Divisions of a beat that are typed: (parts of the beat in ticks, true for a note).
fn beat() -> impl Strategy<Value = Vec<(u32, bool)>> {
    let even = |parts: u32| vec![(TICKS / parts, true); parts as usize];
    prop_oneof![
        4 => Just(even(1)),
        4 => Just(even(2)),
        3 => Just(even(4)),
        1 => Just(even(8)),
        2 => Just(even(3)),
        1 => Just(even(6)),
        1 => Just(even(5)),
        1 => Just(even(7)),
        2 => Just(vec![(TICKS * 3 / 4, true), (TICKS / 4, true)]),
        2 => Just(vec![(TICKS / 4, true), (TICKS / 2, true), (TICKS / 4, true)]),
        2 => Just(vec![(TICKS / 2, false), (TICKS / 2, true)]),
        1 => Just(vec![(TICKS / 3, true), (TICKS / 3, false), (TICKS / 3, true)]),
        1 => Just(vec![(TICKS, false)]),
    ]
}

/// A beat: its division, its keys, and whether its first note goes on from the beat before.
type Beat = (Vec<(u32, bool)>, Vec<u8>, bool);

fn line() -> impl Strategy<Value = Vec<Beat>> {
    let beat = (
        beat(),
        proptest::collection::vec(48_u8..84, 8),
        proptest::bool::weighted(0.2),
    );
    proptest::collection::vec(beat, 4..40)
}

type Typed = Vec<(u32, u32, u8)>;

/// `scale` is three halves for the dotted beats of compound metres.
fn typed(line: &[Beat], scale: (u32, u32)) -> Typed {
    let mut notes: Typed = Vec::new();
    let mut at = 0;
    for (parts, keys, goes_on) in line {
        for (index, ((length, sounds), key)) in parts.iter().zip(keys).enumerate() {
            let length = &(length * scale.0 / scale.1);
            let last = notes.last_mut().filter(|(start, length, _)| start + length == at);
            match last {
                Some(last) if index == 0 && *goes_on && *sounds => last.1 += length,
                _ if *sounds => notes.push((at, *length, *key)),
                _ => {}
            }
            at += length;
        }
    }
    notes
}

fn midi(notes: &Typed, metre: (u8, u8)) -> Vec<u8> {
    let line = notes.iter().fold(
        track().metre(0, metre.0, metre.1),
        |track: Track, (at, length, key)| track.note(*at, *length, *key),
    );
    let division = u16::try_from(TICKS).unwrap().to_be_bytes();
    File {
        division,
        ..file(vec![line])
    }
    .bytes()
}

fn bars_are_full(piece: &Piece) {
    for part in &piece.parts {
        for (bar, range) in piece.bars.iter().zip(&part.bar_ranges) {
            let events = &part.events[range.start as usize..range.end as usize];
            for voice in 0..part.voices.len() {
                let own: Vec<_> = events
                    .iter()
                    .filter(|event| usize::from(event.voice) == voice)
                    .collect();
                let mut at = Quarters::ZERO;
                for event in &own {
                    assert_eq!(event.place.offset, at, "one after the other");
                    at = event.end_offset();
                    if let Some(written) = &event.written {
                        assert_eq!(written.quarters(), event.duration);
                    }
                }
                assert!(
                    own.is_empty() && voice > 0 || at == bar.length,
                    "voice {voice}: {at} of {}",
                    bar.length
                );
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(80))]

    #[test]
    fn what_is_typed_exactly_is_read_exactly(
        line in line(),
        metre in prop_oneof![Just((4, 2)), Just((3, 2)), Just((2, 2)), Just((6, 3)), Just((9, 3)), Just((5, 2)), Just((7, 3)), Just((2, 1))],
    ) {
        let notes = typed(&line, if metre.1 == 3 && metre.0 != 7 { (3, 2) } else { (1, 1) });
        prop_assume!(!notes.is_empty());
        let (piece, _) = read(&midi(&notes, metre));
        let quarters = |ticks: u32| Quarters::new(i64::from(ticks), i64::from(TICKS));
        let expected: Vec<_> = notes.iter().map(|(at, length, key)| (quarters(*at), i32::from(*key), quarters(*length))).collect();
        prop_assert_eq!(sounding(&piece, &piece.parts[0]), expected);
        bars_are_full(&piece);
        let unwritten = piece.parts[0].events.iter().filter(|event| event.is_note() && event.written.is_none()).count();
        prop_assert_eq!(unwritten, 0);
    }

    #[test]
    fn what_is_written_reads_the_same_again(line in line()) {
        let notes = typed(&line, (1, 1));
        prop_assume!(!notes.is_empty());
        let (piece, _) = read(&midi(&notes, (4, 2)));
        let (bytes, findings) = write_midi(&piece, &MidiOptions::default()).expect("written");
        prop_assert!(findings.is_empty());
        let (again, _) = read(&bytes);
        prop_assert_eq!(sounding(&again, &again.parts[0]), sounding(&piece, &piece.parts[0]));
    }

    #[test]
    fn played_notes_fill_their_bars(
        notes in proptest::collection::vec((0_u32..20_000, 1_u32..3_000, 30_u8..100), 1..60),
        metre in prop_oneof![Just((4_u8, 2_u8)), Just((3, 2)), Just((6, 3)), Just((1, 0)), Just((13, 4))],
    ) {
        let line = notes.iter().fold(track().metre(0, metre.0, metre.1), |track, (at, length, key)| track.note(*at, *length, *key));
        let (piece, _) = read(&file(vec![line]).bytes());
        bars_are_full(&piece);
        let (bytes, _) = write_midi(&piece, &MidiOptions::default()).expect("written");
        read(&bytes);
    }
}

#[test]
fn a_triplet_over_the_bar_line_of_seven_eight_is_read_exactly() {
    let third = TICKS / 3;
    let before = [
        (0, TICKS),
        (TICKS, TICKS * 3 / 4),
        (TICKS * 7 / 4, TICKS / 4),
        (2 * TICKS, TICKS),
    ];
    let triplet = [(3 * TICKS, third), (3 * TICKS + 2 * third, third)];
    let notes: Typed = before
        .into_iter()
        .chain(triplet)
        .map(|(at, length)| (at, length, 48))
        .collect();
    let (piece, _) = read(&midi(&notes, (7, 3)));
    let lengths: Vec<_> = sounding(&piece, &piece.parts[0])
        .iter()
        .map(|note| note.2)
        .collect();
    let expected: Vec<_> = notes
        .iter()
        .map(|note| Quarters::new(i64::from(note.1), i64::from(TICKS)))
        .collect();
    assert_eq!(lengths, expected);
}

//! Are notes spelled as they would be printed? The demo pieces to keys and back.

use crate::read;
use crate::writing::demo_pieces;
use formats::{MidiOptions, write_midi};
use notation::{Part, Piece, Pitch};

/// Sounding pitches of the notes that start (not tied over), in order.
fn pitches(piece: &Piece, part: &Part) -> Vec<Pitch> {
    let events = part.events.iter().filter(|event| !event.is_grace() && !event.cue);
    let heads = events.flat_map(|event| event.heads().iter().map(move |head| (event, head)));
    let mut notes: Vec<_> = heads
        .filter(|(_, head)| !head.tie_stop)
        .filter_map(|(event, head)| {
            let mut pitch = head.pitch()?;
            if !piece.concert_pitch {
                pitch = part.transposition_at(event.place).sounding(pitch);
            }
            Some((event.place, pitch.key_number(), pitch))
        })
        .collect();
    notes.sort_by_key(|(place, key, _)| (*place, *key));
    notes.into_iter().map(|(.., pitch)| pitch).collect()
}

fn right(keep_keys: bool) -> (usize, usize) {
    let (mut all, mut right) = (0, 0);
    for (name, mut piece) in demo_pieces() {
        if name.ends_with(".mxl") || name.contains("timewise") {
            continue; // The same music as another of them.
        }
        if !keep_keys {
            piece.parts.iter_mut().for_each(|part| part.keys.clear());
        }
        for (index, part) in piece.parts.iter().enumerate() {
            let options = MidiOptions {
                parts: Some(&[index]),
                ..MidiOptions::default()
            };
            let (back, _) = read(&write_midi(&piece, &options).expect("written").0);
            let (printed, spelled) = (pitches(&piece, part), pitches(&back, &back.parts[0]));
            assert_eq!(printed.len(), spelled.len(), "{name}");
            all += printed.len();
            right += printed.iter().zip(&spelled).filter(|(a, b)| a == b).count();
        }
    }
    (all, right)
}

/// Source: our own newly composed pieces; the floor is the paper's 99 %. Measured: 1,977 of 1,986.
#[test]
fn ninety_nine_of_a_hundred_notes_are_spelled_as_printed() {
    let (all, right) = right(true);
    assert!(
        right * 100 >= all * 99,
        "{right} of {all} with the printed signatures"
    );
}

/// One piece of C sharp minor has a passage in D flat: without its signature the passage is spelled in sharps.
/// Measured: 1,953 of 1,986.
#[test]
fn without_signatures_nearly_as_many() {
    let (all, right) = right(false);
    assert!(right * 100 >= all * 98, "{right} of {all} without signatures");
}

//! How well does MIDI keep what it can? Writes scores as MIDI files, lists the notes of MIDI files, measures the spelling.
//!
//!     midi write SCORE OUT.mid          the score in written order
//!     midi notes FILE.mid …             each note as `part key onset duration`, in quarter notes
//!     midi sounding SCORE …             the same of a score, at sounding pitch, grace notes and cues left out
//!     midi spell SCORE …                each part to MIDI and back: notes printed, found again at the same place with the
//!                                       same key, spelled as printed with its key signatures, and with none

#![expect(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a measuring tool that prints what it finds"
)]

use formats::{MidiOptions, write_midi};
use notation::{Part, Piece, Pitch, Quarters};
use std::collections::BTreeMap;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let Some((command, files)) = arguments.split_first() else {
        eprintln!("midi write|notes|sounding|spell FILE …");
        return;
    };
    match (command.as_str(), files) {
        ("write", [score, out]) => {
            let written = read(score).and_then(|piece| {
                let (bytes, findings) =
                    write_midi(&piece, &MidiOptions::default()).map_err(|e| e.to_string())?;
                for finding in findings {
                    eprintln!("{finding}");
                }
                std::fs::write(out, bytes).map_err(|e| e.to_string())
            });
            if let Err(error) = written {
                println!("error {error}");
            }
        }
        ("notes" | "sounding", files) => files.iter().for_each(|file| {
            println!("file {file}");
            match read(file) {
                Ok(piece) => list(&piece),
                Err(error) => println!("error {error}"),
            }
        }),
        ("spell", files) => files.iter().for_each(|file| spell(file)),
        _ => eprintln!("midi write|notes|sounding|spell FILE …"),
    }
}

fn read(file: &str) -> Result<Piece, String> {
    let bytes = std::fs::read(file).map_err(|error| error.to_string())?;
    let (piece, findings) = formats::read(&bytes, file).map_err(|error| error.to_string())?;
    for finding in findings
        .iter()
        .filter(|finding| finding.kind.starts_with("midi-quantised"))
    {
        println!("said {finding}");
    }
    Ok(piece)
}

/// A note as it sounds: onset, key, duration, written and sounding pitch.
type Sounding = (Quarters, i32, Quarters, Pitch);

/// Notes of a part, ties joined.
fn sounding(piece: &Piece, part: &Part) -> Vec<Sounding> {
    let starts = piece.bar_onsets();
    let mut notes: Vec<Sounding> = Vec::new();
    let mut tied: BTreeMap<i32, usize> = BTreeMap::new();
    for event in part.events.iter().filter(|event| !event.is_grace() && !event.cue) {
        let onset = starts.get(event.place.bar.get()).copied().unwrap_or_default() + event.place.offset;
        for head in event.heads() {
            let Some(pitch) = head.pitch() else { continue };
            let pitch = if piece.concert_pitch {
                pitch
            } else {
                part.transposition_at(event.place).sounding(pitch)
            };
            let key = pitch.key_number();
            let before = tied.remove(&key).filter(|_| head.tie_stop);
            let index = match before.and_then(|index| Some((index, notes.get_mut(index)?))) {
                Some((index, note)) if note.0 + note.2 == onset => {
                    note.2 += event.duration;
                    index
                }
                _ => {
                    notes.push((onset, key, event.duration, pitch));
                    notes.len() - 1
                }
            };
            if head.tie_start {
                tied.insert(key, index);
            }
        }
    }
    notes.sort_by_key(|(onset, key, duration, _)| (*onset, *key, *duration));
    notes
}

fn list(piece: &Piece) {
    for (index, part) in piece.parts.iter().enumerate() {
        for (onset, key, duration, pitch) in sounding(piece, part) {
            println!("{index} {key} {onset} {duration} {pitch}");
        }
    }
}

/// Notes of a part of a score against those read back from MIDI.
fn spell(file: &str) {
    let Ok(piece) = read(file) else {
        println!("error {file}");
        return;
    };
    for (index, part) in piece.parts.iter().enumerate() {
        let printed = sounding(&piece, part);
        let options = MidiOptions {
            parts: Some(&[index]),
            ..MidiOptions::default()
        };
        let mut bare = piece.clone();
        for part in &mut bare.parts {
            part.keys.clear();
        }
        let with = back(&piece, &options).map(|back| same(&printed, &back));
        let without = back(&bare, &options).map(|back| same(&printed, &back));
        let (Some((count, with)), Some((_, without))) = (with, without) else {
            continue;
        };
        let all = known(&printed).len();
        println!("{all} {count} {with} {without} {index} {file}");
    }
}

fn back(piece: &Piece, options: &MidiOptions<'_>) -> Option<Vec<Sounding>> {
    let (bytes, _) = write_midi(piece, options).ok()?;
    let (back, _) = formats::read(&bytes, "back").ok()?;
    let part = back.parts.first()?;
    Some(sounding(&back, part))
}

/// Keys and where they start: a key is down once, though two voices write it.
fn known(notes: &[Sounding]) -> BTreeMap<(Quarters, i32), Pitch> {
    let start = |(onset, key, _, pitch): &Sounding| ((*onset, *key), *pitch);
    notes.iter().map(start).collect()
}

/// Notes found again, and of these the ones spelled the same.
fn same(printed: &[Sounding], back: &[Sounding]) -> (usize, usize) {
    let known = known(printed);
    let mut counts = (0, 0);
    for (onset, key, _, pitch) in back {
        if let Some(printed) = known.get(&(*onset, *key)) {
            counts.0 += 1;
            counts.1 += usize::from(printed == pitch);
        }
    }
    counts
}

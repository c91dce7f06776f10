//! Does the MIDI reader say what sounds in the file, and the writer what stands in the piece?
//!
//! Source of what is expected: Standard MIDI Files 1.0 (RP-001), unless a test names another. The files are made here, event
//! by event, so that each can be read.

#![expect(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test stops at the first thing that is not as it should be"
)]

mod coverage;
mod file;
mod hostile;
mod laws;
mod played;
mod reading;
mod signs;
mod spelling;
mod writing;

use notation::{Event, EventKind, Finding, HeadNote, Part, Piece, Quarters};
use std::collections::BTreeMap;

/// Reads a file.
pub fn read(bytes: &[u8]) -> (Piece, Vec<Finding>) {
    formats::read(bytes, "test.mid").unwrap_or_else(|error| panic!("{error}"))
}

/// Kinds of findings, those that every file has left out.
pub fn kinds(findings: &[Finding]) -> Vec<&'static str> {
    const ALWAYS: [&str; 4] = [
        "midi-no-page",
        "midi-quantised",
        "midi-clef-guessed",
        "midi-pickup-unknown",
    ];
    let kinds = findings.iter().map(|finding| finding.kind);
    kinds.filter(|kind| !ALWAYS.contains(kind)).collect()
}

/// What a finding of a kind says.
pub fn said<'f>(findings: &'f [Finding], kind: &str) -> &'f str {
    let found = findings.iter().find(|finding| finding.kind == kind);
    &found.unwrap_or_else(|| panic!("no {kind}: {findings:?}")).what
}

/// Each bar of a part as `C4/quarter ~C4/eighth r/half`, bars apart by ` | `; other voices after ` & `.
pub fn page(piece: &Piece, part: usize) -> String {
    let part = &piece.parts[part];
    let bars = part.bar_ranges.iter().map(|range| {
        let events = &part.events[range.start as usize..range.end as usize];
        let voices = (0..part.voices.len()).map(|voice| {
            let own = events.iter().filter(|event| usize::from(event.voice) == voice);
            own.map(event).collect::<Vec<_>>().join(" ")
        });
        voices
            .filter(|voice| !voice.is_empty())
            .collect::<Vec<_>>()
            .join(" & ")
    });
    bars.collect::<Vec<_>>().join(" | ")
}

fn event(event: &Event) -> String {
    let what = match &event.kind {
        EventKind::Rest { whole_bar: true } => return "R".to_owned(),
        EventKind::Rest { .. } => "r".to_owned(),
        EventKind::Space => return format!("({})", event.duration),
        EventKind::Chord(heads) => {
            let tie = if heads[0].tie_stop { "~" } else { "" };
            let names = heads.iter().map(|head| match head.note {
                HeadNote::Pitch(pitch) => pitch.to_string(),
                HeadNote::Unpitched(_) => "x".to_owned(),
            });
            format!("{tie}{}", names.collect::<Vec<_>>().join("+"))
        }
    };
    let Some(written) = &event.written else {
        return format!("{what}/?{}", event.duration);
    };
    assert_eq!(
        written.quarters(),
        event.duration,
        "{what}: what is printed is what it lasts"
    );
    let dots = ".".repeat(usize::from(written.dots));
    let tuplets = written
        .tuplets
        .iter()
        .map(|t| format!("[{}:{}]", t.actual, t.normal));
    format!(
        "{what}/{}{dots}{}",
        written.value.name(),
        tuplets.collect::<String>()
    )
}

/// A note as it sounds: onset, key, duration.
pub type Sounding = (Quarters, i32, Quarters);

/// The notes of a part at sounding pitch, ties joined; grace notes and cues left out.
pub fn sounding(piece: &Piece, part: &Part) -> Vec<Sounding> {
    let starts = piece.bar_onsets();
    let mut notes: Vec<Sounding> = Vec::new();
    let mut tied: BTreeMap<i32, usize> = BTreeMap::new();
    for event in part.events.iter().filter(|event| !event.is_grace() && !event.cue) {
        let onset = starts[event.place.bar.get()] + event.place.offset;
        for head in event.heads() {
            let Some(mut pitch) = head.pitch() else { continue };
            if !piece.concert_pitch {
                pitch = part.transposition_at(event.place).sounding(pitch);
            }
            let key = pitch.key_number();
            let before = tied.remove(&key).filter(|_| head.tie_stop);
            let index = match before.filter(|index| notes[*index].0 + notes[*index].2 == onset) {
                Some(index) => {
                    notes[index].2 += event.duration;
                    index
                }
                None => {
                    notes.push((onset, key, event.duration));
                    notes.len() - 1
                }
            };
            if head.tie_start {
                tied.insert(key, index);
            }
        }
    }
    notes.sort_unstable();
    notes
}

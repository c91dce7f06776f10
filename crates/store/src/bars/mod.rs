//! What does a part hold, bar by bar, as far as a pencil mark can hold on to it? Notes and rests with their places, as plain values.

mod align;
mod carry;
mod hold;
#[cfg(test)]
mod real_tests;
#[cfg(test)]
mod tests;
mod within;

pub(crate) use carry::Carrier;
pub use carry::{Carried, Fate, carry};
pub use hold::{Found, Hold};

use notation::{BarIndex, Event, EventKind, Head, HeadNote, Id, Piece, Pitch, Quarters, alter_ascii};
use std::fmt::Write as _;

/// The bars of one part, in the order of the page.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Bars {
    bars: Vec<OneBar>,
}

#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct OneBar {
    /// The printed label.
    pub(crate) label: String,
    pub(crate) length: Quarters,
    /// By offset; grace notes before the note they belong to.
    pub(crate) notes: Vec<OneNote>,
    /// All of it as text: equal texts, equal bars.
    pub(crate) text: String,
}

/// One head, or one rest.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct OneNote {
    pub(crate) offset: Quarters,
    pub(crate) duration: Quarters,
    /// `Bb4`; `x` for a head without pitch, `r` for a rest.
    pub(crate) pitch: String,
    /// Its place in a group of grace notes.
    pub(crate) grace: Option<u16>,
    pub(crate) voice: u16,
    pub(crate) event: Id,
    pub(crate) head: Option<Id>,
}

impl Bars {
    /// The bars of the part with an index; none if there is no such part.
    #[must_use]
    pub fn of(piece: &Piece, part: usize) -> Self {
        let bars = piece.bars.iter().enumerate().map(|(at, bar)| {
            let events = piece
                .parts
                .get(part)
                .map_or(&[][..], |part| part.bar_events(BarIndex::from_usize(at)));
            let notes: Vec<OneNote> = events.iter().flat_map(notes_of).collect();
            OneBar {
                label: bar.label.clone(),
                length: bar.length,
                text: text_of(bar.length, &notes),
                notes,
            }
        });
        Self { bars: bars.collect() }
    }

    /// How many there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.bars.len()
    }

    /// True if there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.bars.is_empty()
    }

    pub(crate) fn get(&self, bar: usize) -> Option<&OneBar> {
        self.bars.get(bar)
    }

    pub(crate) fn all(&self) -> &[OneBar] {
        &self.bars
    }

    /// The index of the bar with a printed label; of several, the first.
    pub(crate) fn labelled(&self, label: &str) -> Option<usize> {
        self.bars.iter().position(|bar| bar.label == label)
    }
}

/// An event as its heads, or as one rest; spaces say nothing.
fn notes_of(event: &Event) -> Vec<OneNote> {
    let note = |pitch: String, head: Option<Id>| OneNote {
        offset: event.place.offset,
        duration: event.duration,
        pitch,
        grace: event.grace.map(|grace| grace.order),
        voice: event.voice,
        event: event.id,
        head,
    };
    match &event.kind {
        EventKind::Chord(heads) => heads
            .iter()
            .map(|head| note(name_of(head), Some(head.id)))
            .collect(),
        EventKind::Rest { .. } => vec![note("r".to_owned(), None)],
        EventKind::Space => Vec::new(),
    }
}

fn name_of(head: &Head) -> String {
    match head.note {
        HeadNote::Pitch(pitch) => pitch_name(pitch),
        HeadNote::Unpitched(_) => "x".to_owned(),
    }
}

/// `Bb4`, the plain form that [`Pitch::parse`] reads.
pub(crate) fn pitch_name(pitch: Pitch) -> String {
    format!(
        "{}{}{}",
        pitch.step.letter(),
        alter_ascii(pitch.alter),
        pitch.octave
    )
}

fn text_of(length: Quarters, notes: &[OneNote]) -> String {
    let mut text = length.to_string();
    for note in notes {
        let grace = note.grace.map_or_else(String::new, |order| format!("g{order}"));
        let _ = write!(text, " {}@{}{grace}+{}", note.pitch, note.offset, note.duration);
        if note.voice > 0 {
            let _ = write!(text, "v{}", note.voice);
        }
    }
    text
}

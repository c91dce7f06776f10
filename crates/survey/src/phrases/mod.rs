//! Where does one phrase end and the next begin? Boundaries of the single line, each with its certainty and why.
//!
//! Two published models stand beside the answer ([`lbdm`], [`grouper`]); the answer itself ([`blend`]) weighs them
//! together with rests, long notes, cadences on degrees of the key, the place in the bar (upbeats), figures that come back,
//! and what the page says outright: slurs, fermatas, double bars, repeats, breath marks. A proposal: the teacher decides.

pub mod blend;
pub mod features;
pub mod grouper;
pub mod lbdm;
pub mod notes;
mod page;
mod parallel;
#[cfg(test)]
mod tests;
mod weights;

pub use notes::Notes;
pub use page::{Signs, signs};

use crate::Context;
use crate::key::KeyAnswer;
use features::Rows;
use notation::Place;
use parallel::Return;
use std::ops::Range;

/// A number of notes as a real number.
pub(crate) fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

/// The beginning of a phrase.
#[derive(Clone, PartialEq, Debug)]
pub struct Boundary {
    /// Its first note, as an index into the line of the context.
    pub note: usize,
    /// Where that note stands.
    pub place: Place,
    /// How probable a boundary is here, 0 to 1.
    pub certainty: f64,
    /// What speaks for it, clauses (`a rest before it`, `the opening comes back`), the most telling first.
    pub why: Vec<&'static str>,
}

/// One phrase.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Phrase {
    /// Its notes, as indices into the line of the context.
    pub notes: Range<usize>,
    /// Where its first note stands.
    pub from: Place,
    /// Where its last note stands.
    pub to: Place,
}

/// Phrases of a line.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PhrasesAnswer {
    /// For each note of the line the probability that a phrase begins there; 1 for the first.
    pub certainties: Vec<f64>,
    /// The beginnings, the first note's included.
    pub boundaries: Vec<Boundary>,
    /// The phrases, in order, covering the line.
    pub phrases: Vec<Phrase>,
    /// The signs on the page before each note.
    pub signs: Vec<Signs>,
}

impl PhrasesAnswer {
    /// True if a phrase begins at a note of the line.
    #[must_use]
    pub fn begins(&self, note: usize) -> bool {
        self.boundaries
            .binary_search_by_key(&note, |boundary| boundary.note)
            .is_ok()
    }

    /// True if a note of the line is the last of its phrase.
    #[must_use]
    pub fn ends(&self, note: usize) -> bool {
        note + 1 == self.certainties.len() || self.begins(note + 1)
    }
}

/// Divides a part's line into phrases; `key` is the answer to the question of key, where it was asked.
#[must_use]
pub fn answer(ctx: &Context, key: Option<&KeyAnswer>) -> PhrasesAnswer {
    let notes = Notes::of(ctx);
    let signs = signs(ctx, &notes);
    let rows = features::rows(&notes, key.map(tonic_class));
    let certainties = blend::certainties(&notes, &rows, &signs);
    let boundaries: Vec<Boundary> = certainties
        .iter()
        .enumerate()
        .filter(|(_, certainty)| **certainty >= weights::THRESHOLD)
        .filter_map(|(note, certainty)| {
            Some(Boundary {
                note,
                place: notes.line.get(note)?.place,
                certainty: *certainty,
                why: why(note, &rows, signs.get(note).copied().unwrap_or_default()),
            })
        })
        .collect();
    PhrasesAnswer {
        phrases: phrases(&notes, &boundaries),
        certainties,
        boundaries,
        signs,
    }
}

/// The pitch class of the tonic as written, 0 for C.
#[must_use]
pub fn tonic_class(key: &KeyAnswer) -> i32 {
    (key.tonic.0.semitones() + i32::from(key.tonic.1)).rem_euclid(12)
}

fn phrases(notes: &Notes, boundaries: &[Boundary]) -> Vec<Phrase> {
    let ends = boundaries.iter().skip(1).map(|boundary| boundary.note);
    boundaries
        .iter()
        .zip(ends.chain([notes.len()]))
        .filter_map(|(boundary, end)| {
            Some(Phrase {
                notes: boundary.note..end,
                from: boundary.place,
                to: notes.line.get(end.checked_sub(1)?)?.place,
            })
        })
        .collect()
}

/// What speaks for a boundary, in words; positions in the row as [`features`] fills it.
fn why(note: usize, rows: &Rows, signs: Signs) -> Vec<&'static str> {
    let Some(row) = rows.rows.get(note).filter(|_| note > 0) else {
        return Vec::new();
    };
    let back: Return = rows.returns.get(note).copied().unwrap_or_default();
    let value = |at: usize| row.get(at).copied().unwrap_or(0.0);
    let reasons = [
        (signs.breath_mark, "a breath mark is printed before it"),
        (signs.section, "a double bar or repeat stands before it"),
        (signs.fermata, "a fermata stands before it"),
        (value(1) > 0.0, "a rest stands before it"),
        (back.opening >= 4, "the opening comes back"),
        (value(4) >= 0.5, "a long note ends the last phrase"),
        (
            value(15) > 0.0 && value(22) + value(23) > 0.0,
            "the last phrase comes to rest on the key note",
        ),
        (back.begins >= 5, "a figure begins that comes elsewhere, too"),
        (
            back.opening_rhythm >= 4,
            "it begins with the rhythm of the opening",
        ),
        (
            value(27) > 0.0,
            "it begins where in the bar the first phrase does",
        ),
        (value(10) >= 0.5, "a leap divides it from the last"),
    ];
    reasons
        .into_iter()
        .filter(|(holds, _)| *holds)
        .map(|(_, words)| words)
        .collect()
}

//! What is a drill before it is written out? Its kind, its bars, what it is for, when to stop, how fast and how often.

use super::DrillKind;
use super::draft::Passage;
use super::forms::{Chord, Form};
use crate::BarSpan;
use notation::{BarIndex, Finding, Id, Piece, Pitch, Step};
use std::collections::BTreeMap;
use survey::metre::BeatUnit;

/// A drill that makes sense here.
#[derive(Clone, PartialEq, Debug)]
pub struct Offer {
    /// What kind.
    pub kind: DrillKind,
    /// The bars it is made from.
    pub span: BarSpan,
    /// The trouble spot it is for, as an index into the study's spots; `None` for scales, look-alikes and bars of her choice.
    pub spot: Option<usize>,
    /// What it is made of beyond the bars themselves.
    pub matter: Matter,
    /// What stands over it: `Bars 5–6 in dotted rhythm`.
    pub title: String,
    /// What it is for, a sentence or two.
    pub what_for: String,
    /// When to stop, a sentence or two.
    pub when_to_stop: String,
    /// At what tempo to start.
    pub tempo: StartTempo,
    /// How often at most in one sitting.
    pub at_most: u8,
    /// Where lips, tongue or hands can suffer, what to mind; sentences.
    pub cautions: Vec<&'static str>,
}

/// What a drill is made of beyond its bars.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Matter {
    /// The bars as they are.
    Bars,
    /// A scale.
    Scale {
        /// Letter and alteration of its first note, as written.
        tonic: (Step, i8),
        /// Which.
        form: Form,
    },
    /// A broken chord.
    Chord {
        /// Letter and alteration of its root, as written.
        root: (Step, i8),
        /// Which.
        chord: Chord,
        /// The key it stands in: sharps (+) or flats (−) of its signature.
        fifths: i8,
    },
    /// Two notes, or one with two fingerings.
    Notes(Vec<Pair>),
    /// The bars that these resemble.
    Like(BarSpan),
    /// From key to key.
    Through(Order),
}

/// Two notes to go between, with the names of fingerings where they are not the usual ones.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Pair {
    /// The first note as written.
    pub from: Pitch,
    /// The second.
    pub to: Pitch,
    /// The fingering of the first.
    pub from_fingering: Option<String>,
    /// The fingering of the second.
    pub to_fingering: Option<String>,
}

/// In what order keys follow each other.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Order {
    /// A fourth up each time.
    #[default]
    Fourths,
    /// A semitone up each time.
    Semitones,
}

/// The tempo to start at.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct StartTempo {
    /// The note that is counted.
    pub beat: BeatUnit,
    /// So many a minute: a mark of the metronome.
    pub bpm: u16,
}

impl StartTempo {
    /// As it is printed: `♩ = 60`.
    #[must_use]
    pub fn said(self) -> String {
        format!("{} = {}", self.beat.sign(), self.bpm)
    }
}

/// A drill written out.
#[derive(Clone, Debug)]
pub struct Drill {
    /// What it is.
    pub offer: Offer,
    /// The notes: a piece of its own, one part, fresh ids.
    pub piece: Piece,
    /// For each of its bars the bar of the source that it was made from; `None` for scales and bars of our own.
    pub bars: Vec<Option<BarIndex>>,
    /// For each note that stands in the source the event that it was made from.
    pub from: BTreeMap<Id, Id>,
    /// What was changed or left out, and why.
    pub findings: Vec<Finding>,
    /// What was written, for a booklet of several.
    pub(crate) passages: Vec<Passage>,
}

/// Several drills one after the other.
#[derive(Clone, Debug)]
pub struct Booklet {
    /// All of them as one piece, each on a new line.
    pub piece: Piece,
    /// The bars of each, in order, with what it is and what was changed in it.
    pub drills: Vec<(BarSpan, Offer, Vec<Finding>)>,
    /// For each bar the bar of the source that it was made from.
    pub bars: Vec<Option<BarIndex>>,
    /// For each note that stands in the source the event that it was made from.
    pub from: BTreeMap<Id, Id>,
}

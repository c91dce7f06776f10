//! What came out? The played bars in order, how they were reached, and the way from written to played and back.

use super::jumps::{JumpKind, Until};
use super::sections::Section;
use notation::{BarIndex, Finding, Id, Place, Quarters};
use std::collections::BTreeSet;

/// One bar as it is played, whole or in part.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct PlayedBar {
    /// Which written bar.
    pub bar: BarIndex,
    /// From where in it, in quarter notes; more than zero where a repeat or jump lands in mid-bar.
    pub from: Quarters,
    /// Up to where, in quarter notes.
    pub to: Quarters,
    /// For the how-manieth time, from 1.
    pub pass: u32,
}

impl PlayedBar {
    /// How long it lasts, in quarter notes.
    #[must_use]
    pub fn length(&self) -> Quarters {
        self.to - self.from
    }
}

/// Why the player does not simply read on.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum LeapKind {
    /// Back for a repeat.
    Repeat,
    /// Over an ending that is for another time.
    Ending,
    /// Back to the beginning.
    DaCapo,
    /// Back to the sign.
    DalSegno,
    /// Over to the coda.
    ToCoda,
    /// From the end of a da capo on to what follows the jump.
    GoOn,
    /// To the next section of the order that the source lists.
    Section,
}

/// One leap of the eye, in the order in which they are made.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Leap {
    /// Why.
    pub kind: LeapKind,
    /// The place left: the bar line where reading stops.
    pub from: Place,
    /// The place where it goes on.
    pub to: Place,
    /// How many played bars come before it.
    pub after: usize,
}

/// A passage that is repeated.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct RepeatPassage {
    /// Where it starts.
    pub start: Place,
    /// Where it ends, its endings included.
    pub end: Place,
    /// How many times it is played in all (before any jump).
    pub times: u32,
    /// False if no start-repeat is printed.
    pub printed_start: bool,
    /// Its endings, as indices into [`Unfolding::endings`].
    pub endings: Vec<usize>,
}

/// An ending (volta).
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Ending {
    /// Where it starts.
    pub start: Place,
    /// Where it ends.
    pub end: Place,
    /// The times through for which it is played.
    pub passes: BTreeSet<u32>,
    /// What is printed at its bracket.
    pub printed: String,
    /// An end-repeat stands in it.
    pub repeats: bool,
}

/// A D.C. or D.S. as written, with where it leads.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct WrittenJump {
    /// D.C. or D.S.
    pub kind: JumpKind,
    /// Where it is taken: a bar line.
    pub at: Place,
    /// Where it goes.
    pub target: Place,
    /// How far the music is played after it.
    pub until: Until,
    /// The words as printed; `None` if only the file's playback hint says it.
    pub words: Option<String>,
    /// A playback hint says it.
    pub hint: bool,
    /// Whether the words say that repeats are taken after it.
    pub repeats: Option<bool>,
    /// The words.
    pub element: Option<Id>,
    /// The parts that carry it.
    pub parts: Vec<usize>,
    /// How often it was taken.
    pub taken: u32,
}

/// The order in which a piece is played, with everything that led to it.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Unfolding {
    /// The bars as played, in order.
    pub played: Vec<PlayedBar>,
    /// The leaps between them, in order.
    pub leaps: Vec<Leap>,
    /// The repeated passages in order of their last sign.
    pub repeats: Vec<RepeatPassage>,
    /// The endings in written order.
    pub endings: Vec<Ending>,
    /// The jumps in written order.
    pub jumps: Vec<WrittenJump>,
    /// Where Fine acts.
    pub fines: Vec<Place>,
    /// Where the player leaves for a coda, and the coda.
    pub codas: Vec<(Place, Place)>,
    /// The sections of the written page, in order, without gaps.
    pub sections: Vec<Section>,
    /// Where the music ends: the place after the last note played.
    pub ends_at: Place,
    /// Repeats that were skipped because they were played before the jump, as indices into `repeats`.
    pub skipped_repeats: Vec<usize>,
    /// Written bars that are never played.
    pub never_played: Vec<BarIndex>,
    /// What is remarkable or wrong, in written order.
    pub findings: Vec<Finding>,
    /// Where each played bar starts, in quarter notes; one more than played bars.
    pub onsets: Vec<Quarters>,
}

impl Unfolding {
    /// The play order as written bars. A bar cut by a repeat in its middle comes once for each part played.
    #[must_use]
    pub fn order(&self) -> Vec<BarIndex> {
        self.played.iter().map(|played| played.bar).collect()
    }

    /// How long the piece is as played, in quarter notes.
    #[must_use]
    pub fn quarters_played(&self) -> Quarters {
        self.onsets.last().copied().unwrap_or_default()
    }

    /// When a played bar starts, in quarter notes from the beginning.
    #[must_use]
    pub fn onset(&self, played: usize) -> Option<Quarters> {
        if played < self.played.len() {
            self.onsets.get(played).copied()
        } else {
            None
        }
    }

    /// Every time that a written place is played, in quarter notes from the beginning.
    #[must_use]
    pub fn times_of(&self, place: Place) -> Vec<Quarters> {
        let here = self.played.iter().zip(&self.onsets).filter(|(played, _)| {
            played.bar == place.bar && played.from <= place.offset && place.offset < played.to
        });
        here.map(|(played, onset)| *onset + place.offset - played.from)
            .collect()
    }

    /// The played bars of a written bar, as indices into [`Unfolding::played`].
    #[must_use]
    pub fn played_of(&self, bar: BarIndex) -> Vec<usize> {
        (0..self.played.len())
            .filter(|index| self.played.get(*index).is_some_and(|played| played.bar == bar))
            .collect()
    }

    /// What is written where the music is at a time in quarter notes: the played bar and the place on the page.
    #[must_use]
    pub fn written_at(&self, time: Quarters) -> Option<(usize, Place)> {
        let index = self
            .onsets
            .partition_point(|onset| *onset <= time)
            .checked_sub(1)?;
        let played = self.played.get(index)?;
        let offset = played.from + time - self.onsets.get(index).copied()?;
        Some((
            index,
            Place {
                bar: played.bar,
                offset,
            },
        ))
    }
}

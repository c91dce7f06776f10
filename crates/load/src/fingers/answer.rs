//! What is answered about fingerings? The choice for each note, what the hands do between notes, what is not known.

use super::TrillFingering;
use crate::{Placed, Share};
use instruments::fingering::{Chart, Fingering, Layout, Prepared, State, Tendency};
use notation::{Id, Pitch, Place, Quarters};
use std::sync::Arc;

/// The fingerings of a part.
#[derive(Clone, Debug, Default)]
pub struct FingeringAnswer {
    /// The chart used; `None` if there is none, and then `means` says why.
    pub chart: Option<&'static Chart>,
    /// Every note that has a fingering, grace notes included, in written order.
    pub notes: Vec<Chosen>,
    /// What the hands do from each note to the next of the same passage.
    pub moves: Vec<Move>,
    /// Pitches without a fingering, each once, in the order in which they first come.
    pub gaps: Vec<Gap>,
    /// The trills.
    pub trills: Vec<TrillFingering>,
    /// What all movements come to with the fingerings chosen, in movements of one finger.
    pub total: f64,
    /// What they would come to with the first fingering for every note; never less than `total`.
    pub all_basic: f64,
    /// What it means for the player.
    pub means: String,
}

/// The fingering of one note.
#[derive(Clone, PartialEq, Debug)]
pub struct Chosen {
    /// Where.
    pub place: Place,
    /// The note.
    pub event: Id,
    /// Its pitch as written.
    pub written: Pitch,
    /// The fingering.
    pub fingering: Arc<Fingering>,
    /// What is really pressed: the fingering, with keys that stay down.
    pub state: State,
    /// The keys held or put down early, if any.
    pub held: Option<Prepared>,
    /// True if it is another than the basic fingering of the chart, whatever is held.
    pub alternate: bool,
    /// True for the basic fingering of the chart with nothing held.
    pub basic: bool,
    /// True if the player, her teacher or the page chose it.
    pub own: bool,
    /// Why this one, in a musician's words; `None` for a basic fingering.
    pub reason: Option<String>,
    /// How the note tends to be out of tune, with this fingering or any; `None` if no source says.
    pub tendency: Option<Tendency>,
    /// The plain note that an unusual spelling is fingered as (F for E♯).
    pub as_pitch: Option<Pitch>,
    /// The same in words: `E♯ is fingered as F`.
    pub said: Option<String>,
}

/// A pitch for which no fingering is known here.
#[derive(Clone, PartialEq, Debug)]
pub struct Gap {
    /// Where it first comes.
    pub place: Place,
    /// The note.
    pub event: Id,
    /// Its pitch as written.
    pub written: Pitch,
    /// How often it comes.
    pub times: usize,
    /// How the note tends to be out of tune; `None` if no source says.
    pub tendency: Option<Tendency>,
    /// Why, in words.
    pub why: String,
}

/// What the hands do to go from one note to the next.
#[derive(Clone, PartialEq, Debug)]
pub struct Move {
    /// Where the second note stands.
    pub place: Place,
    /// The second note.
    pub event: Id,
    /// The first pitch as written.
    pub from: Pitch,
    /// The second.
    pub to: Pitch,
    /// How long the first note lasts, in quarter notes; zero for a grace note.
    pub lasts: Quarters,
    /// What moves, in movements of one finger; breaks of register not counted.
    pub amount: f64,
    /// What moves, in words.
    pub why: String,
    /// Breaks of register crossed.
    pub breaks: u32,
    /// What crossing them adds.
    pub break_amount: f64,
}

impl FingeringAnswer {
    /// What the hands do as shares of the hand load, in movements of one finger; not yet divided by time.
    #[must_use]
    pub fn shares(&self) -> Vec<Placed> {
        let kind = match self.chart.map(|chart| chart.layout) {
            Some(Layout::Valves(_)) => "valves",
            Some(Layout::Slide) => "slide",
            _ => "fingers",
        };
        let mut shares = Vec::with_capacity(self.moves.len());
        for moved in &self.moves {
            let mut add = |kind, why: String, amount: f64| {
                if amount > 0.0 {
                    let share = Share { kind, why, amount };
                    let place = moved.place;
                    shares.push(Placed { place, share });
                }
            };
            add(kind, moved.why.clone(), moved.amount);
            let (from, to) = (moved.from.sign(), moved.to.sign());
            add(
                "register-break",
                format!("crosses the break from {from} to {to}"),
                moved.break_amount,
            );
        }
        shares
    }

    /// The notes for which another fingering than the basic one is proposed, held keys included.
    pub fn proposals(&self) -> impl Iterator<Item = &Chosen> {
        self.notes.iter().filter(|note| !note.basic && !note.own)
    }
}

/// What it means for the player, in a line or two.
pub(super) fn means(answer: &FingeringAnswer) -> String {
    let others = answer.proposals().filter(|note| note.alternate).count();
    let stays = answer.proposals().any(|note| note.held.is_some());
    let mut said = match others {
        0 if stays => "The usual fingerings will do, but some keys may stay down.".to_owned(),
        0 => "The usual fingerings will do: nothing is gained by others.".to_owned(),
        1 => "One note lies better with another fingering than the usual one.".to_owned(),
        more => format!("{more} notes lie better with another fingering than the usual one."),
    };
    if !answer.gaps.is_empty() {
        let notes: Vec<String> = answer.gaps.iter().map(|gap| gap.written.sign()).collect();
        said.push_str(&format!(" No fingering is known here for {}.", notes.join(", ")));
    }
    said
}

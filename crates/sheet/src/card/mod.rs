//! What does the study minute of an audition look like for this piece? Sixty seconds or thirty, step by step.

mod html;
mod order;
mod print;
mod steps;
mod text;

pub use html::card_html;
pub use order::{Look, ROUTINES, Routine};
pub use print::card_typst;
pub use text::card_text;

use crate::compose::Composed;
use crate::prep::Slot;

/// How long there is to look.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum StudyTime {
    /// A minute.
    #[default]
    Sixty,
    /// Half a minute.
    Thirty,
}

/// The card.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Card {
    /// The piece's name.
    pub title: String,
    /// The part and its length.
    pub facts: Vec<String>,
    /// How many seconds there are.
    pub seconds: u16,
    /// What to look at, in order; their seconds add up to [`Card::seconds`].
    pub steps: Vec<Step>,
    /// The hardest place, to be engraved on the card.
    pub slot: Option<Slot>,
}

/// One look.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Step {
    /// At what.
    pub look: Look,
    /// For how long.
    pub seconds: u16,
    /// What is found there in this piece.
    pub says: String,
    /// Labels of the bars to look at, runs joined.
    pub bars: Vec<String>,
    /// What to do there.
    pub doing: &'static str,
}

impl StudyTime {
    /// In seconds.
    #[must_use]
    pub const fn seconds(self) -> u16 {
        match self {
            Self::Sixty => 60,
            Self::Thirty => 30,
        }
    }
}

/// The card of a surveyed part. Steps for which the piece has nothing are left out, and their seconds go to the hardest place.
#[must_use]
pub fn card(what: &Composed, time: StudyTime) -> Card {
    let plan: &[(Look, u16)] = match time {
        StudyTime::Sixty => &order::SIXTY,
        StudyTime::Thirty => &order::THIRTY,
    };
    let found: Vec<(Look, u16, Option<steps::Found>)> = plan
        .iter()
        .map(|(look, seconds)| (*look, *seconds, steps::finding(what, *look)))
        .collect();
    let sung = steps::sung(what);
    let spare: u16 = found
        .iter()
        .filter(|(.., finding)| finding.is_none())
        .map(|(_, seconds, _)| seconds)
        .sum();
    let mut steps: Vec<Step> = found
        .into_iter()
        .filter_map(|(look, seconds, finding)| {
            let (says, bars) = finding?;
            Some(Step {
                look,
                seconds,
                says,
                bars,
                doing: look.doing(sung),
            })
        })
        .collect();
    let most = steps.iter().position(|step| step.look == Look::Hardest);
    let last = steps.len().checked_sub(1);
    if let Some(step) = most.or(last).and_then(|index| steps.get_mut(index)) {
        step.seconds += spare;
    }
    Card {
        title: crate::words::clip(&what.title(), 60),
        facts: what.short_facts(),
        seconds: time.seconds(),
        steps,
        slot: steps::slot(what),
    }
}

impl Card {
    /// From which second to which each step goes.
    pub(crate) fn timed(&self) -> Vec<(u16, u16, &Step)> {
        let mut from = 0;
        let timed = self.steps.iter().map(|step| {
            let start = from;
            from += step.seconds;
            (start, from, step)
        });
        timed.collect()
    }
}

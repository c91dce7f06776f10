//! What does a player see before the first note? The twelve questions put to her, and her answers held against the survey.
//!
//! Each question is an [`Ask`]: choices made from the piece, some of them wrong in the ways in which readers go wrong, and
//! bars to point at for proof. Every choice and every bar carries what the survey says of it, so that [`compare`] looks
//! nothing up and invents nothing. Two questions more are asked where a study knows the player: where it is hardest, and
//! what returns.
//!
//! What it does *not* do: count points. An answer is seen, half seen (what a musician might well say, although the survey says
//! otherwise), missed, or not looked at.

mod compare;
mod key;
mod marks;
mod pick;
mod signs;
mod tempo;
mod time;
mod traps;
mod way;

#[cfg(test)]
mod tests;

pub use compare::{Answer, Compared, Said, Verdict, compare};
pub use time::Time;

use load::Study;
use notation::BarIndex;
use survey::{Context, Question, Survey};

/// What is looked at.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Look {
    /// One of the twelve questions.
    Asked(Question),
    /// Where it is hardest.
    Hardest,
    /// What comes back.
    Returns,
}

impl Look {
    /// The name in JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Asked(question) => question.id(),
            Self::Hardest => "hardest",
            Self::Returns => "returns",
        }
    }

    /// The look of a name.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        match id {
            "hardest" => Some(Self::Hardest),
            "returns" => Some(Self::Returns),
            _ => Question::ALL
                .into_iter()
                .find(|question| question.id() == id)
                .map(Self::Asked),
        }
    }

    /// The heading.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Asked(question) => match question {
                Question::Key => "Key",
                Question::Range => "Range",
                Question::Metre => "Metre and count",
                Question::Rhythm => "Rhythm",
                Question::Terms => "Terms",
                Question::Tempo => "Tempo",
                Question::RoadMap => "Road map",
                Question::Dynamics => "Dynamics",
                Question::Accidentals => "Accidentals",
                Question::Clefs => "Clefs",
                Question::Articulation => "Articulation",
                Question::Ornaments => "Ornaments",
            },
            Self::Hardest => "Hardest place",
            Self::Returns => "What returns",
        }
    }
}

/// One question, as it is put to a player; with what the survey says of each answer.
#[derive(Clone, PartialEq, Debug)]
pub struct Ask {
    /// What is looked at.
    pub look: Look,
    /// Something to choose.
    pub choose: Option<Choosing>,
    /// Bars to point at.
    pub point: Option<Pointing>,
    /// What is worth knowing whatever was answered, a sentence; may be empty.
    pub beside: String,
}

/// Choices.
#[derive(Clone, PartialEq, Debug)]
pub struct Choosing {
    /// The question.
    pub asks: String,
    /// Whether several may be chosen.
    pub several: bool,
    /// What can be chosen; where several may, the last is that there is none of it.
    pub choices: Vec<Choice>,
}

/// What an answer is worth.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Worth {
    /// As the survey has it.
    Right,
    /// A musician might well say so.
    Doubtful,
    /// Not on this page.
    Wrong,
}

/// One choice.
#[derive(Clone, PartialEq, Debug)]
pub struct Choice {
    /// As it stands on the screen.
    pub says: String,
    /// What it is worth.
    pub worth: Worth,
    /// The survey's evidence for it or against it, a clause; may be empty.
    pub why: String,
    /// Where to look.
    pub bars: Vec<BarIndex>,
}

/// Bars to point at.
#[derive(Clone, PartialEq, Debug)]
pub struct Pointing {
    /// The question.
    pub asks: String,
    /// Whether each place counts; otherwise one of them is proof enough.
    pub each: bool,
    /// The places, the most telling first.
    pub spots: Vec<Spot>,
    /// What is true if there is no such place, a sentence.
    pub nowhere: String,
}

/// A place that may be pointed at.
#[derive(Clone, PartialEq, Debug)]
pub struct Spot {
    /// First and last bar of the place itself.
    pub place: (BarIndex, BarIndex),
    /// The bars that count as this place: those beside it, too, where its edge is open.
    pub bars: Vec<BarIndex>,
    /// [`Worth::Right`], or [`Worth::Doubtful`] for a place that a musician might name instead.
    pub worth: Worth,
    /// What is seen there, a clause.
    pub why: String,
}

/// What the questions are made from.
#[derive(Clone, Copy)]
pub struct Looked<'a> {
    /// The part.
    pub ctx: &'a Context<'a>,
    /// Its whole survey.
    pub survey: &'a Survey,
    /// Its study for the player, if there is one.
    pub study: Option<&'a Study>,
}

/// Bars that may be pointed at for one question; more point at nothing.
pub const MOST_POINTED: usize = 8;

/// The questions in the order of the time there is. The same seed makes the same choices.
#[must_use]
pub fn asks(looked: &Looked, time: Time, seed: u64) -> Vec<Ask> {
    time.order()
        .iter()
        .filter_map(|look| ask(looked, *look, seed))
        .collect()
}

/// One question; nothing where the piece has nothing to ask about.
fn ask(looked: &Looked, look: Look, seed: u64) -> Option<Ask> {
    let lots = &mut pick::Lots::of(seed, look);
    let made = match look {
        Look::Asked(question) => match question {
            Question::Key => key::key(looked, lots),
            Question::Metre => signs::metre(looked, lots),
            Question::Tempo => tempo::tempo(looked, lots),
            Question::Clefs => signs::clefs(looked, lots),
            Question::Range => traps::range(looked, lots),
            Question::Rhythm => traps::rhythm(looked),
            Question::Accidentals => traps::accidentals(looked, lots),
            Question::RoadMap => way::road_map(looked, lots),
            Question::Dynamics => marks::dynamics(looked, lots),
            Question::Articulation => marks::articulation(looked),
            Question::Ornaments => marks::ornaments(looked),
            Question::Terms => marks::terms(looked, lots),
        },
        Look::Hardest => traps::hardest(looked),
        Look::Returns => traps::returns(looked),
    }?;
    Some(Ask {
        look,
        choose: made.choose,
        point: made.point,
        beside: made.beside,
    })
}

/// What a maker of questions gives.
#[derive(Default)]
struct Made {
    choose: Option<Choosing>,
    point: Option<Pointing>,
    beside: String,
}

impl Choice {
    fn new(worth: Worth, says: impl Into<String>, why: impl Into<String>, bars: Vec<BarIndex>) -> Self {
        Self {
            says: says.into(),
            worth,
            why: why.into(),
            bars,
        }
    }

    fn wrong(says: impl Into<String>, why: impl Into<String>) -> Self {
        Self::new(Worth::Wrong, says, why, Vec::new())
    }
}

impl Spot {
    /// A place of one bar, the first of those that count as it.
    fn new(worth: Worth, bars: Vec<BarIndex>, why: impl Into<String>) -> Self {
        let at = bars.first().copied().unwrap_or_default();
        Self {
            place: (at, at),
            bars,
            worth,
            why: why.into(),
        }
    }

    /// The same place, as far as a bar.
    fn to(self, last: BarIndex) -> Self {
        Self {
            place: (self.place.0, last.max(self.place.0)),
            ..self
        }
    }

    /// The bars of the place itself.
    fn shown(&self) -> Vec<BarIndex> {
        (self.place.0.0..=self.place.1.0).map(BarIndex).collect()
    }
}

//! What is one turn of a sitting? A few minutes of one thing.

use super::asked::Date;
use super::calendar::Stage;
use crate::BarSpan;
use crate::drill::DrillKind;
use load::ladder::Rung;

/// What is done in a turn.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum TurnKind {
    /// Long tones and the scales of the piece.
    WarmUp,
    /// The page looked through, without the instrument.
    Look,
    /// Bars read slowly for the first time.
    Read,
    /// A hard spot, by a drill.
    Spot,
    /// A passage up the ladder.
    Climb,
    /// A passage whose tempo stands, kept by slow ones and one at tempo.
    Keep,
    /// Chained from the end.
    Chain,
    /// Look-alikes one after the other.
    LookAlikes,
    /// Played through without stopping.
    RunThrough,
    /// Played as on the day.
    Mock,
    /// Something new at sight.
    SightReading,
    /// In the head, without the instrument.
    Mental,
    /// Sung, or listened to.
    Sing,
    /// Fingered without a sound.
    Silent,
    /// The instrument put down.
    Rest,
}

impl TurnKind {
    /// The name in JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::WarmUp => "warm-up",
            Self::Look => "look",
            Self::Read => "read",
            Self::Spot => "spot",
            Self::Climb => "climb",
            Self::Keep => "keep",
            Self::Chain => "chain",
            Self::LookAlikes => "look-alikes",
            Self::RunThrough => "run-through",
            Self::Mock => "mock-performance",
            Self::SightReading => "sight-reading",
            Self::Mental => "mental",
            Self::Sing => "sing",
            Self::Silent => "silent",
            Self::Rest => "rest",
        }
    }

    /// The heading.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::WarmUp => "Warm up",
            Self::Look => "Look it through",
            Self::Read => "Read slowly",
            Self::Spot => "Hard spot",
            Self::Climb => "Up the ladder",
            Self::Keep => "Keep in hand",
            Self::Chain => "From the end",
            Self::LookAlikes => "Look-alikes",
            Self::RunThrough => "Play through",
            Self::Mock => "Mock performance",
            Self::SightReading => "Sight-read",
            Self::Mental => "In the head",
            Self::Sing => "Sing it",
            Self::Silent => "Finger silently",
            Self::Rest => "Rest",
        }
    }

    /// What to do and when to stop, as it goes for every turn of the kind; the second may be empty.
    #[must_use]
    pub const fn how(self) -> (&'static str, &'static str) {
        super::words::turn(self, 0)
    }

    /// Whether it is about one passage, to be got or kept right.
    #[must_use]
    pub const fn of_passage(self) -> bool {
        matches!(self, Self::Spot | Self::Climb | Self::Keep | Self::LookAlikes)
    }

    /// Whether lips, breath and hands play. Fingering, singing and listening are rest for the lips.
    #[must_use]
    pub const fn plays(self) -> bool {
        !matches!(
            self,
            Self::Look | Self::Mental | Self::Sing | Self::Silent | Self::Rest
        )
    }
}

/// A few minutes of one thing.
#[derive(Clone, PartialEq, Debug)]
pub struct Turn {
    /// What is done.
    pub kind: TurnKind,
    /// Of which work, by its number; `None` if of none.
    pub work: Option<usize>,
    /// What it is about where that is no bars: the scale of a warm-up; may be empty.
    pub about: String,
    /// The bars; two stretches of look-alikes, none if it is about no bars.
    pub bars: Vec<BarSpan>,
    /// Tempi with how often, in order; empty if it has none.
    pub tempi: Vec<Rung>,
    /// How long, in seconds.
    pub secs: u32,
    /// What to do, a sentence.
    pub what: String,
    /// When to stop, a clause; may be empty.
    pub stop: String,
    /// By which drill.
    pub drill: Option<DrillKind>,
    /// Why it comes today, a clause; may be empty.
    pub why: String,
}

/// One practice session.
#[derive(Clone, PartialEq, Debug)]
pub struct Sitting {
    /// The day.
    pub date: Date,
    /// Its number, from 0.
    pub number: usize,
    /// The stretch of the plan.
    pub stage: Stage,
    /// The turns in order, rests among them.
    pub turns: Vec<Turn>,
}

impl Sitting {
    /// How long it is, rests included, in seconds.
    #[must_use]
    pub fn secs(&self) -> u32 {
        self.turns.iter().map(|turn| turn.secs).sum()
    }

    /// Seconds of playing.
    #[must_use]
    pub fn playing_secs(&self) -> u32 {
        self.turns
            .iter()
            .filter(|turn| turn.kind.plays())
            .map(|turn| turn.secs)
            .sum()
    }
}

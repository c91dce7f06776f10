//! What was done so far? Logged visits, gathered passage by passage.

use super::asked::{Date, Work};
use crate::BarSpan;
use crate::drill::DrillKind;

/// How it felt.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Felt {
    /// It tired, or was not under control.
    Hard,
    /// In hand, with attention.
    Steady,
    /// By itself.
    Easy,
}

impl Felt {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Easy, Self::Steady, Self::Hard];

    /// The name in options and files.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Hard => "hard",
            Self::Steady => "steady",
            Self::Easy => "easy",
        }
    }

    /// By its name.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|felt| felt.id() == id)
    }
}

/// One visit to some bars.
#[derive(Clone, PartialEq, Debug)]
pub struct Entry {
    /// The day.
    pub date: Date,
    /// The bars.
    pub span: BarSpan,
    /// Quarter notes a minute, if a tempo was said.
    pub speed: Option<f64>,
    /// How often in a row it was right at that tempo.
    pub clean: Option<u32>,
    /// How it felt.
    pub felt: Option<Felt>,
    /// By which drill.
    pub drill: Option<DrillKind>,
}

/// Times in a row that it must be right before it is taken faster.
/// Source: the ladders' own (three at a tempo); nine of ten at home is the tenth on stage: practice handbooks.
pub const CLEAN: u32 = 3;
/// Visits on different days without a faster tempo after which a passage is stuck. Ours.
const STUCK_AFTER: usize = 3;
/// How much faster is a step: the metronome's marks lie four to six in a hundred apart.
const STEP: f64 = 1.02;

/// What is known of one passage from the log.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Progress {
    /// Its visits, by day.
    pub visits: Vec<Entry>,
    /// Quarter notes a minute at which it last was right often enough.
    pub reached: Option<f64>,
    /// Whether the last visits brought no faster tempo.
    pub stuck: bool,
    /// Drills of the last visits, the latest first.
    pub drills: Vec<DrillKind>,
}

/// What to do about the tempo next.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Next {
    /// As the calendar has it.
    AsPlanned,
    /// One rung on from what was reached.
    On,
    /// The same rung again.
    Again,
    /// Two rungs back. Source: a clarinet handbook's ladder: two rungs back when it sticks.
    Back,
}

impl Progress {
    /// What the log says of some bars: entries that hold at least half of them, or lie within them.
    #[must_use]
    pub fn of(log: &[(usize, Entry)], work: usize, span: BarSpan, goal: f64) -> Self {
        let mut visits: Vec<Entry> = log
            .iter()
            .filter(|(of, entry)| *of == work && concerns(entry.span, span))
            .map(|(_, entry)| entry.clone())
            .collect();
        visits.sort_by_key(|entry| entry.date);
        let clean = |entry: &&Entry| is_clean(entry);
        let reached = visits.iter().rev().find(clean).and_then(|entry| entry.speed);
        let mut drills = Vec::new();
        for kind in visits.iter().rev().filter_map(|entry| entry.drill) {
            if !drills.contains(&kind) {
                drills.push(kind);
            }
        }
        Self {
            stuck: is_stuck(&visits, goal),
            visits,
            reached,
            drills,
        }
    }

    /// The day of the last visit.
    #[must_use]
    pub fn last(&self) -> Option<Date> {
        self.visits.last().map(|entry| entry.date)
    }

    /// What to do about the tempo next.
    #[must_use]
    pub fn next(&self) -> Next {
        match self.visits.last() {
            None => Next::AsPlanned,
            Some(last) if last.speed.is_none() => Next::AsPlanned,
            Some(last) if is_clean(last) && last.felt != Some(Felt::Hard) => Next::On,
            Some(last) if last.clean.unwrap_or(0) >= 1 => Next::Again,
            Some(last) if last.clean.is_none() && last.felt.is_none() => Next::Again,
            Some(_) => Next::Back,
        }
    }
}

/// Right often enough in a row to be taken faster; where nobody counted, what felt easy.
pub(super) fn is_clean(entry: &Entry) -> bool {
    match entry.clean {
        Some(times) => times >= CLEAN,
        None => entry.felt == Some(Felt::Easy),
    }
}

/// Whether an entry tells of a passage.
fn concerns(entry: BarSpan, passage: BarSpan) -> bool {
    let from = entry.from.max(passage.from);
    let to = entry.to.min(passage.to);
    if from > to {
        return false;
    }
    let shared = to.0 - from.0 + 1;
    let whole = passage.to.0 - passage.from.0 + 1;
    shared * 2 >= whole
}

/// Several days without a faster clean tempo, below the goal.
fn is_stuck(visits: &[Entry], goal: f64) -> bool {
    let mut days: Vec<(Date, f64, bool)> = Vec::new();
    for entry in visits {
        let Some(speed) = entry.speed else { continue };
        match days.last_mut() {
            Some(day) if day.0 == entry.date => {
                day.1 = day.1.max(speed);
                day.2 |= is_clean(entry);
            }
            _ => days.push((entry.date, speed, is_clean(entry))),
        }
    }
    let Some(recent) = days
        .len()
        .checked_sub(STUCK_AFTER)
        .and_then(|from| days.get(from..))
    else {
        return false;
    };
    let (Some(first), Some(last)) = (recent.first(), recent.last()) else {
        return false;
    };
    let best = recent.iter().map(|day| day.1).fold(0.0, f64::max);
    let below = last.1 * STEP < goal || !last.2;
    below && best <= first.1 * STEP
}

/// How a work's visits stand in its own words: the tempo on the ladder's beat.
#[must_use]
pub fn beats_a_minute(work: &Work, speed_now: f64) -> f64 {
    let beat = work
        .rungs()
        .first()
        .map(|rung| rung.beat)
        .or(work.first.map(|(beat, _)| beat));
    let quarters = beat.map_or(1.0, |beat| beat.quarters().to_f64());
    speed_now / if quarters > 0.0 { quarters } else { 1.0 }
}

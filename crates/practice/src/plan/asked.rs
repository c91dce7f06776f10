//! What is to be planned? The date, the time there is, the player, and the work as plain values.

use super::history::Entry;
use crate::BarSpan;
use crate::drill::DrillKind;
use instruments::Family;
use load::ladder::{Ladder, Rung};
use notation::{BarIndex, Quarters};
use survey::metre::BeatUnit;

/// A day of the civil calendar, without a time of day.
pub type Date = chrono::NaiveDate;
/// A day of the week.
pub use chrono::Weekday;

/// What the day at the end is for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Occasion {
    /// The first lesson on the piece: notes and rhythms in hand, questions written down.
    FirstLesson,
    /// An audition: once, without a second try.
    Audition,
    /// A recital or concert.
    #[default]
    Recital,
}

impl Occasion {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::FirstLesson, Self::Audition, Self::Recital];

    /// The name in options and JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::FirstLesson => "first-lesson",
            Self::Audition => "audition",
            Self::Recital => "recital",
        }
    }

    /// In words, with its article.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::FirstLesson => "the first lesson",
            Self::Audition => "the audition",
            Self::Recital => "the recital",
        }
    }
}

/// Days without a sitting.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct DaysOff {
    /// Every such day of the week.
    pub weekdays: Vec<Weekday>,
    /// From one day to another, both included.
    pub ranges: Vec<(Date, Date)>,
}

impl DaysOff {
    /// Whether a day is one of them.
    #[must_use]
    pub fn holds(&self, day: Date) -> bool {
        use chrono::Datelike;
        self.weekdays.contains(&day.weekday())
            || self.ranges.iter().any(|(from, to)| (*from..=*to).contains(&day))
    }
}

/// A hard spot of the work.
#[derive(Clone, PartialEq, Debug)]
pub struct WorkSpot {
    /// Its bars.
    pub span: BarSpan,
    /// Why it is hard, a clause; may be empty.
    pub why: String,
    /// What to do about it, a clause.
    pub doing: String,
}

/// Bars that are easily taken for one another.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct WorkPair {
    /// The earlier bars.
    pub one: BarSpan,
    /// The later bars.
    pub other: BarSpan,
    /// What differs, a clause; empty if nothing does.
    pub differs: String,
}

/// A drill that can be had for some bars.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Offered {
    /// Its kind.
    pub kind: DrillKind,
    /// Its bars.
    pub span: BarSpan,
}

/// A piece, or cuts of one, to be ready on the date.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Work {
    /// What it is called.
    pub title: String,
    /// The printed labels of all bars of the piece.
    pub labels: Vec<String>,
    /// How long each bar lasts.
    pub lengths: Vec<Quarters>,
    /// Notes that sound in each bar, those held over from the one before among them.
    pub notes: Vec<usize>,
    /// How often each bar is played when it is played through; once where nothing is said.
    pub plays: Vec<usize>,
    /// How much each bar asks of the player, read and played; only good for ordering.
    pub asks: Vec<f64>,
    /// The bars to be learnt, in order, without overlaps: the whole piece, or the cuts.
    pub spans: Vec<BarSpan>,
    /// Bars where phrases begin.
    pub phrase_starts: Vec<BarIndex>,
    /// Hard spots, the worst first.
    pub spots: Vec<WorkSpot>,
    /// Bars that are an earlier one unchanged, and which.
    pub same: Vec<(BarIndex, BarIndex)>,
    /// Bars that are nearly others.
    pub pairs: Vec<WorkPair>,
    /// Scales and arpeggios to warm up on, and why.
    pub scales: Vec<(String, String)>,
    /// The tempo of the first reading; `None` where there is nothing to read.
    pub first: Option<(BeatUnit, u16)>,
    /// The climb from there to the goal; `None` if there is no goal.
    pub ladder: Option<Ladder>,
    /// Drills that can be had.
    pub offers: Vec<Offered>,
    /// Whether it is to be played from memory.
    pub from_memory: bool,
}

/// Quarter notes a minute where nothing says how fast.
const UNSAID: f64 = 60.0;

impl Work {
    /// Whether any note of its bars is to be played.
    #[must_use]
    pub fn has_notes(&self) -> bool {
        self.bars().any(|bar| self.notes_in(bar) > 0)
    }

    /// Its bars, in order.
    pub fn bars(&self) -> impl Iterator<Item = BarIndex> + '_ {
        self.spans
            .iter()
            .flat_map(|span| (span.from.0..=span.to.0).map(BarIndex))
    }

    /// Notes that sound in a bar.
    #[must_use]
    pub fn notes_in(&self, bar: BarIndex) -> usize {
        self.notes.get(bar.get()).copied().unwrap_or(0)
    }

    /// What a bar asks; 0 for nothing.
    #[must_use]
    pub fn asks_of(&self, bar: BarIndex) -> f64 {
        self.asks
            .get(bar.get())
            .copied()
            .filter(|asks| asks.is_finite())
            .unwrap_or(0.0)
    }

    /// Quarter notes in some bars.
    #[must_use]
    pub fn quarters(&self, span: BarSpan) -> f64 {
        (span.from.get()..=span.to.get())
            .filter_map(|bar| self.lengths.get(bar))
            .map(|length| length.to_f64().max(0.0))
            .sum()
    }

    /// Seconds of some bars, with their repeats, at a speed in quarter notes a minute.
    #[must_use]
    pub fn secs_through(&self, span: BarSpan, speed: f64) -> f64 {
        (span.from.0..=span.to.0)
            .map(|bar| {
                let plays = self
                    .plays
                    .get(BarIndex(bar).get())
                    .copied()
                    .unwrap_or(1)
                    .clamp(1, 100);
                let own = BarSpan::new(BarIndex(bar), BarIndex(bar));
                f64::from(u32::try_from(plays).unwrap_or(1)) * self.secs(own, speed)
            })
            .sum()
    }

    /// Seconds of some bars at a speed in quarter notes a minute.
    #[must_use]
    pub fn secs(&self, span: BarSpan, speed: f64) -> f64 {
        self.quarters(span) * 60.0 / speed.max(1.0)
    }

    /// Quarter notes a minute of the first reading.
    #[must_use]
    pub fn first_speed(&self) -> f64 {
        self.first
            .map_or(UNSAID, |(beat, bpm)| f64::from(bpm) * beat.quarters().to_f64())
            .max(1.0)
    }

    /// Quarter notes a minute of the goal, or of the first reading where there is none.
    #[must_use]
    pub fn goal_speed(&self) -> f64 {
        self.rungs().last().map_or(self.first_speed(), speed)
    }

    /// The first reading's tempo as a rung with its click.
    #[must_use]
    pub fn first_rung(&self) -> Option<Rung> {
        super::tempo::first_rung(self).first().copied()
    }

    /// The rungs of the climb; none if there is no goal.
    #[must_use]
    pub fn rungs(&self) -> &[Rung] {
        self.ladder.as_ref().map_or(&[], |ladder| &ladder.rungs)
    }

    /// A bar's printed label.
    #[must_use]
    pub fn label(&self, bar: BarIndex) -> &str {
        self.labels.get(bar.get()).map_or("", String::as_str)
    }

    /// Bars as they are said: `bar 4`, `bars 4–7`.
    #[must_use]
    pub fn say(&self, span: BarSpan) -> String {
        if span.from == span.to {
            format!("bar {}", self.label(span.from))
        } else {
            format!("bars {}–{}", self.label(span.from), self.label(span.to))
        }
    }
}

/// Quarter notes a minute of a rung.
#[must_use]
pub fn speed(rung: &Rung) -> f64 {
    f64::from(rung.bpm) * rung.beat.quarters().to_f64()
}

/// Everything that a plan is made from.
#[derive(Clone, PartialEq, Debug)]
pub struct Asked {
    /// The first day that can be planned.
    pub today: Date,
    /// When the work was begun: today, or the first day of the log.
    pub begun: Date,
    /// The date.
    pub until: Date,
    /// What it is for.
    pub occasion: Occasion,
    /// Minutes a day, rests included.
    pub minutes: u32,
    /// Days without a sitting.
    pub off: DaysOff,
    /// The family of the player's instrument, if it is known.
    pub family: Option<Family>,
    /// What is to be ready.
    pub works: Vec<Work>,
    /// What was done so far: the work by its number, and what was logged.
    pub log: Vec<(usize, Entry)>,
}

impl Asked {
    /// Whether the lips need as much rest as playing.
    #[must_use]
    pub fn brass(&self) -> bool {
        self.family == Some(Family::Brass)
    }
}

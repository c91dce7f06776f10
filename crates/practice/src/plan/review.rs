//! When does a passage come again? A spaced-repetition schedule (FSRS, in days) fed by what was logged, and by what is expected.
//!
//! The schedule only ranks: how many turns there are is for the sitting to say. Nothing stays away for longer than
//! [`LONGEST`] days: what fingers know is lost sooner than words (ours).

use super::asked::Date;
use super::history::{Entry, Felt, is_clean};
use chrono::{DateTime, NaiveTime, Utc};
use rs_fsrs::{Card, FSRS, Parameters, Rating};

/// Most days until a passage comes again. Judgement: each passage once a week.
pub const LONGEST: i32 = 7;

/// How well a passage is kept.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    card: Card,
    /// The day of the last visit.
    pub last: Option<Date>,
    /// Visits on different days.
    pub days: usize,
}

/// The scheduler: whole days, no chance.
pub struct Scheduler(FSRS);

impl Default for Scheduler {
    fn default() -> Self {
        // The library's seed reads the clock where none is given; with `enable_fuzz` off it is never used.
        Self(FSRS::new(Parameters {
            enable_short_term: false,
            enable_fuzz: false,
            maximum_interval: LONGEST,
            ..Parameters::default()
        }))
    }
}

impl Scheduler {
    /// A visit with its outcome. Later visits of the same day count with the first: sleep lies between reviews.
    pub fn visit(&self, memory: &mut Memory, day: Date, rating: Rating) {
        if memory.last == Some(day) && rating != Rating::Again {
            return;
        }
        let done = self.0.next(memory.card.clone(), noon(day), rating);
        memory.card = done.card;
        if memory.last != Some(day) {
            memory.days += 1;
        }
        memory.last = Some(day);
    }

    /// Visits as they were logged, in order of their days.
    pub fn replay<'a>(&self, memory: &mut Memory, visits: impl IntoIterator<Item = &'a Entry>) {
        for entry in visits {
            self.visit(memory, entry.date, rated(entry));
        }
    }
}

impl Memory {
    /// The day on which it should come again; `None` if it never came.
    #[must_use]
    pub fn due(&self) -> Option<Date> {
        let latest = self
            .last?
            .checked_add_days(chrono::Days::new(LONGEST.unsigned_abs().into()))?;
        Some(self.card.due.date_naive().min(latest))
    }
}

fn noon(day: Date) -> DateTime<Utc> {
    day.and_time(NaiveTime::default()).and_utc()
}

/// What a visit is worth to the schedule. The mapping is ours: forgotten, hard, good, easy are the library's four grades.
pub(super) fn rated(entry: &Entry) -> Rating {
    match (entry.felt, entry.clean) {
        (_, Some(0)) => Rating::Again,
        (Some(Felt::Hard), Some(1 | 2) | None) => Rating::Again,
        (Some(Felt::Hard), _) => Rating::Hard,
        (Some(Felt::Easy), _) if is_clean(entry) => Rating::Easy,
        (_, Some(1 | 2)) => Rating::Hard,
        _ => Rating::Good,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::BarSpan;
    use notation::BarIndex;

    fn entry(day: u32, clean: Option<u32>, felt: Option<Felt>) -> Entry {
        Entry {
            date: Date::from_ymd_opt(2027, 1, day).unwrap(),
            span: BarSpan::new(BarIndex(0), BarIndex(3)),
            speed: Some(60.0),
            clean,
            felt,
            drill: None,
        }
    }

    fn due_after(visits: &[Entry]) -> i64 {
        let mut memory = Memory::default();
        Scheduler::default().replay(&mut memory, visits);
        (memory.due().unwrap() - memory.last.unwrap()).num_days()
    }

    #[test]
    fn what_was_hard_comes_sooner_than_what_was_easy() {
        let hard = due_after(&[entry(1, Some(1), Some(Felt::Hard))]);
        let steady = due_after(&[entry(1, Some(3), Some(Felt::Steady))]);
        let easy = due_after(&[entry(1, Some(3), Some(Felt::Easy))]);
        assert!(hard < steady && steady < easy, "{hard} {steady} {easy}");
        assert_eq!(hard, 1, "after a night's sleep");
        assert!(easy <= i64::from(LONGEST));
    }

    #[test]
    fn success_spreads_the_visits_and_failure_brings_them_back() {
        let good = |day| entry(day, Some(3), Some(Felt::Steady));
        let spread = due_after(&[good(1), good(4)]);
        assert!(spread >= due_after(&[good(1)]));
        let failed = due_after(&[good(1), good(4), entry(9, Some(0), Some(Felt::Hard))]);
        assert!(failed < spread, "{failed} {spread}");
    }

    #[test]
    fn two_visits_of_one_day_are_one_review() {
        let good = |day| entry(day, Some(3), Some(Felt::Steady));
        assert_eq!(due_after(&[good(1)]), due_after(&[good(1), good(1)]));
    }
}

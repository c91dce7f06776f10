//! Which days have a sitting, and what is each for? Days off, the first third, the goal tempo's day, mock performances.

use super::asked::{Asked, Date, Occasion, Weekday};
use chrono::{Datelike, Days};

/// Days in a row with sittings, the date itself counted, before a day off must come.
/// Source: Horvath, Playing (Less) Hurt: one day a week.
pub const DAYS_IN_A_ROW: u32 = 6;
/// The goal tempo stands so many days before the date, where there is time. Source: two handbooks, two weeks before.
pub const GOAL_DAYS_BEFORE: u64 = 14;
/// From how many days on there is time for that: as long again for the climb. Ours.
const TIME_FOR_EARLY_GOAL: i64 = 28;
/// Days before the date on which a mock performance is played, where they come late enough. Common practice.
const MOCKS_BEFORE: [u64; 5] = [14, 10, 7, 4, 2];
/// The longest plan: ten years.
pub const LONGEST_DAYS: i64 = 3660;

/// Why a day has no sitting.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum OffBy {
    /// She said so.
    Asked,
    /// The day off of the week, put in by us.
    Week,
}

/// The stretch of the plan that a sitting lies in.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Stage {
    /// Every bar is met.
    Meet,
    /// The tempo climbs.
    Climb,
    /// The tempo stands; it is played through.
    Settle,
    /// The day before: lighter.
    DayBefore,
}

impl Stage {
    /// The name in JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Meet => "meet",
            Self::Climb => "climb",
            Self::Settle => "settle",
            Self::DayBefore => "day-before",
        }
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Meet => "meet every bar, slowly",
            Self::Climb => "up the ladder",
            Self::Settle => "at tempo, played through",
            Self::DayBefore => "the day before: half as much, nothing new",
        }
    }
}

/// A day of the plan.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum DayIs {
    /// The sitting with this number, from 0.
    Sitting(usize),
    /// None.
    Off(OffBy),
    /// The date.
    TheDate,
}

/// The days from the beginning to the date.
#[derive(Clone, PartialEq, Debug)]
pub struct Calendar {
    /// Each day.
    pub days: Vec<(Date, DayIs)>,
    /// The days of the sittings.
    pub sittings: Vec<Date>,
    /// So many sittings lie in the first third, both of the days and of the sittings; at least one.
    pub meet: usize,
    /// The last sitting of the climb; `None` if there is no room for one.
    pub goal_at: Option<usize>,
    /// Whether that is two weeks before the date.
    pub goal_is_early: bool,
    /// The sittings with a mock performance.
    pub mocks: Vec<usize>,
    /// The sitting on the day before.
    pub light: Option<usize>,
    /// The day of the week kept free by us.
    pub rest_day: Option<Weekday>,
}

impl Calendar {
    /// The days of what was asked. The date must not lie before the beginning.
    #[must_use]
    pub fn of(asked: &Asked) -> Self {
        let whole = (asked.until - asked.begun).num_days();
        let rest_day = (asked.off.weekdays.is_empty() && whole >= WEEK).then(|| rest_day(asked.until, whole));
        let mut days = Vec::new();
        let mut sittings = Vec::new();
        let mut in_a_row = 0;
        for day in asked.begun.iter_days().take_while(|day| *day <= asked.until) {
            if day == asked.until {
                days.push((day, DayIs::TheDate));
                break;
            }
            let eve = day.succ_opt() == Some(asked.until);
            // The date is played, too: the day before it may have to be free.
            let full = in_a_row >= DAYS_IN_A_ROW - u32::from(eve);
            let off = if asked.off.holds(day) {
                Some(OffBy::Asked)
            } else if full || Some(day.weekday()) == rest_day {
                Some(OffBy::Week)
            } else {
                None
            };
            match off {
                Some(by) => {
                    days.push((day, DayIs::Off(by)));
                    in_a_row = 0;
                }
                None => {
                    days.push((day, DayIs::Sitting(sittings.len())));
                    sittings.push(day);
                    in_a_row += 1;
                }
            }
        }
        let mut calendar = Self {
            days,
            sittings,
            meet: 0,
            goal_at: None,
            goal_is_early: false,
            mocks: Vec::new(),
            light: None,
            rest_day,
        };
        calendar.place(asked);
        calendar
    }

    fn place(&mut self, asked: &Asked) {
        let count = self.sittings.len();
        let whole = (asked.until - asked.begun).num_days();
        let third = asked
            .begun
            .checked_add_days(Days::new((whole / 3).unsigned_abs()))
            .unwrap_or(asked.until);
        let by_days = self.before(third);
        self.meet = by_days.min(count / 3).max(1).min(count);
        let eve = asked.until.pred_opt();
        // With a single sitting there is nothing to be lighter than.
        self.light = self
            .sittings
            .last()
            .filter(|last| Some(**last) == eve && count > 1)
            .map(|_| count - 1);
        let end = self.light.unwrap_or(count);
        self.goal_is_early = whole >= TIME_FOR_EARLY_GOAL && asked.occasion != Occasion::FirstLesson;
        let goal_day = if self.goal_is_early {
            asked.until.checked_sub_days(Days::new(GOAL_DAYS_BEFORE))
        } else {
            asked
                .begun
                .checked_add_days(Days::new((whole * 3 / 4).unsigned_abs()))
        };
        self.goal_at = goal_day
            .map(|day| self.before(day).min(end))
            .and_then(|sittings| sittings.checked_sub(1))
            .filter(|last| *last >= self.meet);
        if !self.goal_is_early && self.goal_at.is_none() && end > self.meet {
            self.goal_at = Some(end - 1);
        }
        self.goal_is_early &= self.goal_at.is_some();
        self.mocks = self.mock_sittings(asked, end);
    }

    /// Sittings up to and on a day.
    fn before(&self, day: Date) -> usize {
        self.sittings.partition_point(|sitting| *sitting <= day)
    }

    /// Toward the end: in the last half of the days, one on a day, never on the day before.
    fn mock_sittings(&self, asked: &Asked, end: usize) -> Vec<usize> {
        if asked.occasion == Occasion::FirstLesson {
            return Vec::new();
        }
        let whole = (asked.until - asked.begun).num_days();
        let mut mocks: Vec<usize> = MOCKS_BEFORE
            .into_iter()
            .filter(|days| i64::try_from(*days * 2).is_ok_and(|twice| twice <= whole))
            .filter_map(|days| asked.until.checked_sub_days(Days::new(days)))
            .filter_map(|day| self.before(day).min(end).checked_sub(1))
            .filter(|sitting| *sitting >= self.meet)
            .collect();
        mocks.dedup();
        mocks
    }

    /// In which stretch a sitting lies, if every bar is met before the sitting `met`.
    #[must_use]
    pub fn stage(&self, sitting: usize, met: usize) -> Stage {
        if self.light == Some(sitting) {
            Stage::DayBefore
        } else if sitting < met {
            Stage::Meet
        } else if self.goal_at.is_some_and(|goal| sitting <= goal) {
            Stage::Climb
        } else {
            Stage::Settle
        }
    }
}

/// Fewer days than this before the date are no week that could have a day off.
const WEEK: i64 = 6;
/// From two weeks on it is the same free day as everybody's.
const WEEKS: i64 = 14;

/// The day of the week that is kept free where she named none: Sunday, unless the date or its eve would be on it; in a short plan
/// three days before the date, so that it is not the first.
fn rest_day(until: Date, whole: i64) -> Weekday {
    let three_before = until.checked_sub_days(Days::new(3)).unwrap_or(until).weekday();
    match until.weekday() {
        _ if whole < WEEKS => three_before,
        Weekday::Sun | Weekday::Mon => Weekday::Wed,
        _ => Weekday::Sun,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::DaysOff;

    fn day(text: &str) -> Date {
        text.parse().unwrap()
    }

    fn asked(today: &str, until: &str, off: DaysOff) -> Asked {
        Asked {
            today: day(today),
            begun: day(today),
            until: day(until),
            occasion: Occasion::Audition,
            minutes: 40,
            off,
            family: None,
            works: Vec::new(),
            log: Vec::new(),
        }
    }

    #[test]
    fn sundays_are_free_where_nobody_said_anything() {
        let calendar = Calendar::of(&asked("2026-11-26", "2027-02-13", DaysOff::default()));
        let off: Vec<&Date> = calendar
            .days
            .iter()
            .filter(|(_, is)| matches!(is, DayIs::Off(_)))
            .map(|(day, _)| day)
            .collect();
        assert!(off.iter().all(|day| day.weekday() == Weekday::Sun), "{off:?}");
        assert_eq!(off.len(), 11);
    }

    #[test]
    fn the_goal_stands_two_weeks_before_and_mocks_follow() {
        let calendar = Calendar::of(&asked("2026-11-26", "2027-02-13", DaysOff::default()));
        let goal = calendar.goal_at.map(|at| calendar.sittings[at]);
        assert_eq!(goal, Some(day("2027-01-30")));
        let mocks: Vec<String> = calendar
            .mocks
            .iter()
            .map(|at| calendar.sittings[*at].to_string())
            .collect();
        assert_eq!(
            mocks,
            [
                "2027-01-30",
                "2027-02-03",
                "2027-02-06",
                "2027-02-09",
                "2027-02-11"
            ]
        );
        assert_eq!(calendar.light, Some(calendar.sittings.len() - 1));
        assert!(calendar.sittings[calendar.meet - 1] <= day("2026-12-22"));
    }

    #[test]
    fn one_day_has_one_sitting_and_no_climb() {
        let calendar = Calendar::of(&asked("2027-02-12", "2027-02-13", DaysOff::default()));
        assert_eq!((calendar.sittings.len(), calendar.meet), (1, 1));
        assert_eq!((calendar.goal_at, calendar.light), (None, None));
        assert!(calendar.mocks.is_empty());
    }

    #[test]
    fn holidays_push_no_week_over_six_days() {
        let off = DaysOff {
            weekdays: Vec::new(),
            ranges: vec![(day("2026-12-24"), day("2026-12-26"))],
        };
        let calendar = Calendar::of(&asked("2026-11-26", "2027-02-14", off));
        let played = |is: &DayIs| !matches!(is, DayIs::Off(_));
        for week in calendar.days.windows(7) {
            assert!(week.iter().any(|(_, is)| !played(is)), "{week:?}");
        }
    }
}

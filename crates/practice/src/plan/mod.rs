//! What to do on which day, from today to the date?
//!
//! Every day becomes a sitting, a day off or the date ([`calendar`]). In the first third every bar is met in slow readings
//! ([`reading`]); then hard spots, sections, look-alikes and chains come again and again on different days, each when its review is
//! due ([`review`]), up the work's own ladder ([`tempo`]), in short turns with other things between ([`order`]). What was logged
//! ([`history`]) moves the next day of each passage, its tempo and its drill. What there is no time for is said ([`Left`]).
//!
//! What it does *not* do: read the clock, or know what a file is. The same question has the same answer.

mod asked;
mod calendar;
pub mod cautions;
mod chunks;
mod compose;
mod history;
mod make;
mod of_study;
mod order;
mod passages;
mod reading;
mod review;
mod tempo;
#[cfg(test)]
mod tests;
mod turn;
mod ways;
mod words;

pub use asked::{Asked, Date, DaysOff, Occasion, Offered, Weekday, Work, WorkPair, WorkSpot, speed};
pub use calendar::{Calendar, DAYS_IN_A_ROW, DayIs, GOAL_DAYS_BEFORE, LONGEST_DAYS, OffBy, Stage};
/// Calendar arithmetic, for those who show a plan.
pub use chrono::{Datelike, Days};
pub use chunks::{backward_chain, chunks};
pub use history::{CLEAN, Entry, Felt, Next, Progress, beats_a_minute};
pub use order::{REST_SECS, SHORT_SITTING, WORK_SECS, keeps_rests};
pub use passages::{Passage, PassageKind};
pub use reading::{LeftWhy, NEW_SECS};
pub use tempo::MOST_TIMES;
pub use turn::{Sitting, Turn, TurnKind};

use crate::BarSpan;
use load::ladder::Rung;
use make::Maker;
use notation::{Finding, Severity};
use std::collections::BTreeMap;

/// Why a scale is warmed up on that no piece but a call asks for.
pub const ASKED_FOR: &str = "asked for";
/// Most minutes a day that are planned.
pub const MOST_MINUTES: u32 = 600;
/// Visits on different days below which a hard spot is said to come too short. Ours.
const ENOUGH_DAYS: usize = 2;
/// Minutes a day from which on it is said that this is much. From memory: studies of diaries found experts at about four hours.
const MUCH: u32 = 240;

/// A plan.
#[derive(Clone, PartialEq, Debug)]
pub struct Plan {
    /// The days, of which those before today have no sitting any more.
    pub calendar: Calendar,
    /// The sittings from today on.
    pub sittings: Vec<Sitting>,
    /// The day by which every bar is met; `None` without a sitting.
    pub met_by: Option<Date>,
    /// The day on which the goal tempo stands; `None` if there is no goal or no time to climb to it.
    pub goal_by: Option<Date>,
    /// The days of mock performances from today on.
    pub mocks: Vec<Date>,
    /// What there is no time for.
    pub left: Vec<Left>,
    /// Each passage as its log has it.
    pub passages: Vec<Standing>,
    /// What is to be said beside it.
    pub findings: Vec<Finding>,
}

/// What is left, or comes too short, and why.
#[derive(Clone, PartialEq, Debug)]
pub struct Left {
    /// Of which work, by its number.
    pub work: usize,
    /// Its bars; `None` if it is about no bars.
    pub span: Option<BarSpan>,
    /// Why.
    pub why: LeftWhy,
    /// The same as a sentence.
    pub says: String,
    /// The sentence without its bars.
    pub reason: String,
}

/// How a passage stands.
#[derive(Clone, PartialEq, Debug)]
pub struct Standing {
    /// The passage.
    pub passage: Passage,
    /// What the log says of it.
    pub progress: Progress,
    /// Its next sitting.
    pub next: Option<Date>,
    /// On how many days from today on it is practised.
    pub days: usize,
}

/// Why nothing can be planned.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Unplannable {
    /// The date lies in the past.
    Past {
        /// Today.
        today: Date,
        /// The date.
        until: Date,
    },
    /// The date is today.
    Today,
    /// The date is too far away.
    TooFar,
    /// There is no time.
    Minutes(u32),
    /// There is nothing to play.
    Nothing,
    /// Every day is off.
    AllOff,
}

impl Unplannable {
    /// What is wrong.
    #[must_use]
    pub fn what(&self) -> String {
        match self {
            Self::Past { today, until } => format!("the date, {until}, is past: today is {today}"),
            Self::Today => "the date is today: there is no day left to plan".to_owned(),
            Self::TooFar => "the date is more than ten years away".to_owned(),
            Self::Minutes(0) => "no minutes a day are no practice".to_owned(),
            Self::Minutes(minutes) => format!("{minutes} minutes a day are more than anybody can practise"),
            Self::Nothing => "there is no note to practise in these bars".to_owned(),
            Self::AllOff => "every day until the date is a day off".to_owned(),
        }
    }

    /// What to do about it.
    #[must_use]
    pub const fn advice(&self) -> &'static str {
        match self {
            Self::Past { .. } => "give a later date with --until, or another today with --today",
            Self::Today => "warm up, play the first lines slowly, hear the rest in your head, and rest",
            Self::TooFar => "give the next date that matters: a lesson, a concert",
            Self::Minutes(0) => "give at least one minute a day with --minutes",
            Self::Minutes(_) => "give the minutes of a day, up to 600, with --minutes",
            Self::Nothing => "choose another part with --part, or other bars",
            Self::AllOff => "leave out some of --off",
        }
    }
}

/// Makes the plan.
///
/// # Errors
/// If there is no day, no time or no note to plan.
pub fn plan(asked: &Asked) -> Result<Plan, Unplannable> {
    check(asked)?;
    let asked = &Asked {
        begun: asked.begun.min(asked.today),
        ..asked.clone()
    };
    let calendar = Calendar::of(asked);
    if calendar.sittings.iter().all(|day| *day < asked.today) {
        return Err(Unplannable::AllOff);
    }
    let mut maker = Maker::new(asked, &calendar);
    let sittings = maker.sittings();
    let days = own_days(&sittings);
    let left = left(asked, &calendar, &maker, &days);
    let met_by = sittings
        .iter()
        .rfind(|sitting| sitting.turns.iter().any(|turn| turn.kind == TurnKind::Read))
        .map(|sitting| sitting.date);
    // A goal that is out of reach has no day.
    let reached = |(number, work): (usize, &Work)| {
        let short = |left: &Left| left.why == LeftWhy::Tempo && left.work == number;
        !work.rungs().is_empty() && !left.iter().any(short)
    };
    let has_goal = asked.works.iter().enumerate().any(reached);
    let goal_by = calendar
        .goal_at
        .and_then(|at| calendar.sittings.get(at))
        .copied()
        .filter(|_| has_goal && asked.occasion != Occasion::FirstLesson);
    let mocks = calendar
        .mocks
        .iter()
        .filter_map(|at| calendar.sittings.get(*at))
        .filter(|day| **day >= asked.today)
        .copied()
        .collect();
    let passages = standings(&maker, &days);
    let findings = findings(asked, &calendar);
    Ok(Plan {
        sittings,
        met_by,
        goal_by,
        mocks,
        left,
        passages,
        findings,
        calendar,
    })
}

fn check(asked: &Asked) -> Result<(), Unplannable> {
    if asked.until < asked.today {
        return Err(Unplannable::Past {
            today: asked.today,
            until: asked.until,
        });
    }
    if asked.until == asked.today {
        return Err(Unplannable::Today);
    }
    if (asked.until - asked.begun.min(asked.today)).num_days() > LONGEST_DAYS {
        return Err(Unplannable::TooFar);
    }
    if !(1..=MOST_MINUTES).contains(&asked.minutes) {
        return Err(Unplannable::Minutes(asked.minutes));
    }
    if !asked.works.iter().any(Work::has_notes) {
        return Err(Unplannable::Nothing);
    }
    Ok(())
}

fn left(asked: &Asked, calendar: &Calendar, maker: &Maker, own: &OwnDays) -> Vec<Left> {
    let mut left = Vec::new();
    for (number, span, why) in &maker.readings.left {
        let Some(work) = asked.works.get(*number) else {
            continue;
        };
        let reason = match why {
            LeftWhy::Returns => "left, since they are earlier bars again; play them as those",
            _ => {
                "left, since they ask least of you and there is no time to meet every bar; read them at sight when you play through"
            }
        };
        left.push(of_bars(work, *number, *span, *why, reason));
    }
    for passage in &maker.passages {
        let days = own.get(&own_key(passage)).map_or(0, Vec::len);
        if days >= ENOUGH_DAYS || !matches!(passage.kind, PassageKind::Spot(_)) {
            continue;
        }
        let Some(work) = asked.works.get(passage.work) else {
            continue;
        };
        let reason = if days == 0 {
            "no turn of their own, since harder spots come first; only read and played through"
        } else {
            "one day only, since harder spots come first"
        };
        left.push(of_bars(
            work,
            passage.work,
            passage.span,
            LeftWhy::FewTurns,
            reason,
        ));
    }
    for (number, work) in asked.works.iter().enumerate() {
        left.extend(slower(asked, calendar, maker, number, work));
    }
    left
}

fn of_bars(work: &Work, number: usize, span: BarSpan, why: LeftWhy, reason: &str) -> Left {
    Left {
        work: number,
        span: Some(span),
        why,
        says: format!("{}: {reason}", work.say(span)),
        reason: reason.to_owned(),
    }
}

/// The goal tempo, where there is no time to climb to it.
fn slower(asked: &Asked, calendar: &Calendar, maker: &Maker, number: usize, work: &Work) -> Option<Left> {
    if asked.occasion == Occasion::FirstLesson {
        return None;
    }
    let goal = work.rungs().last()?;
    let in_hand = if calendar.goal_at.is_none() {
        work.rungs().first().filter(|first| speed(first) < speed(goal))?
    } else {
        &maker.climbs.get(number)?.falls_short(work)?
    };
    let reason = format!(
        "there is no time to climb to {}; play it at {}, which will be in hand, and ask your teacher",
        plain_tempo(goal),
        plain_tempo(in_hand)
    );
    Some(Left {
        work: number,
        span: None,
        why: LeftWhy::Tempo,
        says: format!("{}: {reason}", work.title),
        reason,
    })
}

fn plain_tempo(rung: &Rung) -> String {
    format!("{} = {}", rung.beat.sign(), rung.bpm)
}

/// The days on which the bars of passages have a turn of their own, by work and bars; look-alikes apart.
type OwnDays = BTreeMap<(usize, BarSpan, bool), Vec<Date>>;

fn own_key(passage: &Passage) -> (usize, BarSpan, bool) {
    let pair = matches!(passage.kind, PassageKind::Pair(_));
    (passage.work, passage.span, pair)
}

fn own_days(sittings: &[Sitting]) -> OwnDays {
    let mut days = OwnDays::new();
    for sitting in sittings {
        let own = |turn: &&Turn| turn.kind.of_passage();
        for turn in sitting.turns.iter().filter(own) {
            if let Some((work, span)) = turn.work.zip(turn.bars.last()) {
                let pair = turn.kind == TurnKind::LookAlikes;
                let own = days.entry((work, *span, pair)).or_default();
                if own.last() != Some(&sitting.date) {
                    own.push(sitting.date);
                }
            }
        }
    }
    days
}

fn standings(maker: &Maker, days: &OwnDays) -> Vec<Standing> {
    maker
        .passages
        .iter()
        .zip(&maker.progress)
        .map(|(passage, progress)| {
            let days = days.get(&own_key(passage)).map_or(&[][..], Vec::as_slice);
            Standing {
                passage: passage.clone(),
                progress: progress.clone(),
                next: days.first().copied(),
                days: days.len(),
            }
        })
        .collect()
}

fn findings(asked: &Asked, calendar: &Calendar) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut note = |kind: &'static str, what: String, advice: &str| {
        found.push(Finding::new(Severity::Note, kind, what, advice));
    };
    if asked.minutes > MUCH {
        note(
            "much-practice",
            format!("{} minutes a day are much, even for professionals", asked.minutes),
            "split them over the day, and ask your teacher whether so much does good",
        );
    }
    if let Some(day) = calendar.rest_day {
        note(
            "day-off",
            format!("one day a week is kept free: {}", long_name(day)),
            "choose another with --off, for example --off fri",
        );
    }
    for work in &asked.works {
        if !work.has_notes() {
            note(
                "nothing-to-play",
                format!("{}: there is no note to practise in these bars", work.title),
                "it is left out of the plan",
            );
        } else if work.rungs().is_empty() {
            note(
                "no-goal-tempo",
                format!(
                    "{}: no tempo is marked, so that there is none to climb to",
                    work.title
                ),
                "ask your teacher for one, and give it with --to-tempo",
            );
        }
    }
    if calendar.goal_at.is_some() && !calendar.goal_is_early && asked.occasion != Occasion::FirstLesson {
        note(
            "goal-late",
            "there is no time to have the goal tempo two weeks before the date".to_owned(),
            "keep the last days for playing it through, not for getting faster",
        );
    }
    found
}

const fn long_name(day: Weekday) -> &'static str {
    match day {
        Weekday::Mon => "Mondays",
        Weekday::Tue => "Tuesdays",
        Weekday::Wed => "Wednesdays",
        Weekday::Thu => "Thursdays",
        Weekday::Fri => "Fridays",
        Weekday::Sat => "Saturdays",
        Weekday::Sun => "Sundays",
    }
}

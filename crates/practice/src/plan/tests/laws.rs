//! What holds of every plan.

use super::super::*;
use super::{asked, day, span, work};
use chrono::Days;
use instruments::Family;
use load::ladder::{Climb, Scheme, ladder};
use notation::{BarIndex, Quarters};
use proptest::prelude::*;
use std::collections::BTreeSet;
use survey::metre::BeatUnit;

/// Any work: lengths, rests, loads, spots, cuts, returning bars, with or without a goal.
fn any_work() -> impl Strategy<Value = Work> {
    (
        1usize..120,
        proptest::collection::vec((0usize..9, 0u8..20, 1i64..7), 1..120),
        0u32..40,
        prop_oneof![Just(None), (40u16..100, 50u16..180).prop_map(Some)],
        0usize..Scheme::ALL.len(),
        any::<bool>(),
    )
        .prop_map(|(bars, kinds, cut, tempo, scheme, repeats)| {
            let kind = |bar: usize| kinds[bar % kinds.len()];
            let mut made = work(bars);
            made.notes = (0..bars).map(|bar| kind(bar).0).collect();
            made.notes[bars / 2] = 3;
            made.asks = (0..bars).map(|bar| f64::from(kind(bar).1)).collect();
            made.lengths = (0..bars).map(|bar| Quarters::whole(kind(bar).2)).collect();
            let last = u32::try_from(bars - 1).unwrap();
            if cut > 0 && last > cut + 3 && u32::try_from(bars / 2).unwrap() <= cut {
                made.spans = vec![span(0, cut), span(cut + 2, last)];
            }
            let inside = |s: BarSpan| made.spans.iter().any(|w| w.from <= s.from && s.to <= w.to);
            made.spots.retain(|spot| inside(spot.span));
            made.pairs.retain(|pair| inside(pair.one) && inside(pair.other));
            if repeats {
                made.same = (bars / 2..bars)
                    .map(|bar| (BarIndex::from_usize(bar), BarIndex(0)))
                    .collect();
            }
            match tempo {
                Some((from, to)) => {
                    made.first = Some((BeatUnit::QUARTER, from));
                    let climb = Climb::on(BeatUnit::QUARTER, f64::from(from), f64::from(to));
                    made.ladder = Some(ladder(&climb, Scheme::ALL[scheme]));
                }
                None => made.ladder = None,
            }
            made
        })
}

use crate::BarSpan;

fn any_asked() -> impl Strategy<Value = Asked> {
    (
        proptest::collection::vec(any_work(), 1..3),
        (0u64..400, prop_oneof![1u64..12, 1u64..60, 1u64..200]),
        prop_oneof![1u32..20, 20u32..70, 20u32..70, 70u32..300],
        proptest::collection::vec(0usize..7, 0..3),
        proptest::collection::vec((0u64..300, 0u64..20), 0..3),
        prop_oneof![
            Just(None),
            Just(Some(Family::Brass)),
            Just(Some(Family::Reed)),
            Just(Some(Family::String))
        ],
        0usize..3,
    )
        .prop_map(
            |(works, (start, length), minutes, weekdays, ranges, family, occasion)| {
                let today = day("2026-01-01") + Days::new(start);
                let mut made = asked(1, "2026-01-01", "2026-02-01", minutes);
                (made.today, made.begun, made.until) = (today, today, today + Days::new(length));
                let week = [
                    Weekday::Mon,
                    Weekday::Tue,
                    Weekday::Wed,
                    Weekday::Thu,
                    Weekday::Fri,
                    Weekday::Sat,
                    Weekday::Sun,
                ];
                made.off.weekdays = weekdays.into_iter().map(|at| week[at]).collect();
                made.off.ranges = ranges
                    .into_iter()
                    .map(|(from, days)| (today + Days::new(from), today + Days::new(from + days)))
                    .collect();
                made.family = family;
                made.works = works;
                made.occasion = Occasion::ALL[occasion];
                made
            },
        )
}

/// Every bar with notes that is not said to be left has been read in its time: the first third of the days and of the sittings.
fn every_bar_is_met(asked: &Asked, plan: &Plan) -> Result<(), TestCaseError> {
    let third = asked.begun + Days::new(u64::try_from((asked.until - asked.begun).num_days()).unwrap() / 3);
    let first = plan.sittings[0].date;
    let count = plan.sittings.len();
    let mut met: BTreeSet<(usize, u32)> = BTreeSet::new();
    for (number, sitting) in plan.sittings.iter().enumerate() {
        for turn in sitting.turns.iter().filter(|turn| turn.kind == TurnKind::Read) {
            prop_assert!(sitting.date <= third.max(first), "{} after {third}", sitting.date);
            prop_assert!(number < (count / 3).max(1));
            prop_assert!(turn.secs <= NEW_SECS);
            let own = turn.bars.iter().flat_map(|span| span.from.0..=span.to.0);
            met.extend(own.map(|bar| (turn.work.unwrap(), bar)));
        }
    }
    let left: BTreeSet<(usize, u32)> = plan
        .left
        .iter()
        .filter(|left| matches!(left.why, LeftWhy::Returns | LeftWhy::Easy))
        .filter_map(|left| left.span.map(|span| (left.work, span)))
        .flat_map(|(work, span)| (span.from.0..=span.to.0).map(move |bar| (work, bar)))
        .collect();
    for (number, work) in asked.works.iter().enumerate() {
        for bar in work.bars().filter(|bar| work.notes_in(*bar) > 0) {
            let (read, given_up) = (met.contains(&(number, bar.0)), left.contains(&(number, bar.0)));
            prop_assert!(
                read || given_up,
                "bar {} of work {number} is neither met nor said to be left",
                bar.0
            );
            prop_assert!(!(read && given_up), "bar {} of work {number} is both", bar.0);
        }
    }
    Ok(())
}

/// Nothing is drilled or climbed before it was read.
fn what_is_practised_was_read(asked: &Asked, plan: &Plan) -> Result<(), TestCaseError> {
    let mut met: BTreeSet<(usize, u32)> = BTreeSet::new();
    for turn in plan.sittings.iter().flat_map(|sitting| &sitting.turns) {
        let Some(number) = turn.work else { continue };
        let bars = || turn.bars.iter().flat_map(|span| span.from.0..=span.to.0);
        if turn.kind == TurnKind::Read {
            met.extend(bars().map(|bar| (number, bar)));
        } else if matches!(
            turn.kind,
            TurnKind::Spot | TurnKind::Climb | TurnKind::Keep | TurnKind::Chain | TurnKind::LookAlikes
        ) {
            for bar in bars().filter(|bar| asked.works[number].notes_in(BarIndex(*bar)) > 0) {
                prop_assert!(
                    met.contains(&(number, bar)),
                    "{:?} of bar {bar} before it is read",
                    turn.kind
                );
            }
        }
    }
    Ok(())
}

fn rests_are_kept(asked: &Asked, sitting: &Sitting) -> Result<(), TestCaseError> {
    prop_assert!(
        sitting.secs() <= asked.minutes * 60,
        "{} s in {} min",
        sitting.secs(),
        asked.minutes
    );
    prop_assert!(sitting.secs() > 0, "an empty sitting on {}", sitting.date);
    prop_assert!(keeps_rests(&sitting.turns));
    // Ten minutes of every hour, wherever the hour begins. Before and after the sitting is rest.
    let mut minutes: Vec<bool> = Vec::new();
    for turn in &sitting.turns {
        minutes.extend(std::iter::repeat_n(
            turn.kind == TurnKind::Rest,
            usize::try_from(turn.secs / 30).unwrap(),
        ));
    }
    if sitting.secs() > 3600 {
        for hour in minutes.windows(120) {
            let rest = hour.iter().filter(|rest| **rest).count();
            prop_assert!(rest >= 20, "{rest} half minutes of rest in an hour");
        }
    }
    if asked.brass() {
        prop_assert!(
            sitting.playing_secs() * 2 <= sitting.secs(),
            "brass on {}",
            sitting.date
        );
    }
    if sitting.stage == Stage::DayBefore && asked.minutes > 1 {
        prop_assert!(sitting.secs() * 2 <= asked.minutes * 60, "lighter");
    }
    Ok(())
}

fn repetition_is_limited(sitting: &Sitting) -> Result<(), TestCaseError> {
    let practice = |turn: &&Turn| turn.kind != TurnKind::Rest;
    let turns: Vec<&Turn> = sitting.turns.iter().filter(practice).collect();
    for turn in &turns {
        let times: u32 = turn.tempi.iter().map(|rung| u32::from(rung.times.0)).sum();
        prop_assert!(times <= u32::from(MOST_TIMES), "{times} times in one turn");
        prop_assert!(turn.secs > 0);
        prop_assert!(!turn.what.is_empty());
    }
    for pair in turns.windows(2) {
        let passage = |turn: &Turn| {
            matches!(
                turn.kind,
                TurnKind::Spot | TurnKind::Climb | TurnKind::Keep | TurnKind::LookAlikes
            )
        };
        if passage(pair[0]) && passage(pair[1]) {
            let same = pair[0].work == pair[1].work && pair[0].bars == pair[1].bars;
            prop_assert!(!same, "the same bars twice in a row on {}", sitting.date);
        }
        let new = |turn: &Turn| turn.kind == TurnKind::Read;
        prop_assert!(
            !(new(pair[0]) && new(pair[1])),
            "new after new on {}",
            sitting.date
        );
    }
    Ok(())
}

fn days_off_are_kept(asked: &Asked, plan: &Plan) -> Result<(), TestCaseError> {
    for sitting in &plan.sittings {
        prop_assert!(!asked.off.holds(sitting.date));
        prop_assert!(sitting.date >= asked.today && sitting.date < asked.until);
    }
    for week in plan.calendar.days.windows(7) {
        prop_assert!(
            week.iter().any(|(_, is)| matches!(is, DayIs::Off(_))),
            "no day off after {}",
            week[0].0
        );
    }
    for pair in plan.sittings.windows(2) {
        prop_assert!(pair[0].date < pair[1].date, "one sitting a day");
    }
    Ok(())
}

fn the_end_is_kept(asked: &Asked, plan: &Plan) -> Result<(), TestCaseError> {
    let played: Vec<Date> = plan
        .sittings
        .iter()
        .filter(|sitting| sitting.turns.iter().any(|turn| turn.kind == TurnKind::Mock))
        .map(|sitting| sitting.date)
        .collect();
    prop_assert_eq!(
        &played,
        &plan.mocks,
        "each announced mock performance is played, and no other"
    );
    if asked.occasion == Occasion::FirstLesson {
        prop_assert!(plan.mocks.is_empty());
    }
    let Some(goal_by) = plan.goal_by else {
        return Ok(());
    };
    if plan.calendar.goal_is_early {
        prop_assert!((asked.until - goal_by).num_days() >= 14, "two weeks early");
    }
    // Nothing is faster than it will ever be after that day.
    let fastest = |sittings: &mut dyn Iterator<Item = &Sitting>, number: usize| {
        sittings
            .flat_map(|sitting| &sitting.turns)
            .filter(|turn| turn.work == Some(number))
            .flat_map(|turn| &turn.tempi)
            .map(speed)
            .fold(0.0, f64::max)
    };
    for (number, work) in asked.works.iter().enumerate() {
        let after = fastest(
            &mut plan.sittings.iter().filter(|sitting| sitting.date > goal_by),
            number,
        );
        prop_assert!(after <= work.goal_speed() + 1e-9);
    }
    Ok(())
}

/// Whole plans are many days: fewer of them than usual, unless more are asked for.
fn cases() -> ProptestConfig {
    let usual = ProptestConfig::default();
    ProptestConfig {
        cases: if std::env::var_os("PROPTEST_CASES").is_some() {
            usual.cases
        } else {
            40
        },
        ..usual
    }
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn every_plan_keeps_the_laws(asked in any_asked()) {
        let made = match plan(&asked) {
            Ok(made) => made,
            Err(Unplannable::AllOff | Unplannable::Nothing) => return Ok(()),
            Err(other) => return Err(TestCaseError::fail(format!("{other:?}"))),
        };
        every_bar_is_met(&asked, &made)?;
        what_is_practised_was_read(&asked, &made)?;
        days_off_are_kept(&asked, &made)?;
        the_end_is_kept(&asked, &made)?;
        for sitting in &made.sittings {
            rests_are_kept(&asked, sitting)?;
            repetition_is_limited(sitting)?;
        }
        prop_assert_eq!(plan(&asked).unwrap(), made, "the same question, the same answer");
    }
}

#[test]
fn extremes_are_planned() {
    for (bars, today, minutes) in [
        (1, "2027-02-12", 1),
        (1, "2026-02-12", 40),
        (2000, "2027-02-12", 1),
        (2000, "2026-11-26", 40),
        (2000, "2026-08-13", 180),
        (30, "2024-02-13", 600),
    ] {
        let asked = asked(bars, today, "2027-02-13", minutes);
        let made = plan(&asked).unwrap();
        every_bar_is_met(&asked, &made).unwrap();
        for sitting in &made.sittings {
            rests_are_kept(&asked, sitting).unwrap();
            repetition_is_limited(sitting).unwrap();
        }
    }
}

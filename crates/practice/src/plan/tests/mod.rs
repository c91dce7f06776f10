//! Does a plan keep its word? Examples said aloud, and laws over random works, dates and minutes.

mod examples;
mod laws;
mod logged;

use super::{Asked, Date, DaysOff, Occasion, Work, WorkPair, WorkSpot};
use crate::BarSpan;
use load::ladder::{Climb, Scheme, ladder};
use notation::{BarIndex, Quarters};
use survey::metre::BeatUnit;

pub(super) fn day(text: &str) -> Date {
    text.parse().unwrap()
}

pub(super) fn span(from: u32, to: u32) -> BarSpan {
    BarSpan::new(BarIndex(from), BarIndex(to))
}

/// A work of so many bars of four quarters, ♩ = 63 to 126, with spots of two bars every ten.
pub(super) fn work(bars: usize) -> Work {
    let last = u32::try_from(bars - 1).unwrap();
    let spot = |from: u32| WorkSpot {
        span: span(from, (from + 1).min(last)),
        why: "a leap of a tenth".to_owned(),
        doing: "play the far note first".to_owned(),
    };
    Work {
        title: "A Test of Patience".to_owned(),
        labels: (1..=bars).map(|bar| bar.to_string()).collect(),
        lengths: vec![Quarters::whole(4); bars],
        notes: vec![6; bars],
        plays: vec![1; bars],
        asks: (0..bars)
            .map(|bar| f64::from(u32::try_from(bar * 7 % 13).unwrap()))
            .collect(),
        spans: vec![span(0, last)],
        phrase_starts: (0..=last).step_by(4).map(BarIndex).collect(),
        spots: (0..last.max(1)).step_by(10).take(8).map(spot).collect(),
        same: Vec::new(),
        pairs: if bars > 6 {
            vec![WorkPair {
                one: span(1, 1),
                other: span(5, 5),
                differs: "the last note is F♯".to_owned(),
            }]
        } else {
            Vec::new()
        },
        scales: vec![("D major scale".to_owned(), "the key".to_owned())],
        first: Some((BeatUnit::QUARTER, 63)),
        ladder: Some(ladder(
            &Climb::on(BeatUnit::QUARTER, 63.0, 126.0),
            Scheme::UpThreeDownTwo,
        )),
        offers: Vec::new(),
        from_memory: false,
    }
}

pub(super) fn asked(bars: usize, today: &str, until: &str, minutes: u32) -> Asked {
    Asked {
        today: day(today),
        begun: day(today),
        until: day(until),
        occasion: Occasion::Audition,
        minutes,
        off: DaysOff::default(),
        family: Some(instruments::Family::Reed),
        works: vec![work(bars)],
        log: Vec::new(),
    }
}

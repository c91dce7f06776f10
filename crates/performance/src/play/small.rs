//! When do grace notes sound, and from whom do they take their time? Long or short, on the beat or before it.
//!
//! - A group is never long; nor is one with a stroke through its stem.
//! - A lone grace note without a stroke before a longer note may be long: the period decides (baroque and classical:
//!   C.P.E. Bach's lengths, unless one of Grove's or Türk's reasons makes it short; modern: short), the teacher above it,
//!   and a finding asks.
//! - Short ones come before the beat in modern playing, on it before that (the International Encyclopedia's article
//!   "Appoggiatura" calls the point disputed); grace notes after a note take the end of that note.

use super::units::Unit;
use crate::ornament::{Choice, Period, long_value, quick_value, short_because};
use notation::{Event, Part, Pitch, Quarters, Rational};

/// A unit's place in time once the small notes around it have taken theirs.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Fit {
    /// When the main note begins.
    pub start: Quarters,
    /// When it ends, its written time less what small notes took.
    pub stop: Quarters,
    /// Grace notes before it: when, how long, which event.
    pub before: Vec<(Quarters, Quarters, usize)>,
    /// The length of each grace note after it.
    pub after: Quarters,
    /// A grace note before it only shows the upper note of its trill.
    pub upper_printed: bool,
    /// The grace notes after it are the termination of its trill.
    pub ends_trill: bool,
}

impl Fit {
    pub fn plain(unit: &Unit) -> Self {
        Self {
            start: unit.onset,
            stop: unit.end,
            before: Vec::new(),
            after: Quarters::ZERO,
            upper_printed: false,
            ends_trill: false,
        }
    }

    /// When the note and the grace notes after it are over.
    pub fn end(&self, unit: &Unit) -> Quarters {
        let count = i64::try_from(unit.after.len()).unwrap_or(0);
        self.stop + self.after * Rational::whole(count)
    }

    /// Grace notes after the note: when, how long, which event.
    pub fn after_notes<'a>(
        &'a self,
        unit: &'a Unit,
    ) -> impl Iterator<Item = (Quarters, Quarters, usize)> + 'a {
        unit.after.iter().enumerate().map(|(n, event)| {
            let at = self.stop + self.after * Rational::whole(i64::try_from(n).unwrap_or(0));
            (at, self.after, *event)
        })
    }
}

/// A short grace note lasts at most so long, in seconds. Judgement.
const SHORT: (i64, i64) = (9, 100);

/// How one group of grace notes is to be played.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Manner {
    /// So many quarter notes from the beat on.
    Long(Quarters),
    OnTheBeat,
    BeforeTheBeat,
}

/// Decides on a group; the flag says that its length is a question for the teacher.
pub(super) fn manner(
    part: &Part,
    graces: &[usize],
    main: &Event,
    next: Option<&Event>,
    period: Period,
    choice: &Choice,
) -> (Manner, bool) {
    let period = choice.period.unwrap_or(period);
    let events: Vec<&Event> = graces
        .iter()
        .filter_map(|index| part.events.get(*index))
        .collect();
    let lone = match events.as_slice() {
        [one] => Some(*one),
        _ => None,
    };
    let slashed = events
        .iter()
        .any(|event| event.grace.is_some_and(|grace| grace.slash));
    let before = choice.before_the_beat.unwrap_or(period == Period::Modern);
    let short = if before {
        Manner::BeforeTheBeat
    } else {
        Manner::OnTheBeat
    };
    let Some(one) = lone.filter(|_| !slashed) else {
        return (short, false);
    };
    let printed = one
        .written
        .as_ref()
        .map_or(Rational::new(1, 2), notation::Written::quarters);
    let open = main.duration > printed && choice.long.is_none();
    let by_period = period != Period::Modern && short_because(one.top_pitch(), main, next).is_none();
    let long = choice.long.unwrap_or(by_period && main.duration > printed);
    if long {
        (Manner::Long(long_value(main, next).0), open)
    } else {
        (short, open)
    }
}

/// Lays a group of grace notes out; `fits` holds those of the units before, whose last may have to give time.
pub(super) fn lay_before(
    unit: &Unit,
    graces: &[usize],
    manner: Manner,
    speed: Rational,
    last: Option<(&Unit, &mut Fit)>,
    fit: &mut Fit,
) {
    let count = Rational::whole(i64::try_from(graces.len()).unwrap_or(1).max(1));
    let quick = quick_value(speed, Rational::new(SHORT.0, SHORT.1));
    let whole = unit.end - unit.onset;
    let mut place = |from: Quarters, each: Quarters| {
        fit.before = graces
            .iter()
            .enumerate()
            .map(|(n, event)| {
                (
                    from + each * Rational::whole(i64::try_from(n).unwrap_or(0)),
                    each,
                    *event,
                )
            })
            .collect();
    };
    let half = Rational::new(1, 2);
    match manner {
        Manner::Long(length) if length < whole => {
            place(unit.onset, length / count);
            fit.start = unit.onset + length;
            return;
        }
        Manner::BeforeTheBeat => {
            // Silence before the note is free; of the note before, at most half is taken.
            let (free_from, half_of_last) = match &last {
                Some((before, fit)) => (fit.end(before), (fit.stop - fit.start).max(Quarters::ZERO) * half),
                None => (Quarters::ZERO, Quarters::ZERO),
            };
            let free = (unit.onset - free_from).max(Quarters::ZERO);
            let room = free + half_of_last;
            let total = (quick * count).min(room);
            if total.is_positive() {
                let from = unit.onset - total;
                place(from, total / count);
                if let Some((_, fit)) = last {
                    fit.stop -= (total - free).max(Quarters::ZERO);
                }
                return;
            }
        }
        _ => {}
    }
    let total = (quick * count).min(whole * half);
    place(unit.onset, total / count);
    fit.start = unit.onset + total;
}

/// Grace notes after the note: quick, together at most half of it.
pub(super) fn lay_after(unit: &Unit, speed: Rational, fit: &mut Fit) {
    if unit.after.is_empty() {
        return;
    }
    let count = Rational::whole(i64::try_from(unit.after.len()).unwrap_or(1).max(1));
    let quick = quick_value(speed, Rational::new(SHORT.0, SHORT.1));
    let total = (quick * count).min((fit.stop - fit.start) * Rational::new(1, 2));
    if total.is_positive() {
        fit.after = total / count;
        fit.stop -= total;
    }
}

/// Is the one grace note before a trill its upper note?
pub(super) fn shows_upper(part: &Part, graces: &[usize], upper: Option<Pitch>) -> bool {
    match graces {
        [one] => {
            let pitch = part.events.get(*one).and_then(Event::top_pitch);
            pitch.is_some() && pitch == upper
        }
        _ => false,
    }
}

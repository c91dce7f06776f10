//! How long is each bar? Values that add up under the metre in force, pickups, bars split by a repeat.

use super::{Settled, System};
use crate::bars::{Chosen, Fit, Timed, VALUES, fit};
use crate::mend::{Doubt, SignAt};
use crate::page_bars::{At, Item, PageBar};
use crate::vocabulary::{Ask, DENOMINATORS, Flag, Main, NUMERATORS};
use notation::{Metre, MetrePart, MetreSymbol, NoteValue, Quarters};
use std::collections::BTreeMap;

/// Units of log-probability that a reading may be behind the likeliest, to make an inner bar add up …
const MOST: f32 = 16.0;
/// … and one that may rightly be short: the first, the last, those at a double bar.
const MOST_AT_EDGE: f32 = 4.0;

/// A metre less sure than this is something else that looks like figures.
const TRUSTED_METRE: f32 = 0.4;

/// What a bar comes to.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Length {
    /// The values of its notes and rests, grace notes left out, in order.
    pub chosen: Vec<Chosen>,
    /// A rest that fills it whatever its value.
    pub whole_rest: bool,
    /// In quarter notes.
    pub actual: Quarters,
    /// What the metre asks for.
    pub full: Option<Quarters>,
    /// Another reading than the likeliest was taken because it adds up.
    pub mended: bool,
    /// What it is where it isn't full.
    pub short: Short,
}

/// A bar that doesn't fill its metre.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Short {
    /// It does.
    No,
    /// The pickup.
    Pickup,
    /// The second half of a split bar, or the last bar that a pickup completes.
    Rest,
    /// The first half.
    Begun,
    /// It does not add up.
    Off,
    /// It does not add up, and that is right.
    Allowed,
}

/// The metre that a sign says; `None` where its numbers make none.
pub(super) fn metre_of(systems: &[System], at: At) -> Option<Metre> {
    let sign = systems.get(at.system)?.seen.signs.get(at.sign)?;
    if sign.sure() < TRUSTED_METRE {
        return None;
    }
    metre_said(sign.answer(Ask::Numerator), sign.answer(Ask::Denominator))
}

/// The metre of two figures by their numbers in the vocabulary.
pub(super) fn metre_said(above: usize, below: usize) -> Option<Metre> {
    let (symbol, beats, beat_type) = match *NUMERATORS.get(above)? {
        "C" => (MetreSymbol::Common, 4, 4),
        "cut" => (MetreSymbol::Cut, 2, 2),
        number => (
            MetreSymbol::Numbers,
            number.parse().ok()?,
            DENOMINATORS.get(below)?.parse().ok()?,
        ),
    };
    Some(Metre {
        parts: vec![MetrePart {
            groups: vec![beats],
            beat_type,
        }],
        symbol,
    })
}

/// What the likeliest values of a bar come to.
pub(super) fn plain(systems: &[System], bar: &PageBar) -> Quarters {
    length(systems, bar, None, false).actual
}

/// The length of every bar, and the metres that were not believed.
pub(super) fn lengths(systems: &[System], bars: &[PageBar]) -> (Vec<Length>, Vec<At>) {
    let plain: Vec<Quarters> = bars.iter().map(|bar| plain(systems, bar)).collect();
    let mut full = None;
    let mut refused = Vec::new();
    let mut metres: Vec<Option<Quarters>> = Vec::with_capacity(bars.len());
    for (n, bar) in bars.iter().enumerate() {
        for item in &bar.items {
            let Item::Metre(at) = item else { continue };
            let new = metre_of(systems, *at).and_then(|metre| metre.length());
            if believed(systems, *at, full, new, &plain[n..]) {
                full = new.or(full);
            } else {
                refused.push(*at);
            }
        }
        metres.push(full);
    }
    // Before the first metre that was read: what most bars come to.
    if metres.first().is_some_and(Option::is_none) {
        let usual = usual(&plain);
        for metre in metres.iter_mut().take_while(|metre| metre.is_none()) {
            *metre = usual;
        }
    }
    let mut out: Vec<Length> = bars
        .iter()
        .enumerate()
        .map(|(n, bar)| length(systems, bar, metres[n], at_edge(bars, n)))
        .collect();
    shorts(bars, &mut out);
    (out, refused)
}

/// A metre that is not quite sure is believed unless more of the next bars fill the old one.
fn believed(
    systems: &[System],
    at: At,
    old: Option<Quarters>,
    new: Option<Quarters>,
    next: &[Quarters],
) -> bool {
    let sign = systems
        .get(at.system)
        .and_then(|system| system.seen.signs.get(at.sign));
    let (Some(old), Some(new)) = (old, new) else {
        return new.is_some();
    };
    let count = |full| next.iter().take(4).filter(|actual| **actual == full).count();
    sign.is_none_or(|sign| sign.sure() >= 0.9) || count(old) <= count(new)
}

fn usual(plain: &[Quarters]) -> Option<Quarters> {
    let mut sums: BTreeMap<Quarters, usize> = BTreeMap::new();
    for total in plain.iter().filter(|total| total.is_positive()) {
        *sums.entry(*total).or_default() += 1;
    }
    sums.into_iter()
        .max_by_key(|(_, count)| *count)
        .map(|(total, _)| total)
}

fn heavy(bar: Option<&PageBar>) -> bool {
    bar.and_then(|bar| bar.right)
        .is_some_and(|line| !matches!(line.kind, "single" | "dashed"))
}

fn at_edge(bars: &[PageBar], n: usize) -> bool {
    n == 0
        || n + 1 == bars.len()
        || heavy(bars.get(n))
        || n.checked_sub(1).is_some_and(|before| heavy(bars.get(before)))
        || bars[n].left.is_some()
        || bars.get(n + 1).is_some_and(|next| next.left.is_some())
}

fn length(systems: &[System], bar: &PageBar, full: Option<Quarters>, edge: bool) -> Length {
    let timed = timed(systems, bar);
    let whole = Length {
        chosen: Vec::new(),
        whole_rest: false,
        actual: full.unwrap_or(Quarters::ZERO),
        full,
        mended: false,
        short: Short::No,
    };
    if bar.rest_bars.is_some() || bar.repeat.is_some() {
        return whole;
    }
    let Fit {
        chosen,
        total,
        mended,
    } = fit(&timed, full, if edge { MOST_AT_EDGE } else { MOST });
    // A whole rest alone fills its bar, whatever the metre. Source: common practice.
    let alone = match (timed.as_slice(), chosen.as_slice()) {
        ([one], [read]) => {
            one.rest && read.dots == 0 && matches!(read.value, NoteValue::Whole | NoteValue::Breve)
        }
        _ => false,
    };
    // A pickup is seldom a rest alone, so a rest that is the bar's only sign and was bent to fill it fills it too.
    if alone && full.is_some() {
        return Length {
            chosen,
            whole_rest: true,
            ..whole
        };
    }
    Length {
        chosen,
        whole_rest: false,
        actual: total,
        full,
        mended,
        short: Short::No,
    }
}

/// The notes and rests of the first voice that take time.
fn timed(systems: &[System], bar: &PageBar) -> Vec<Timed> {
    let mut out = Vec::new();
    for heads in bar.events() {
        let Some(sign) = heads
            .first()
            .and_then(|at| systems.get(at.system)?.seen.signs.get(at.sign))
        else {
            continue;
        };
        if sign.is(Flag::Grace) || sign.is(Flag::SecondVoice) {
            continue;
        }
        let number = |ask| match sign.answer(ask) {
            0 => None,
            answer => u16::try_from(answer).ok().map(|n| if n < 2 { 0 } else { n }),
        };
        let starts = if sign.is(Flag::TupletStart) {
            [Some(number(Ask::Tuplet).unwrap_or(0)), number(Ask::InnerTuplet)]
                .into_iter()
                .flatten()
                .collect()
        } else {
            Vec::new()
        };
        out.push(Timed {
            values: sign.values,
            dots: sign.dots,
            starts,
            ends: sign.is(Flag::TupletEnd),
            rest: sign.main == Main::Rest,
        });
    }
    out
}

/// Puts the values that bars were read with into their signs.
pub(super) fn take(systems: &mut [System], bars: &[PageBar], lengths: &[Length]) {
    for (bar, length) in bars.iter().zip(lengths) {
        let timed: Vec<&Vec<At>> = bar.events().filter(|heads| takes_time(systems, heads)).collect();
        if timed.len() != length.chosen.len() || length.whole_rest {
            continue;
        }
        for (heads, chosen) in timed.into_iter().zip(&length.chosen) {
            let value = VALUES.iter().position(|known| *known == chosen.value);
            for at in heads {
                let sign = systems
                    .get_mut(at.system)
                    .and_then(|system| system.seen.signs.get_mut(at.sign));
                if let (Some(sign), Some(value)) = (sign, value) {
                    sign.answers[Ask::Value as usize] = value + 1;
                    sign.answers[Ask::Dots as usize] = usize::from(chosen.dots);
                }
            }
        }
    }
}

fn takes_time(systems: &[System], heads: &[At]) -> bool {
    heads
        .first()
        .and_then(|at| systems.get(at.system)?.seen.signs.get(at.sign))
        .is_some_and(|sign| !sign.is(Flag::Grace) && !sign.is(Flag::SecondVoice))
}

/// Bars that somebody looked at and found right as they are.
pub(super) fn settle(lengths: &mut [Length], systems: &[System], bars: &[PageBar], settled: &Settled) {
    for (length, bar) in lengths.iter_mut().zip(bars) {
        let Some(at) = first_sign(systems, bar) else {
            continue;
        };
        if length.short == Short::Off && settled.contains(&(Doubt::Bar, at)) {
            length.short = Short::Allowed;
        }
        if settled.contains(&(Doubt::Chosen, at)) {
            length.mended = false;
        }
    }
}

/// The sign by which a bar is named: its first note, rest, or whatever fills it.
pub(super) fn first_sign(systems: &[System], bar: &PageBar) -> Option<SignAt> {
    let first = bar.events().next().and_then(|heads| heads.first().copied());
    let at = first.or(bar.rest_bars).or(bar.repeat)?;
    sign_name(systems, at)
}

/// The name of a sign that stays when others go.
pub(super) fn sign_name(systems: &[System], at: At) -> Option<SignAt> {
    let sign = systems.get(at.system)?.seen.signs.get(at.sign)?;
    Some(SignAt {
        system: u32::try_from(at.system).ok()?,
        number: sign.number,
    })
}

/// Which short bars are short by right.
fn shorts(bars: &[PageBar], lengths: &mut [Length]) {
    let count = lengths.len();
    for n in 0..count {
        let (actual, full) = (lengths[n].actual, lengths[n].full);
        let Some(full) = full.filter(|full| *full != actual) else {
            continue;
        };
        let begun = n
            .checked_sub(1)
            .is_some_and(|b| lengths[b].short == Short::Begun && lengths[b].actual + actual == full);
        let pickup = lengths
            .first()
            .is_some_and(|first| first.short == Short::Pickup && first.actual + actual == full);
        let completes = begun || pickup && (n + 1 == count || heavy(bars.get(n)));
        lengths[n].short = if actual > full || actual.is_zero() {
            Short::Off
        } else if n == 0 {
            Short::Pickup
        } else if completes {
            Short::Rest
        } else if at_edge(bars, n)
            && lengths
                .get(n + 1)
                .is_some_and(|next| next.actual + actual == full)
        {
            Short::Begun
        } else {
            Short::Off
        };
    }
}

//! Which pitches may a frame have? The troughs of its difference function, each with the belief that a threshold would choose it.
//!
//! Source: Mauch & Dixon 2014, pYIN, ICASSP, section 2.1: YIN's threshold is not one number but spread over all of them by a beta
//! distribution; a trough's probability is that of the thresholds for which it is the first one below. Here the distribution
//! is integrated exactly instead of at a hundred steps.

use super::difference::{Difference, least};
use crate::numbers::{count, narrow, real, single};
use crate::track::{CANDIDATES, Candidate};

/// The lowest trough is believed so much by thresholds that none reaches.
///
/// Source: Mauch & Dixon 2014, `p_a`.
const NONE_REACHED: f64 = 0.01;

/// How much of the threshold's distribution lies under a value: Beta(2, 18), mean 0.1.
///
/// Source: Mauch & Dixon 2014, table 1; the closed form for whole parameters (from memory).
fn below(value: f64) -> f64 {
    let rest = 1.0 - value.clamp(0.0, 1.0);
    1.0 - rest.powi(19) - 19.0 * (1.0 - rest) * rest.powi(18)
}

/// Shortest and longest period that is looked for, in samples.
#[derive(Clone, Copy)]
pub(super) struct Periods {
    pub shortest: f64,
    pub longest: f64,
}

/// The candidates of a frame that was looked at, the likeliest first.
pub(super) fn candidates(difference: &Difference, periods: Periods, rate: f64) -> [Candidate; CANDIDATES] {
    let fine = real(difference.fine);
    let from = count(periods.shortest * fine).max(1);
    let to = count(periods.longest * fine).min(difference.normed.len().saturating_sub(1));
    let mut found: [(f64, f64); CANDIDATES] = [(0.0, 0.0); CANDIDATES];
    let mut used = 0;
    // Only a trough lower than all before it is the first below some threshold.
    let (mut lowest, mut last) = (1.0_f64, 0.0);
    let mut n = from;
    while n < to {
        let Some((bottom, value)) = dip(difference, n, to).filter(|(_, value)| *value < lowest) else {
            n += 1;
            continue;
        };
        last = bottom / fine;
        keep(&mut found, &mut used, (last, below(lowest) - below(value)));
        lowest = value;
        n = count(bottom * (1.0 + ONE_DIP)).max(n + 1);
    }
    if used == 0 {
        return Default::default();
    }
    if let Some((_, belief)) = found
        .iter_mut()
        .find(|(period, _)| (*period - last).abs() < f64::EPSILON)
    {
        *belief += NONE_REACHED * below(lowest);
    } else {
        keep(&mut found, &mut used, (last, NONE_REACHED * below(lowest)));
    }
    found.sort_by(|a, b| b.1.total_cmp(&a.1));
    found.map(|(period, belief)| {
        if belief <= 0.0 {
            return Candidate::default();
        }
        Candidate {
            hertz: narrow(rate / refined(difference, period)),
            probability: narrow(belief),
        }
    })
}

/// The belief that a frame that was looked at has any pitch, from 0 to 1: that of all thresholds over its deepest trough.
pub(super) fn voicing(difference: &Difference, periods: Periods) -> f64 {
    let fine = real(difference.fine);
    let from = count(periods.shortest * fine).max(1);
    let to = count(periods.longest * fine).min(difference.normed.len());
    let lowest = difference
        .normed
        .get(from..to)
        .unwrap_or(&[])
        .iter()
        .copied()
        .fold(1.0, f32::min);
    1.0 - below(f64::from(lowest))
}

/// Troughs that lie so near to each other, as a part of the lag (a semitone), are one: noise frays the bottom of a dip, and its
/// first fringe would be taken for a shorter period.
const ONE_DIP: f64 = 0.06;

/// The bottom of the dip that begins with a trough at a grid lag, and its depth; none if there is no trough.
fn dip(difference: &Difference, first: usize, to: usize) -> Option<(f64, f64)> {
    let trough = |n: usize| {
        let [before, at, after] = difference.normed.get(n.checked_sub(1)?..n + 2)? else {
            return None;
        };
        (at < before && at <= after).then_some((n, *before, *at, *after))
    };
    let (n, ..) = trough(first)?;
    let last = (n + count(real(n) * ONE_DIP)).min(to);
    let (n, before, at, after) = (n..=last).filter_map(trough).min_by(|a, b| a.2.total_cmp(&b.2))?;
    let (offset, value) = least(before, at, after);
    Some((real(n) + f64::from(offset), f64::from(value)))
}

/// Keeps the likeliest.
fn keep(found: &mut [(f64, f64); CANDIDATES], used: &mut usize, one: (f64, f64)) {
    if let Some(place) = found.get_mut(*used) {
        *place = one;
        *used += 1;
    } else if let Some(least) = found.iter_mut().min_by(|a, b| a.1.total_cmp(&b.1))
        && least.1 < one.1
    {
        *least = one;
    }
}

/// A period measured over many of itself: the error of where a trough lies is shared among them. Each step goes twice as far
/// out, where the last step's precision still tells which trough is meant.
///
/// Source: common practice (a period by the longest lag that still repeats).
fn refined(difference: &Difference, period: f64) -> f64 {
    let fine = real(difference.fine);
    let reach = real(difference.plain.len().saturating_sub(2)) / fine;
    let most = (reach / period).floor();
    // First the same trough before its division by the mean, which tilts it (YIN's step 5).
    let (mut best, mut times) = (period, 0.5);
    while times < most {
        let next = (times * 2.0_f64).min(most);
        let Some(lag) = trough_near(difference, best * next * fine, period * 0.2 * fine) else {
            break;
        };
        best = lag / fine / next;
        times = next;
    }
    best
}

/// The bottom of the slope on which a grid lag lies, if it is within `room` and deep enough.
fn trough_near(difference: &Difference, lag: f64, room: f64) -> Option<f64> {
    let start = count(lag);
    let mut n = start;
    let value = |n: usize| difference.plain.get(n).copied();
    loop {
        let (before, at, after) = (value(n.checked_sub(1)?)?, value(n)?, value(n + 1)?);
        if at <= before && at <= after {
            let (offset, depth) = least(before, at, after);
            let alike = depth < difference.alike;
            return alike.then_some(real(n) + f64::from(offset));
        }
        n = if before < after { n - 1 } else { n + 1 };
        if single(n.abs_diff(start)) > narrow(room.max(1.0)) {
            return None;
        }
    }
}

//! On which beat or part of a beat does each note start? Played onsets put on a grid, beat by beat, with the error kept.
//!
//! For each beat the grid is taken that makes the played onsets most probable: onsets scatter around the grid by a normal
//! distribution, and a grid is the less probable the deeper and odder it divides the beat.
//! Source: Cemgil, Desain & Kappen, Rhythm Quantization for Transcription, Computer Music Journal 24(2), 2000: maximum a
//! posteriori choice, Gaussian onsets, a prior that falls with the depth of subdivision.
//! DIFFERENCE: there the prior counts each onset's depth and the errors of neighbours correlate; here each beat pays once
//! for its grid and errors are independent. The spread isn't trained but measured in the file, and a file whose onsets lie
//! on exact subdivisions is taken at its word.

use super::bars::{Clock, GridBar};
use super::take::Note;
use notation::{Quarters, Rational};
use std::collections::BTreeMap;

/// How exactly a file's onsets are to be taken.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Precision {
    /// Written by a program: onsets lie on subdivisions, but for rounding to ticks.
    pub exact: bool,
    /// Spread of the onsets around the grid, in quarter notes.
    pub spread: f64,
}

/// Where the notes of one part start.
#[derive(Debug, Default)]
pub(super) struct Onsets {
    /// For each note, quarter notes from the start of the piece.
    pub starts: Vec<Quarters>,
    /// For each note, how far it was moved, in ticks.
    pub errors: Vec<f64>,
    /// The grid taken for each beat in which notes start: (bar, beat) and the number of parts.
    pub grids: BTreeMap<(usize, usize), i64>,
}

/// A division of the beat and what it costs: one for each halving, more for three, five, seven …
/// The odd parts are constants of ours: a triplet costs as much as two and a half halvings.
pub(super) const DIVISIONS: [(i64, f64); 31] = [
    (1, 0.0),
    (2, 1.0),
    (4, 2.0),
    (3, 2.5),
    (8, 3.0),
    (6, 3.5),
    (16, 4.0),
    (12, 4.5),
    (5, 5.0),
    (32, 5.0),
    (24, 5.5),
    (7, 5.5),
    (10, 6.0),
    (64, 6.0),
    (9, 6.5),
    (48, 6.5),
    (14, 6.5),
    (20, 7.0),
    (28, 7.5),
    (18, 7.5),
    (11, 8.0),
    (13, 8.0),
    (15, 8.0),
    (40, 8.0),
    (36, 8.5),
    (22, 9.0),
    (26, 9.0),
    (30, 9.0),
    (56, 9.0),
    (21, 9.5),
    (60, 10.0),
];

/// Played onsets are not put on grids finer than this: nobody plays septuplets by accident.
const PLAYED_DIVISIONS: usize = 6;

/// The beat in which the grid is sought: three units of a compound metre, else one unit, at most a quarter note.
pub(super) fn beat_of(bar: &GridBar) -> Quarters {
    let unit = Rational::new(4, i64::from(bar.metre.beat_type));
    if is_compound(bar.metre.beats, bar.metre.beat_type) {
        unit * Rational::whole(3)
    } else {
        unit.min(Quarters::ONE)
    }
}

pub(super) fn is_compound(beats: u8, beat_type: u16) -> bool {
    beats > 3 && beats.is_multiple_of(3) && beat_type >= 8
}

/// How far into the metre a bar starts: a short first bar is the end of one.
pub(super) fn lead(bars: &[GridBar], bar: usize) -> Quarters {
    match bars.get(bar) {
        Some(first) if bar == 0 && first.is_short() => first.full() - first.length,
        _ => Quarters::ZERO,
    }
}

/// Looks at all onsets of a file.
pub(super) fn precision(notes: &[Note], bars: &[GridBar], clock: Clock) -> Precision {
    let tick = (Rational::ONE / clock.per_quarter).to_f64();
    let mut on_grid = 0_usize;
    let mut away: Vec<f64> = Vec::with_capacity(notes.len());
    for note in notes {
        let at = in_bar(note.on, bars, clock);
        let off_by = |parts: i64| {
            let scaled = at * Rational::whole(parts);
            let nearest = Rational::whole((scaled + Rational::new(1, 2)).floor());
            ((scaled - nearest) / Rational::whole(parts)).abs().to_f64()
        };
        // As finely as the ticks can still tell a subdivision from anything else.
        let fine = |parts: i64| Rational::whole(parts * 24) <= clock.per_quarter || parts <= 4 || parts == 8;
        let exact = DIVISIONS
            .iter()
            .filter(|(parts, _)| *parts <= 20 && (fine(*parts) || *parts == 12 || *parts == 6))
            .any(|(parts, _)| off_by(*parts) <= 0.6 * tick);
        on_grid += usize::from(exact);
        away.push(off_by(4).min(off_by(3)));
    }
    let exact = on_grid * 20 >= notes.len() * 17;
    away.sort_by(f64::total_cmp);
    let median = away.get(away.len() / 2).copied().unwrap_or_default();
    // 1.4826 medians of the absolute deviation are a standard deviation of a normal distribution.
    let spread = if exact {
        0.5 * tick
    } else {
        (1.4826 * median).clamp(0.02, 0.06)
    };
    Precision { exact, spread }
}

/// Quarter notes from the start of the bar in which a tick falls.
fn in_bar(tick: u64, bars: &[GridBar], clock: Clock) -> Quarters {
    let bar = super::bars::bar_of(bars, tick);
    let start = bars.get(bar).map_or(0, |bar| bar.tick);
    clock.quarters(tick.saturating_sub(start))
}

/// Puts the onsets of one part's notes, in order of time, on the grid.
pub(super) fn onsets(notes: &[Note], bars: &[GridBar], clock: Clock, precision: Precision) -> Onsets {
    let mut result = Onsets::default();
    let together = if precision.exact {
        1
    } else {
        clock.ticks(Rational::new(1, 20)).max(1)
    };
    let groups: Vec<&[Note]> = groups(notes, together);
    let mut next = 0;
    while let Some(first) = groups.get(next) {
        let (bar, beat) = cell(mean(first), bars, clock);
        let mut until = next + 1;
        while groups
            .get(until)
            .is_some_and(|group| cell(mean(group), bars, clock) == (bar, beat))
        {
            until += 1;
        }
        let beats = groups.get(next..until).unwrap_or_default();
        one_beat(beats, (bar, beat), bars, clock, precision, &mut result);
        next = until;
    }
    result
}

/// Notes struck so close together that they are one chord.
fn groups(notes: &[Note], together: u64) -> Vec<&[Note]> {
    let mut groups = Vec::new();
    let mut rest = notes;
    while let Some(first) = rest.first() {
        let count = rest
            .iter()
            .take_while(|note| note.on - first.on <= together)
            .count();
        let (group, after) = rest.split_at(count);
        groups.push(group);
        rest = after;
    }
    groups
}

fn mean(group: &[Note]) -> u64 {
    let sum: u64 = group.iter().map(|note| note.on / 4).sum();
    match group {
        [first, .., last] if first.on != last.on => sum * 4 / (group.len() as u64),
        [first, ..] => first.on,
        [] => 0,
    }
}

/// The bar and the beat in it.
fn cell(tick: u64, bars: &[GridBar], clock: Clock) -> (usize, usize) {
    let bar = super::bars::bar_of(bars, tick);
    let Some(of) = bars.get(bar) else { return (0, 0) };
    let offset = clock.quarters(tick.saturating_sub(of.tick)) + lead(bars, bar);
    let beat = (offset / beat_of(of)).floor();
    (bar, usize::try_from(beat).unwrap_or(0))
}

fn one_beat(
    groups: &[&[Note]],
    (bar, beat): (usize, usize),
    bars: &[GridBar],
    clock: Clock,
    precision: Precision,
    result: &mut Onsets,
) {
    let Some(of) = bars.get(bar) else { return };
    let length = beat_of(of);
    let from = length * Rational::whole(i64::try_from(beat).unwrap_or(0)) - lead(bars, bar);
    let played: Vec<Rational> = groups
        .iter()
        .map(|group| (clock.quarters(mean(group).saturating_sub(of.tick)) - from) / length)
        .collect();
    let compound = is_compound(of.metre.beats, of.metre.beat_type);
    let tick = (Rational::ONE / clock.per_quarter / length).to_f64();
    let spread = precision.spread / length.to_f64();
    let parts = best(&played, compound, precision.exact, spread, tick);
    result.grids.insert((bar, beat), parts);
    let last_bar = bar + 1 == bars.len();
    for (group, at) in groups.iter().zip(&played) {
        let step = length / Rational::whole(parts);
        let mut offset = from + step * Rational::whole(nearest(*at, parts));
        if offset.is_negative() {
            offset = Quarters::ZERO;
        }
        if offset >= of.length {
            // Nothing starts on the last bar line; elsewhere that is the next bar.
            offset = if last_bar {
                (of.length - step).max(Quarters::ZERO)
            } else {
                of.length
            };
        }
        let written_tick = of.tick + clock.ticks(offset);
        for note in *group {
            result.starts.push(of.start + offset);
            result.errors.push(difference(note.on, written_tick));
        }
    }
}

pub(super) fn difference(a: u64, b: u64) -> f64 {
    f64::from(u32::try_from(a.abs_diff(b)).unwrap_or(u32::MAX))
}

/// The nearest of so many parts of a beat to a place in it.
fn nearest(at: Rational, parts: i64) -> i64 {
    (at * Rational::whole(parts) + Rational::new(1, 2)).floor()
}

/// The number of parts of the beat that makes the onsets most probable.
fn best(played: &[Rational], compound: bool, exact: bool, spread: f64, tick: f64) -> i64 {
    let tolerance = if exact { 0.5 * tick } else { 0.0 };
    let count = if exact { DIVISIONS.len() } else { PLAYED_DIVISIONS };
    let mut best = (1, f64::INFINITY);
    for (parts, cost) in DIVISIONS.iter().take(count) {
        // A compound beat has three parts by nature, and two parts of it are the odd ones.
        let cost = match (compound, parts % 3 == 0) {
            (true, true) => cost - 1.5,
            (true, false) if *parts > 1 => cost + 1.5,
            _ => *cost,
        };
        let mut sum = cost;
        let mut before = None;
        for at in played {
            let k = nearest(*at, *parts);
            let error = (*at - Rational::new(k, *parts)).abs().to_f64();
            let error = (error - tolerance).max(0.0) / spread;
            sum += 0.5 * error * error;
            if before.replace(k) == Some(k) {
                // Two onsets that were heard apart would fall together.
                sum += if exact { 50.0 } else { 6.0 };
            }
            if sum >= best.1 {
                break;
            }
        }
        if sum < best.1 {
            best = (*parts, sum);
        }
    }
    best.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn division(played: &[(i64, i64)], exact: bool, spread: f64) -> i64 {
        let played: Vec<Rational> = played.iter().map(|(n, d)| Rational::new(*n, *d)).collect();
        best(&played, false, exact, spread, 1.0 / 480.0)
    }

    #[test]
    fn exact_onsets_keep_their_grid() {
        let exact = |played: &[(i64, i64)]| division(played, true, 0.5 / 480.0);
        assert_eq!(exact(&[(0, 1)]), 1);
        assert_eq!(exact(&[(0, 1), (240, 480)]), 2);
        assert_eq!(exact(&[(160, 480), (320, 480)]), 3);
        assert_eq!(exact(&[(30, 480)]), 16);
        // A septuplet rounded to ticks: 480/7 is 68.57.
        assert_eq!(exact(&[(0, 480), (69, 480), (137, 480), (206, 480)]), 7);
        assert_eq!(exact(&[(96, 480), (360, 480)]), 20);
    }

    #[test]
    fn played_onsets_take_the_simplest_grid_near_them() {
        let played = |played: &[(i64, i64)]| division(played, false, 0.03);
        assert_eq!(played(&[(2, 100), (47, 100)]), 2);
        assert_eq!(played(&[(1, 100), (35, 100), (68, 100)]), 3);
        assert_eq!(played(&[(0, 100), (26, 100), (52, 100), (73, 100)]), 4);
        assert_eq!(played(&[(0, 100), (77, 100)]), 4);
    }
}

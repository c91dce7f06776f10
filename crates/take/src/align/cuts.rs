//! Where do tones begin and end beside the onsets? Where voice begins and ends, the level dips or falls, the pitch changes.

use super::segments::{Cut, STEP};
use crate::Track;

/// A dip of the level is looked for over so many seconds on each side, and is one from so many decibels on.
const DIP_REACH: f64 = 0.08;
const SHALLOWEST: f64 = 1.8;
/// A dip counts so much of an attack for each decibel, and no more than this.
const DIP_ATTACK: f64 = 0.06;
const MOST_DIP_ATTACK: f64 = 0.4;
/// The pitch before and after a moment is looked at over so many seconds.
const LOOK: f64 = 0.035;

/// Where voice begins and ends and the pitch changes.
pub(super) fn own_cuts(track: &Track, voiced: &[bool]) -> Vec<Cut> {
    let mut cuts = Vec::new();
    let mut push = |secs: f64, attack: f64, ends: bool| {
        cuts.push(Cut {
            secs,
            attack,
            onset: attack,
            ends,
            struck: false,
        })
    };
    for (n, pair) in voiced.windows(2).enumerate() {
        let (Some(before), Some(after)) = (pair.first(), pair.last()) else {
            continue;
        };
        if before != after
            && let Some(frame) = track.frames.get(n + 1)
        {
            push(frame.secs, if *after { 0.4 } else { 0.0 }, !after);
        }
    }
    for (secs, depth) in dips(track, voiced) {
        push(secs, (depth * DIP_ATTACK).min(MOST_DIP_ATTACK), false);
    }
    for secs in pitch_changes(track) {
        push(secs, 0.0, false);
    }
    for secs in falls(track, voiced) {
        push(secs, 0.0, true);
    }
    cuts
}

/// A tone that stops in a room falls by so many decibels in so many seconds, before it rings on.
const FALL_DB: f64 = 7.0;
const FALL_SECS: f64 = 0.05;

/// Where the level of a sounding tone falls and the pitch rings on: the middle of the fall.
fn falls(track: &Track, voiced: &[bool]) -> Vec<f64> {
    let reach = crate::numbers::count(FALL_SECS / track.hop_secs.max(1e-4)).max(2);
    let level = |n: usize| {
        track
            .frames
            .get(n)
            .map_or(-120.0, |frame| f64::from(frame.level_db))
    };
    let mut found = Vec::new();
    // The steepest place of the fall that is going on: how steep, where.
    let mut steepest: Option<(f64, usize)> = None;
    for n in reach..track.frames.len().saturating_sub(reach) {
        let fall = level(n - reach / 2) - level(n + reach - reach / 2);
        let rings_on = voiced.get(n + reach) == Some(&true);
        if fall >= FALL_DB && rings_on {
            if steepest.is_none_or(|(most, _)| fall > most) {
                steepest = Some((fall, n));
            }
        } else if let Some((_, at)) = steepest.take()
            && let Some(frame) = track.frames.get(at)
        {
            found.push(frame.secs);
        }
    }
    found
}

/// Where the level of a sounding tone dips and rises again: a note of the same pitch tongued in an echoing room. The middle between
/// the beginning of the dip and its ground, and its depth in decibels.
fn dips(track: &Track, voiced: &[bool]) -> Vec<(f64, f64)> {
    let hop = track.hop_secs.max(1e-4);
    let reach = crate::numbers::count(DIP_REACH / hop).max(3);
    let levels: Vec<f64> = (0..track.frames.len())
        .map(|n| {
            let around = track
                .frames
                .get(n.saturating_sub(2)..(n + 3).min(track.frames.len()))
                .unwrap_or(&[]);
            super::median(
                &mut around
                    .iter()
                    .map(|frame| f64::from(frame.level_db))
                    .collect::<Vec<_>>(),
            )
            .unwrap_or(0.0)
        })
        .collect();
    let highest = |from: usize, to: usize| {
        levels
            .get(from..to)
            .unwrap_or(&[])
            .iter()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let lowest = |from: usize, to: usize| {
        levels
            .get(from..to)
            .unwrap_or(&[])
            .iter()
            .copied()
            .fold(f64::INFINITY, f64::min)
    };
    let mut found: Vec<(f64, f64)> = Vec::new();
    for n in reach..levels.len().saturating_sub(reach) {
        let (Some(level), Some(true)) = (levels.get(n).copied(), voiced.get(n).copied()) else {
            continue;
        };
        if level > lowest(n - reach, n) || level >= lowest(n + 1, n + reach) {
            continue;
        }
        let before = highest(n - reach, n);
        let depth = (before - level).min(highest(n + 1, n + reach) - level);
        if depth < SHALLOWEST {
            continue;
        }
        let falls = (n - reach..n)
            .rev()
            .find(|at| levels.get(*at).is_some_and(|other| *other > before - 1.0))
            .unwrap_or(n);
        if let (Some(from), Some(to)) = (track.frames.get(falls), track.frames.get(n)) {
            found.push((f64::midpoint(from.secs, to.secs), depth));
        }
    }
    found
}

/// The moments at which the pitch before and after differ most.
fn pitch_changes(track: &Track) -> Vec<f64> {
    let look = crate::numbers::count(LOOK / track.hop_secs.max(1e-4)).max(2);
    let keys: Vec<Option<f64>> = track.frames.iter().map(|frame| frame.key).collect();
    let differs: Vec<f64> = (0..keys.len())
        .map(|n| {
            let before = middle(&keys, n.saturating_sub(look), n);
            let after = middle(&keys, n, (n + look).min(keys.len()));
            match (before, after) {
                (Some(before), Some(after)) => (after - before).abs(),
                _ => 0.0,
            }
        })
        .collect();
    let mut changes = Vec::new();
    let mut n = 0;
    while n < differs.len() {
        if differs.get(n).is_none_or(|differs| *differs < STEP) {
            n += 1;
            continue;
        }
        let run = differs
            .iter()
            .skip(n)
            .take_while(|differs| **differs >= STEP)
            .count();
        // In the middle of where it differs most; one run may hold a turn of several notes.
        let mut peak: Option<(usize, usize, f64)> = None;
        for (at, value) in differs.iter().enumerate().skip(n).take(run) {
            match peak {
                Some((from, to, best)) if (value - best).abs() < 0.1 && at == to + 1 => {
                    peak = Some((from, at, best.max(*value)))
                }
                Some((_, _, best)) if *value > best => peak = Some((at, at, *value)),
                Some((from, to, best)) if *value < best * 0.5 || at > to + look => {
                    push_middle(track, from, to, &mut changes);
                    peak = None;
                    let _ = best;
                }
                Some(_) => {}
                None => peak = Some((at, at, *value)),
            }
        }
        if let Some((from, to, _)) = peak {
            push_middle(track, from, to, &mut changes);
        }
        n += run;
    }
    changes
}

fn push_middle(track: &Track, from: usize, to: usize, changes: &mut Vec<f64>) {
    let secs = |n: usize| track.frames.get(n).map(|frame| frame.secs);
    if let (Some(from), Some(to)) = (secs(from), secs(to)) {
        changes.push((from + to) / 2.0);
    }
}

fn middle(keys: &[Option<f64>], from: usize, to: usize) -> Option<f64> {
    let mut some: Vec<f64> = keys.get(from..to)?.iter().flatten().copied().collect();
    if some.is_empty() {
        return None;
    }
    some.sort_unstable_by(f64::total_cmp);
    some.get(some.len() / 2).copied()
}

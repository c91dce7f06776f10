//! Where does the pitch step to another? The followed pitch as a row of steady tones, whatever trembles on them.
//!
//! Source: the idea of a model of notes over the pitch track, Mauch et al. 2015, Computer-aided melody note transcription
//! (TENOR), section 3; here as the cheapest row of steps, found by dynamic programming.

use crate::numbers::{count, real};
use crate::track::Frame;

/// A steady tone: its frames, from one up to but without another, and its key number.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Step {
    pub from: usize,
    pub to: usize,
    pub key: f64,
    /// It follows the step before it without a gap.
    pub joined: bool,
}

/// Grid lines to a semitone.
const FINE: f64 = 4.0;
/// Steps are at least so many grid lines: three quarters of a semitone. Less is intonation.
const LEAST: usize = 3;
/// Semitones by which pitch usually strays from its step.
const STRAY: f64 = 0.35;
/// A frame tells at most so much against a step, in nats: one bad frame is no evidence.
const MOST: f64 = 3.0;
/// What a new step costs, in nats: four frames that are plainly elsewhere (20 ms).
const NEW: f64 = 12.0;
/// A gap of so many seconds ends a step.
const GAP_SECS: f64 = 0.06;
/// Stretches are cut here, so that memory stays small however long somebody plays without a breath.
const LONGEST: usize = 12_000;

/// The steps of a track, in order.
pub(super) fn steps(frames: &[Frame], hop_secs: f64) -> Vec<Step> {
    let gap = count(GAP_SECS / hop_secs.max(1e-4)).max(1);
    let mut steps = Vec::new();
    let mut at = 0;
    while let Some(from) = (at..frames.len()).find(|n| pitched(frames, *n)) {
        let to = end_of_stretch(frames, from, gap);
        let first = steps.len();
        steps.extend(in_stretch(frames, from, to));
        if let Some(step) = steps.get_mut(first) {
            step.joined = at == from && from > 0;
        }
        at = to;
    }
    steps
}

fn pitched(frames: &[Frame], n: usize) -> bool {
    frames.get(n).is_some_and(|frame| frame.key.is_some())
}

/// One past the last pitched frame before a gap.
fn end_of_stretch(frames: &[Frame], from: usize, gap: usize) -> usize {
    let mut last = from;
    for n in from..frames.len().min(from + LONGEST) {
        if pitched(frames, n) {
            last = n;
        } else if n - last >= gap {
            break;
        }
    }
    last + 1
}

/// The cheapest row of steps for a stretch.
fn in_stretch(frames: &[Frame], from: usize, to: usize) -> Vec<Step> {
    let stretch = frames.get(from..to).unwrap_or(&[]);
    let keys = || stretch.iter().filter_map(|frame| frame.key);
    let lowest = keys().fold(f64::INFINITY, f64::min) - 0.5;
    let lines = count((keys().fold(f64::NEG_INFINITY, f64::max) + 0.5 - lowest) * FINE) + 1;
    let mut costs = vec![0.0_f64; lines];
    // For each frame and grid line: the line come from, plus one; 0 for the same.
    let mut back: Vec<u16> = Vec::with_capacity(lines * stretch.len());
    for (n, frame) in stretch.iter().enumerate() {
        let (low, high) = (cheapest_up_to(&costs), cheapest_down_to(&costs));
        let old = costs.clone();
        for (line, cost) in costs.iter_mut().enumerate() {
            let below = line.checked_sub(LEAST).and_then(|line| low.get(line).copied());
            let above = high.get(line + LEAST).copied();
            let leap = below.into_iter().chain(above).min_by(|a, b| a.0.total_cmp(&b.0));
            let stay = old.get(line).copied().unwrap_or(f64::INFINITY);
            let (best, come) = match leap {
                Some((leap, come)) if n > 0 && leap + NEW < stay => {
                    (leap + NEW, u16::try_from(come + 1).unwrap_or(0))
                }
                _ => (stay, 0),
            };
            *cost = best
                + frame
                    .key
                    .map_or(0.0, |key| stray(key - lowest - real(line) / FINE));
            back.push(come);
        }
    }
    let end = (0..lines)
        .min_by(|a, b| cost_at(&costs, *a).total_cmp(&cost_at(&costs, *b)))
        .unwrap_or(0);
    traced(frames, (from, to), lines, &back, end)
}

fn cost_at(costs: &[f64], line: usize) -> f64 {
    costs.get(line).copied().unwrap_or(f64::INFINITY)
}

fn stray(semitones: f64) -> f64 {
    (0.5 * (semitones / STRAY).powi(2)).min(MOST)
}

/// For each line the cheapest at or below it, and which that is.
fn cheapest_up_to(costs: &[f64]) -> Vec<(f64, usize)> {
    let mut best = (f64::INFINITY, 0);
    let running = costs.iter().enumerate().map(|(line, cost)| {
        if *cost < best.0 {
            best = (*cost, line);
        }
        best
    });
    running.collect()
}

/// For each line the cheapest at or above it, and which that is.
fn cheapest_down_to(costs: &[f64]) -> Vec<(f64, usize)> {
    let mut best = (f64::INFINITY, 0);
    let running = costs.iter().enumerate().rev().map(|(line, cost)| {
        if *cost < best.0 {
            best = (*cost, line);
        }
        best
    });
    let mut all: Vec<_> = running.collect();
    all.reverse();
    all
}

/// The steps that the way back through the grid shows.
fn traced(frames: &[Frame], (from, to): (usize, usize), lines: usize, back: &[u16], end: usize) -> Vec<Step> {
    let mut steps = Vec::new();
    let (mut line, mut until) = (end, to);
    for n in (from..to).rev() {
        let come = back.get((n - from) * lines + line).copied().unwrap_or(0);
        if come > 0 || n == from {
            steps.push(Step {
                from: n,
                to: until,
                key: middle(frames, n, until),
                joined: n > from,
            });
            until = n;
        }
        if come > 0 {
            line = usize::from(come) - 1;
        }
    }
    steps.reverse();
    steps
}

/// The median of the keys in the frames from one to another, their first and last sixth left out; 0 without any.
pub(super) fn middle(frames: &[Frame], from: usize, to: usize) -> f64 {
    let edge = (to - from) / 6;
    let inner = frames.get(from + edge..to - edge).unwrap_or(&[]);
    let mut keys: Vec<f64> = inner.iter().filter_map(|frame| frame.key).collect();
    if keys.is_empty() {
        keys = frames
            .get(from..to)
            .unwrap_or(&[])
            .iter()
            .filter_map(|frame| frame.key)
            .collect();
    }
    keys.sort_by(f64::total_cmp);
    keys.get(keys.len() / 2).copied().unwrap_or(0.0)
}

/// How one tone goes over into the next.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Change {
    pub secs: f64,
    /// Silence lies between them; then the new tone begins when it is first heard.
    pub rest: bool,
}

/// In a rest the level falls by so many decibels; under a slur the pitch may be lost for an instant, but not the sound.
const REST_DB: f32 = 10.0;

/// When the pitch is half way from one step to the next: between the last frame nearer to the old and the first nearer to the
/// new.
pub(super) fn change(frames: &[Frame], hop_secs: f64, before: &Step, step: &Step) -> Change {
    let nearer = |n: usize| {
        let key = frames.get(n).and_then(|frame| frame.key)?;
        Some((key - step.key).abs() < (key - before.key).abs())
    };
    let at = |n: usize| frames.get(n).copied().unwrap_or_default();
    let first = (step.from.saturating_sub(8)..step.to)
        .find(|n| nearer(*n) == Some(true))
        .unwrap_or(step.from);
    let last = (before.from..first)
        .rev()
        .find(|n| nearer(*n) == Some(false))
        .unwrap_or(first);
    let softest = (last..=first).map(|n| at(n).level_db).fold(0.0, f32::min);
    let around = |n: usize| {
        at(n)
            .level_db
            .max(at(n.saturating_sub(4)).level_db)
            .max(at(n + 4).level_db)
    };
    let silent = around(last).min(around(first)) - softest > REST_DB;
    if at(first).secs - at(last).secs > 2.5 * hop_secs && silent {
        return Change {
            secs: at(first).secs,
            rest: true,
        };
    }
    Change {
        secs: 0.5 * (at(first).secs + at(last).secs),
        rest: false,
    }
}

//! How fast did the player go, moment by moment? Seconds taken for each of the model's, from the notes that were found.

use super::{Alignment, Was};
use crate::expected::Expected;

/// The pulse at a time.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct PulsePoint {
    /// When, in seconds of the recording.
    pub secs: f64,
    /// Seconds taken for each of the model's: above 1 is slower.
    pub pace: f64,
}

/// The pulse and its middle.
pub(super) struct Followed {
    pub points: Vec<PulsePoint>,
    pub pace: f64,
}

/// Pieces of so many notes on each side give the pulse at a note.
const AROUND: usize = 6;
/// The slowest and the fastest pace believed.
const PACES: (f64, f64) = (0.2, 5.0);

/// The pulse at each note found: the middle of the paces between pairs of notes around it, longer pairs counting more.
pub(super) fn followed(line: &[Expected], alignment: &Alignment) -> Followed {
    let mut points: Vec<PulsePoint> = Vec::new();
    let mut all: Vec<(f64, f64)> = Vec::new();
    for run in runs(line, alignment) {
        let paces: Vec<(f64, f64)> = run
            .windows(2)
            .map(|pair| match pair {
                [(secs, model, free), (next_secs, next_model, _)] if !free && next_model > model => {
                    ((next_secs - secs) / (next_model - model), next_model - model)
                }
                _ => (0.0, 0.0),
            })
            .collect();
        all.extend(paces.iter().filter(|(pace, weight)| *weight > 0.0 && *pace > 0.0));
        for (n, (secs, _, _)) in run.iter().enumerate() {
            let from = n.saturating_sub(AROUND);
            let near = paces.get(from..(n + AROUND).min(paces.len())).unwrap_or(&[]);
            if near.len() >= 3
                && let Some(pace) = weighted_middle(near)
            {
                points.push(PulsePoint {
                    secs: *secs,
                    pace: pace.clamp(PACES.0, PACES.1),
                });
            }
        }
    }
    let pace = weighted_middle(&all).unwrap_or(1.0).clamp(PACES.0, PACES.1);
    Followed { points, pace }
}

/// Notes that follow each other without a jump: when they began, when the model has them, and whether their length is free.
pub(crate) fn runs(line: &[Expected], alignment: &Alignment) -> Vec<Vec<(f64, f64, bool)>> {
    let mut runs: Vec<Vec<(f64, f64, bool)>> = vec![Vec::new()];
    let mut jumps = alignment.jumps.iter().peekable();
    for (index, note) in alignment.sounded.iter().enumerate() {
        while jumps.peek().is_some_and(|jump| jump.sounded <= index) {
            jumps.next();
            runs.push(Vec::new());
        }
        let keeps_time = matches!(note.was, Was::Right | Was::Wrong);
        if let Some(expected) = line.get(note.expected).filter(|_| keeps_time)
            && let Some(run) = runs.last_mut()
        {
            run.push((note.onset_secs, expected.secs, expected.free));
        }
    }
    runs.retain(|run| !run.is_empty());
    runs
}

/// The value at which half of the weight lies on either side.
pub(crate) fn weighted_middle(values: &[(f64, f64)]) -> Option<f64> {
    let mut sorted: Vec<(f64, f64)> = values
        .iter()
        .copied()
        .filter(|(value, weight)| value.is_finite() && *weight > 0.0)
        .collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half = sorted.iter().map(|(_, weight)| weight).sum::<f64>() / 2.0;
    let mut so_far = 0.0;
    for (value, weight) in &sorted {
        so_far += weight;
        if so_far >= half {
            return Some(*value);
        }
    }
    sorted.last().map(|(value, _)| *value)
}

/// The middle of some values.
pub(crate) fn median(values: &mut [f64]) -> Option<f64> {
    values.sort_unstable_by(f64::total_cmp);
    match values.len() {
        0 => None,
        count if count % 2 == 1 => values.get(count / 2).copied(),
        count => Some((values.get(count / 2 - 1)? + values.get(count / 2)?) / 2.0),
    }
}

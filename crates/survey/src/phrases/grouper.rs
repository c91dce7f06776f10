//! Which division has gaps at its boundaries, phrases of a usual length, and boundaries at the same place of the bar?
//!
//! Source: D. Temperley, The Cognition of Basic Musical Structures (2001), chapter 3, with the numbers of its published
//! program (Sleator & Temperley 2000): gap weight 500, length weight 600, ten notes as the best length, phase penalty
//! 150 and 300; the score of a phrase grows with the square root of its notes.
//!
//! DIFFERENCE: the metrical levels are the written bar and its half, not levels inferred from the notes; the mean time
//! between onsets is taken over all notes so far (the program divides before it adds one).

use super::notes::Notes;
use notation::Quarters;

const GAP: f64 = 500.0;
const LENGTH: f64 = 600.0;
const BEST_LENGTH: f64 = 10.0;
const OTHER_HALF: f64 = 150.0;
const OTHER_PHASE: f64 = 300.0;
/// Phrases have fewer notes than this.
const LONGEST: usize = 20;

/// For each note, whether a phrase begins at it; true for the first.
#[must_use]
pub fn begins(notes: &Notes) -> Vec<bool> {
    let n = notes.len();
    let gaps: Vec<f64> = (0..=n).map(|at| gap(notes, at)).collect();
    let lengths: Vec<f64> = (0..LONGEST)
        .map(|i| LENGTH * (super::count(i.max(1)) / BEST_LENGTH).log2().abs())
        .collect();
    let mut best = vec![0.0; n + 1];
    let mut back = vec![0; n + 1];
    for end in 1..=n {
        let mut top = f64::NEG_INFINITY;
        for length in 1..LONGEST.min(end + 1) {
            let start = end - length;
            let at = |list: &[f64], index: usize| list.get(index).copied().unwrap_or(0.0);
            let worth = f64::midpoint(at(&gaps, start), at(&gaps, end))
                - at(&lengths, length)
                - phase(notes, start, end);
            let score = at(&best, start) + worth * super::count(length).sqrt();
            if score > top {
                top = score;
                if let (Some(best), Some(back)) = (best.get_mut(end), back.get_mut(end)) {
                    (*best, *back) = (score, start);
                }
            }
        }
    }
    let mut begins = vec![false; n];
    let mut at = n;
    while at > 0 {
        at = back.get(at).copied().unwrap_or(0);
        if let Some(slot) = begins.get_mut(at) {
            *slot = true;
        }
    }
    begins
}

/// Worth of the gap before a note: onset to onset and end to onset, over the mean so far.
fn gap(notes: &Notes, at: usize) -> f64 {
    if at == 0 || at >= notes.len() {
        return 0.0;
    }
    let mean = notes.mean_ioi(0, at);
    if mean > 0.0 {
        GAP * (notes.ioi(at - 1) + notes.gap(at)) / mean
    } else {
        0.0
    }
}

/// What it costs that two boundaries stand at different places of the bar.
fn phase(notes: &Notes, start: usize, end: usize) -> f64 {
    match (notes.line.get(start), notes.line.get(end)) {
        (Some(from), Some(to)) if from.bar.is_positive() => {
            let half = from.bar * Quarters::new(1, 2);
            if from.phase == to.phase {
                0.0
            } else if from.phase.modulo(half) == to.phase.modulo(half) {
                OTHER_HALF
            } else {
                OTHER_PHASE
            }
        }
        _ => 0.0,
    }
}

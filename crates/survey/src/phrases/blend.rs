//! Which division of the whole line is most probable? Rows and stretches weighed together, over all divisions at once.
//!
//! A semi-Markov model: the worth of a division is the sum of the worths of its boundaries (a row times its weights) and
//! of its stretches (four cells); the certainty of a boundary is the share of all divisions, by worth, that have it.
//! The weights were learnt; `FIT.md` beside this file says on what, and how well they do.

use super::features::{self, LONGEST, Rows};
use super::notes::Notes;
use super::page::Signs;
use super::weights::{BY_BARS, BY_NOTES, BY_PHASE, BY_RHYTHM, ROW};

/// What the page's own signs weigh, in logs: ours, since the tunes that taught the rest have none.
const BREATH_MARK: f64 = 12.0;
const FERMATA: f64 = 4.0;
const SECTION: f64 = 6.0;
const INSIDE_SLUR: f64 = -9.0;
const SLUR_ENDS: f64 = 0.7;

/// For each note the probability that a phrase begins there; 1 for the first.
#[must_use]
pub fn certainties(notes: &Notes, rows: &Rows, signs: &[Signs]) -> Vec<f64> {
    let n = notes.len();
    if n == 0 {
        return Vec::new();
    }
    let unary = unary(rows, signs);
    let mut stretches: Vec<[f64; LONGEST]> = Vec::with_capacity(n);
    for end in 1..=n {
        let mut worth = [f64::NEG_INFINITY; LONGEST];
        for (back, slot) in worth.iter_mut().enumerate().take(end) {
            *slot = stretch(features::cells(notes, end - back - 1, end));
        }
        stretches.push(worth);
    }
    let at = |list: &[f64], index: usize| list.get(index).copied().unwrap_or(f64::NEG_INFINITY);
    let mut forward = vec![f64::NEG_INFINITY; n + 1];
    if let Some(first) = forward.first_mut() {
        *first = 0.0;
    }
    for end in 1..=n {
        let worths = stretches.get(end - 1);
        let ways = worths.into_iter().flatten().take(end).enumerate();
        let sum = log_sum(ways.map(|(back, worth)| at(&forward, end - back - 1) + worth));
        if let Some(slot) = forward.get_mut(end) {
            *slot = sum + if end < n { at(&unary, end) } else { 0.0 };
        }
    }
    let mut backward = vec![f64::NEG_INFINITY; n + 1];
    if let Some(last) = backward.last_mut() {
        *last = 0.0;
    }
    for start in (0..n).rev() {
        let ways = (start + 1..=n.min(start + LONGEST)).map(|end| {
            let worth = stretches
                .get(end - 1)
                .and_then(|worths| worths.get(end - start - 1))
                .copied()
                .unwrap_or(f64::NEG_INFINITY);
            worth + at(&backward, end) + if end < n { at(&unary, end) } else { 0.0 }
        });
        let sum = log_sum(ways);
        if let Some(slot) = backward.get_mut(start) {
            *slot = sum;
        }
    }
    let whole = at(&forward, n);
    let mut certain: Vec<f64> = (0..n)
        .map(|note| {
            (at(&forward, note) + at(&backward, note) - whole)
                .exp()
                .clamp(0.0, 1.0)
        })
        .collect();
    if let Some(first) = certain.first_mut() {
        *first = 1.0;
    }
    certain
}

/// The worth of a boundary before each note.
fn unary(rows: &Rows, signs: &[Signs]) -> Vec<f64> {
    rows.rows
        .iter()
        .zip(signs)
        .map(|(row, signs)| {
            let learnt: f64 = row.iter().zip(ROW).map(|(value, weight)| value * weight).sum();
            let says = |holds: bool, weight: f64| if holds { weight } else { 0.0 };
            learnt
                + says(signs.breath_mark, BREATH_MARK)
                + says(signs.fermata, FERMATA)
                + says(signs.section, SECTION)
                + says(signs.inside_slur, INSIDE_SLUR)
                + says(signs.slur_ends, SLUR_ENDS)
        })
        .collect()
}

fn stretch([bars, notes, phase, rhythm]: [usize; 4]) -> f64 {
    let of = |table: &[f64], cell: usize| table.get(cell).copied().unwrap_or(0.0);
    of(&BY_BARS, bars) + of(&BY_NOTES, notes) + of(&BY_PHASE, phase) + of(&BY_RHYTHM, rhythm)
}

/// The worth of one division, given by where its phrases begin: the plain sum, for tests.
#[cfg(test)]
pub(super) fn worth(notes: &Notes, rows: &Rows, signs: &[Signs], starts: &[usize]) -> f64 {
    let unary = unary(rows, signs);
    let ends = starts.iter().copied().skip(1).chain([notes.len()]);
    let stretches: f64 = starts
        .iter()
        .zip(ends)
        .map(|(start, end)| stretch(features::cells(notes, *start, end)))
        .sum();
    stretches + starts.iter().skip(1).map(|start| unary[*start]).sum::<f64>()
}

/// The logarithm of a sum of exponentials.
fn log_sum(terms: impl Iterator<Item = f64> + Clone) -> f64 {
    let most = terms.clone().fold(f64::NEG_INFINITY, f64::max);
    if most == f64::NEG_INFINITY {
        return most;
    }
    most + terms.map(|term| (term - most).exp()).sum::<f64>().ln()
}

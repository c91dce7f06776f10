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
///
/// Forwards and backwards sums over all divisions. They would leave the range of numbers, so each is kept beside its
/// neighbours' and its logarithm apart.
#[must_use]
pub fn certainties(notes: &Notes, rows: &Rows, signs: &[Signs]) -> Vec<f64> {
    let n = notes.len();
    if n == 0 {
        return Vec::new();
    }
    let mut unary = unary(rows, signs);
    // The end of the line is no boundary that anything speaks for or against.
    unary.push(0.0);
    let ways = Ways::of(notes);
    let forward = sums(
        n,
        |end| unary.get(end).copied().unwrap_or(0.0),
        |end, back| ways.at(end, back),
    );
    // Backwards the same over the mirrored line; what speaks for a boundary is counted once, forwards.
    let mirrored = sums(
        n,
        |_| 0.0,
        |mirror, back| {
            let end = n - mirror + back;
            ways.at(end, back) * unary.get(end).copied().unwrap_or(0.0).exp()
        },
    );
    let whole = forward.last().copied().unwrap_or(0.0);
    let mut certain: Vec<f64> = forward
        .iter()
        .zip(mirrored.iter().rev())
        .take(n)
        .map(|(before, after)| (before + after - whole).exp().clamp(0.0, 1.0))
        .collect();
    if let Some(first) = certain.first_mut() {
        *first = 1.0;
    }
    certain
}

/// Logarithms of the sums over all divisions up to each place: the sum over the last stretch of what it is worth.
fn sums(n: usize, unary: impl Fn(usize) -> f64, way: impl Fn(usize, usize) -> f64) -> Vec<f64> {
    // The sums of the last places, the latest first, each over the latest.
    let mut window = [0.0; LONGEST];
    window[0] = 1.0;
    let mut logs = Vec::with_capacity(n + 1);
    let mut log = 0.0;
    logs.push(log);
    for end in 1..=n {
        let reach = LONGEST.min(end);
        let sum: f64 = window
            .iter()
            .take(reach)
            .zip(1..)
            .map(|(sum, back)| sum * way(end, back))
            .sum();
        // No line is so unlikely that nothing divides it; nonsense stays a number.
        let step = (sum.max(f64::MIN_POSITIVE) * unary(end).exp()).max(f64::MIN_POSITIVE);
        log += step.ln();
        logs.push(log);
        for at in (1..LONGEST).rev() {
            window[at] = (window[at - 1] / step).min(f64::MAX);
        }
        window[0] = 1.0;
    }
    logs
}

/// What each stretch is worth, not as a logarithm.
struct Ways(Vec<[f64; LONGEST]>);

impl Ways {
    fn of(notes: &Notes) -> Self {
        let tables = [&BY_BARS[..], &BY_NOTES, &BY_PHASE, &BY_RHYTHM]
            .map(|table| table.iter().map(|w| w.exp()).collect());
        let worth = |cells: [usize; 4]| -> f64 {
            let values = tables
                .iter()
                .zip(cells)
                .map(|(table, cell): (&Vec<f64>, usize)| table.get(cell).copied().unwrap_or(1.0));
            values.product()
        };
        let ends = 1..=notes.len();
        Self(
            ends.map(|end| {
                let mut ways = [0.0; LONGEST];
                for (back, slot) in (1..).zip(ways.iter_mut()).take(end) {
                    *slot = worth(features::cells(notes, end - back, end));
                }
                ways
            })
            .collect(),
        )
    }

    /// The stretch that ends before a note and holds so many.
    fn at(&self, end: usize, back: usize) -> f64 {
        let ways = end.checked_sub(1).and_then(|end| self.0.get(end));
        ways.zip(back.checked_sub(1))
            .and_then(|(ways, back)| ways.get(back))
            .copied()
            .unwrap_or(0.0)
    }
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

#[cfg(test)]
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

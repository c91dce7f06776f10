//! What speaks for a phrase beginning at a note? A row of numbers for each note, and cells for each stretch of notes.

use super::notes::Notes;
use super::parallel::{self, Return};
use super::{count, grouper, lbdm};
use notation::Quarters;

/// Numbers in a row.
pub const WIDTH: usize = 40;
/// The most notes in one phrase; a longer stretch is divided somewhere.
pub const LONGEST: usize = 48;
/// Cells that a stretch falls into: by bars, by notes, by agreement of its two ends in the bar, by rhythm of their openings.
pub const CELLS: [usize; 4] = [16, 14, 4, 7];

/// Everything that is weighed.
#[derive(Clone, Debug)]
pub struct Rows {
    /// A row for each note: what speaks for a phrase beginning there.
    pub rows: Vec<[f64; WIDTH]>,
    pub(super) returns: Vec<Return>,
}

/// The rows of a line. `tonic` is the pitch class of the key's tonic, where it is known.
#[must_use]
pub fn rows(notes: &Notes, tonic: Option<i32>) -> Rows {
    let returns = parallel::returns(notes);
    let local = lbdm::strengths(notes);
    let grouped = grouper::begins(notes);
    let rows = (0..notes.len())
        .map(|at| {
            let mut row = Row::default();
            if at > 0 {
                timing(&mut row, notes, at);
                melody(&mut row, notes, at, tonic);
                metre(&mut row, notes, at);
                back(&mut row, returns.get(at).copied().unwrap_or_default());
                edges(&mut row, notes, at);
                row.put(local.get(at).copied().unwrap_or(0.0));
                row.flag(grouped.get(at).copied().unwrap_or(false));
                together(&mut row);
            }
            row.values
        })
        .collect();
    Rows { rows, returns }
}

/// A row being filled from the left.
struct Row {
    values: [f64; WIDTH],
    next: usize,
}

impl Default for Row {
    fn default() -> Self {
        let mut values = [0.0; WIDTH];
        values[0] = 1.0;
        Self { values, next: 1 }
    }
}

impl Row {
    fn put(&mut self, value: f64) {
        if let Some(slot) = self.values.get_mut(self.next) {
            *slot = if value.is_finite() { value } else { 0.0 };
        }
        self.next += 1;
    }

    fn flag(&mut self, holds: bool) {
        self.put(if holds { 1.0 } else { 0.0 });
    }
}

/// Logarithm of a ratio, two octaves at most either way; 0 where there is no ratio.
fn ratio(a: f64, b: f64) -> f64 {
    if a > 0.0 && b > 0.0 {
        (a / b).log2().clamp(-2.0, 2.0)
    } else {
        0.0
    }
}

/// Notes either side over which a mean is taken (ours).
const AROUND: usize = 24;

fn timing(row: &mut Row, notes: &Notes, at: usize) {
    let before = notes.ioi(at - 1);
    let beat = notes.line.get(at).map_or(1.0, |note| note.beat.to_f64());
    let gap = notes.gap(at);
    let mean = notes.mean_ioi(at.saturating_sub(AROUND), at + AROUND);
    let long = ratio(before, mean);
    row.flag(gap > 0.0);
    row.put(if beat > 0.0 { (gap / beat).min(2.0) } else { 0.0 });
    row.put(long.min(0.0));
    row.put(long.clamp(0.0, 1.0));
    row.put((long - 1.0).max(0.0));
    row.put(ratio(before, notes.ioi(at)).min(0.0));
    row.put(ratio(before, notes.ioi(at)).max(0.0));
    let earlier = at.checked_sub(2).map_or(0.0, |earlier| notes.ioi(earlier));
    row.put(ratio(before, earlier));
    let longest = (at.saturating_sub(9)..(at + 8).min(notes.len())).all(|other| notes.ioi(other) <= before);
    row.flag(longest && long > 0.0);
}

fn melody(row: &mut Row, notes: &Notes, at: usize, tonic: Option<i32>) {
    let leap = f64::from(notes.leap(at).abs().min(12)) / 12.0;
    let before = f64::from(notes.leap(at - 1).abs().min(12)) / 12.0;
    row.put(leap);
    row.put(leap - before);
    row.flag((-2..=-1).contains(&notes.leap(at - 1)));
    row.flag(notes.leap(at) == 0);
    row.flag(notes.leap(at) > 2);
    let degree = |at: usize| {
        let class = notes.line.get(at)?.pitch_class;
        Some((class - tonic?).rem_euclid(12))
    };
    let ends = at.checked_sub(1).and_then(degree);
    row.flag(ends == Some(0));
    row.flag(ends == Some(7));
    row.flag(matches!(ends, Some(3 | 4)));
    row.flag(ends == Some(2));
    row.flag(ends == Some(11));
    row.flag(degree(at) == Some(0));
    row.flag(degree(at) == Some(7));
}

fn metre(row: &mut Row, notes: &Notes, at: usize) {
    let (Some(here), Some(before), Some(first)) =
        (notes.line.get(at), notes.line.get(at - 1), notes.line.first())
    else {
        return;
    };
    let half = here.bar * Quarters::new(1, 2);
    row.flag(before.phase.is_zero());
    row.flag(!before.phase.is_zero() && before.phase == half);
    row.flag(!before.phase.modulo(before.beat).is_zero());
    row.flag(here.phase.is_zero());
    row.flag(!here.phase.modulo(here.beat).is_zero());
    row.flag(here.phase == first.phase && here.bar == first.bar);
    row.flag(
        here.phase != first.phase
            && half.is_positive()
            && here.phase.modulo(half) == first.phase.modulo(half),
    );
    let next_down = notes.line.get(at + 1).is_some_and(|next| next.phase.is_zero());
    row.flag(next_down && !here.phase.is_zero());
}

fn back(row: &mut Row, back: Return) {
    let share = |n: usize| count(n.min(8)) / 8.0;
    row.put(share(back.begins));
    row.put(share(back.ends));
    row.put(if back.opening >= 3 {
        share(back.opening)
    } else {
        0.0
    });
    row.put(if back.opening_rhythm >= 3 {
        share(back.opening_rhythm)
    } else {
        0.0
    });
}

/// A long note counts for more where the first phrase began, and on the key note.
fn together(row: &mut Row) {
    let [long, same_phase, key_note] = [row.values[4], row.values[27], row.values[15]];
    row.put(long * same_phase);
    row.put(long * key_note);
}

fn edges(row: &mut Row, notes: &Notes, at: usize) {
    row.flag(at < 3);
    row.flag(notes.len() - at < 3);
}

/// Into which cells a stretch falls that begins at one note and ends before another (the end of the line included).
#[must_use]
pub fn cells(notes: &Notes, start: usize, end: usize) -> [usize; 4] {
    let Some(from) = notes.line.get(start) else {
        return [0; 4];
    };
    let [onset, _, bar] = from.at;
    let (until, phase) = match notes.line.get(end) {
        Some(to) if from.ids.phase == to.ids.phase => (to.at[0], 0),
        Some(to) if from.ids.half_phase.is_some() && from.ids.half_phase == to.ids.half_phase => {
            (to.at[0], 1)
        }
        Some(to) => (to.at[0], 2),
        // The last phrase is not held against the place where it ends.
        None => (notes.line.last().map_or(onset, |last| last.at[1]), 3),
    };
    let bars = (until - onset) / bar;
    [
        by_bars(bars),
        by_notes(end - start),
        phase,
        parallel::same_rhythm(notes, start, end, CELLS[3] - 1),
    ]
}

/// Half bars up to four bars, then coarser.
fn by_bars(bars: f64) -> usize {
    const EDGES: [f64; 15] = [
        0.4, 0.75, 1.25, 1.75, 2.25, 2.75, 3.25, 3.75, 4.25, 4.75, 5.25, 6.25, 8.25, 12.25, 16.25,
    ];
    EDGES.iter().take_while(|edge| bars > **edge).count()
}

fn by_notes(notes: usize) -> usize {
    const EDGES: [usize; 13] = [1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 16, 22, 30];
    EDGES.iter().take_while(|edge| notes > **edge).count()
}

//! Which rhythms make up the piece? Its vocabulary, by the beat and by the bar, each with its count and how to say it.
//!
//! A figure is the shortest run of beats that no note is held across: one beat mostly, two for a dotted quarter and
//! its eighth, the whole bar for a syncopated one. A tie over the bar line is cut there and marked.

use super::cell::{Cell, CellKind, Cells, cells, machine_form};
use super::counting::{CountingSystem, count, join};
use super::names::name;
use super::voice::MainVoice;
use crate::metre::{Beat, BeatGrid, BeatUnit};
use notation::{BarIndex, Place, Quarters};
use std::collections::BTreeMap;

/// One rhythm of the vocabulary.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Pattern {
    /// The machine form: see the words in the head of this module's `cell`. `e. s`, `q. e`, `~e e`, `rq`.
    pub pattern: String,
    /// In the trade's words.
    pub name: String,
    /// How many beats it fills.
    pub beats: usize,
    /// The note of its beat.
    pub beat: Option<BeatUnit>,
    /// How often it comes.
    pub count: usize,
    /// Where it comes first.
    pub first: Place,
    /// Bars in which it comes, in order.
    pub bars: Vec<BarIndex>,
    /// How to count it aloud at tempo (a figure is counted from 1, a bar as it stands).
    pub counting: String,
    /// How to count it in a slow first reading, where that differs.
    pub slow_counting: Option<String>,
    /// True if nothing sounds in it.
    pub silent: bool,
}

/// What is counted alike: the form, how many beats, and how long and how divided the first is.
type Key = (String, usize, Quarters, u8);

#[derive(Default)]
struct Vocabulary {
    index: BTreeMap<Key, usize>,
    patterns: Vec<Pattern>,
}

impl Vocabulary {
    fn meet(&mut self, key: Key, first: Place, describe: impl FnOnce(&Key) -> Pattern) {
        let at = *self.index.entry(key).or_insert_with_key(|key| {
            self.patterns.push(describe(key));
            self.patterns.len() - 1
        });
        if let Some(pattern) = self.patterns.get_mut(at) {
            pattern.count += 1;
            if pattern.bars.last() != Some(&first.bar) {
                pattern.bars.push(first.bar);
            }
        }
    }

    /// Sounding patterns first, the most frequent first, then in order of appearance.
    fn sorted(mut self) -> Vec<Pattern> {
        self.patterns
            .sort_by_key(|pattern| (pattern.silent, std::cmp::Reverse(pattern.count), pattern.first));
        self.patterns
    }
}

/// The vocabulary of a part: figures, and whole bars.
pub(super) fn vocabulary(
    voice: &MainVoice,
    grids: &[BeatGrid],
    system: CountingSystem,
) -> (Vec<Pattern>, Vec<Pattern>) {
    let mut figures = Vocabulary::default();
    let mut bars = Vocabulary::default();
    for (bar, grid) in voice.bars.iter().zip(grids) {
        if !grid.counted || bar.is_silent() {
            continue;
        }
        let beats = grid.beats();
        let whole = cells(bar, grid, beats);
        for (some_beats, some_cells) in figures_of(&whole, beats) {
            let first = Place {
                bar: grid.bar,
                offset: offset_of(grid, some_cells),
            };
            figures.meet(key(some_cells, some_beats), first, |key| {
                let numbered = renumbered(some_beats);
                let slow = slow_count(&whole, some_cells, some_beats, grid, system);
                describe(&whole, some_cells, &numbered, slow, grid, first, system, key)
            });
        }
        let first = Place::start_of(grid.bar);
        bars.meet(key(&whole.cells, beats), first, |key| {
            let slow = (grid.slow != grid.felt).then(|| slow_bar(bar, grid, system));
            describe(&whole, &whole.cells, beats, slow, grid, first, system, key)
        });
    }
    (figures.sorted(), bars.sorted())
}

fn key(cells: &[Cell], beats: &[Beat]) -> Key {
    let first = beats.first();
    let length = first.map_or(Quarters::ZERO, |beat| beat.length);
    (
        machine_form(cells),
        beats.len(),
        length,
        first.map_or(2, |beat| beat.division),
    )
}

#[expect(
    clippy::too_many_arguments,
    reason = "everything that one pattern is described by"
)]
fn describe(
    bar: &Cells,
    cells: &[Cell],
    beats: &[Beat],
    slow_counting: Option<String>,
    grid: &BeatGrid,
    first: Place,
    system: CountingSystem,
    key: &Key,
) -> Pattern {
    let counting = join(&count(bar, cells, beats, system));
    Pattern {
        pattern: key.0.clone(),
        name: name(bar, cells, beats),
        beats: beats.len(),
        beat: grid.unit,
        count: 0,
        first,
        bars: Vec::new(),
        slow_counting: slow_counting.filter(|slow| *slow != counting),
        counting,
        silent: !cells.iter().any(Cell::sounds),
    }
}

fn offset_of(grid: &BeatGrid, cells: &[Cell]) -> Quarters {
    let first = cells
        .iter()
        .find(|cell| cell.kind != CellKind::Missing)
        .or(cells.first());
    first.map_or(Quarters::ZERO, |cell| grid.offset(cell.start))
}

fn renumbered(beats: &[Beat]) -> Vec<Beat> {
    let number = |at: usize| u16::try_from(at + 1).unwrap_or(u16::MAX);
    beats
        .iter()
        .enumerate()
        .map(|(at, beat)| Beat {
            number: number(at),
            ..*beat
        })
        .collect()
}

/// The figures of a bar: beats and the cells that fill them.
pub(crate) fn figures_of<'a>(bar: &'a Cells, beats: &'a [Beat]) -> Vec<(&'a [Beat], &'a [Cell])> {
    let mut figures = Vec::with_capacity(beats.len());
    let (mut from_beat, mut from_cell, mut cell) = (0, 0, 0);
    for at in 0..beats.len() {
        let Some(end) = beats.get(at).map(Beat::end) else {
            break;
        };
        while bar.cells.get(cell).is_some_and(|cell| cell.end() <= end) {
            cell += 1;
        }
        let last_beat = at + 1 == beats.len();
        // Neither a held note nor a tuplet is cut.
        let tuplet = |cell: usize| bar.cells.get(cell).and_then(|cell| cell.group);
        let same_tuplet = cell > 0 && tuplet(cell).is_some() && tuplet(cell) == tuplet(cell - 1);
        let held_over = same_tuplet
            || bar
                .cells
                .get(cell)
                .is_some_and(|next| next.start < end || next.kind == CellKind::Held);
        if held_over && !last_beat {
            continue;
        }
        let until = if last_beat { bar.cells.len() } else { cell };
        if let (Some(beats), Some(cells)) = (beats.get(from_beat..=at), bar.cells.get(from_cell..until))
            && !cells.is_empty()
        {
            figures.push((beats, cells));
        }
        (from_beat, from_cell) = (at + 1, until);
    }
    figures
}

/// A figure counted on the slow beats that it covers, from 1.
fn slow_count(
    bar: &Cells,
    cells: &[Cell],
    beats: &[Beat],
    grid: &BeatGrid,
    system: CountingSystem,
) -> Option<String> {
    if grid.slow == grid.felt {
        return None;
    }
    let (start, end) = (beats.first()?.start, beats.last()?.end());
    let covered: Vec<Beat> = grid
        .slow
        .iter()
        .filter(|beat| beat.start >= start && beat.end() <= end)
        .copied()
        .collect();
    let whole = covered.iter().fold(Quarters::ZERO, |sum, beat| sum + beat.length) == end - start;
    whole.then(|| join(&count(bar, cells, &renumbered(&covered), system)))
}

fn slow_bar(bar: &super::voice::VoiceBar, grid: &BeatGrid, system: CountingSystem) -> String {
    let beats = grid.slow_beats();
    let whole = cells(bar, grid, beats);
    join(&count(&whole, &whole.cells, beats, system))
}

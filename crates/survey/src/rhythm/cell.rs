//! What stands in a bar, cut to the beats? Notes as written, rests cut at beats, and the time that a pickup leaves out.
//!
//! The machine form of a pattern is one word for each cell: `w h q e s t x` for whole to sixty-fourth (`b` breve,
//! longer and shorter ones by their MusicXML name), a `.` for each dot, `r` before a rest, `_` before time that is
//! not written (before a pickup, after a short bar), `:3` for a triplet (three in the time of two; `:5:4` spells
//! an unusual ratio out; nested ones follow, outermost first), `~` after a note tied on and before one tied from
//! outside the pattern. `q e e`, `e. s`, `rq`, `e:3 e:3 e:3`, `~e e`.

use super::tuplet::{TupletGroup, groups};
use super::voice::{Item, Sound, VoiceBar};
use crate::metre::{Beat, BeatGrid, BeatUnit};
use notation::{NoteValue, Quarters, TupletRatio};
use std::fmt::Write;

/// One cell of a bar.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Cell {
    /// What it is.
    pub(crate) kind: CellKind,
    /// Where it starts, as a position in the full bar, in quarter notes.
    pub(crate) start: Quarters,
    /// How long it lasts.
    pub(crate) length: Quarters,
    /// The note printed for it, tuplets aside; `None` if no single note is.
    pub(crate) unit: Option<BeatUnit>,
    /// Its tuplets, outermost first.
    pub(crate) tuplets: Vec<TupletRatio>,
    /// Tied to the next note.
    pub(crate) tied_on: bool,
    /// The tuplet group it stands in.
    pub(crate) group: Option<usize>,
}

/// What a cell is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) enum CellKind {
    /// A note struck here.
    Note,
    /// A note held by a tie.
    Held,
    /// Silence.
    Rest,
    /// Not written: before a pickup, after a short bar.
    Missing,
}

impl Cell {
    pub(crate) fn end(&self) -> Quarters {
        self.start + self.length
    }

    pub(crate) const fn sounds(&self) -> bool {
        matches!(self.kind, CellKind::Note | CellKind::Held)
    }
}

/// A bar's cells with its tuplet groups (their positions in the full bar).
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct Cells {
    pub(crate) cells: Vec<Cell>,
    pub(crate) groups: Vec<TupletGroup>,
}

/// Cuts a bar to a list of beats.
pub(crate) fn cells(bar: &VoiceBar, grid: &BeatGrid, beats: &[Beat]) -> Cells {
    let starts_beat = |offset: Quarters| {
        let position = grid.position(offset);
        let at = beats.partition_point(|beat| beat.start < position);
        beats.get(at).is_some_and(|beat| beat.start == position)
    };
    let mut groups = groups(&bar.items, starts_beat);
    let mut found = Cells::default();
    if let Some(first) = beats.first().filter(|beat| beat.start < grid.lead) {
        found
            .cells
            .push(silence(CellKind::Missing, first.start, grid.lead));
    }
    let mut next_group = 0;
    let mut next_beat = 0;
    for (index, item) in bar.items.iter().enumerate() {
        while groups.get(next_group).is_some_and(|group| group.items.1 <= index) {
            next_group += 1;
        }
        let group = groups
            .get(next_group)
            .filter(|group| group.items.0 <= index)
            .map(|_| next_group);
        if item.sounds() || group.is_some() {
            found.cells.push(written(item, grid, group));
        } else {
            cut_rest(
                &mut found.cells,
                grid.position(item.offset),
                grid.position(item.end()),
                beats,
                &mut next_beat,
            );
        }
    }
    if let Some(last) = beats.last().filter(|beat| beat.end() > grid.end()) {
        found
            .cells
            .push(silence(CellKind::Missing, grid.end(), last.end()));
    }
    for group in &mut groups {
        group.start = grid.position(group.start);
    }
    found.groups = groups;
    found
}

fn silence(kind: CellKind, from: Quarters, to: Quarters) -> Cell {
    let length = to - from;
    let unit = BeatUnit::of_quarters(length);
    Cell {
        kind,
        start: from,
        length,
        unit,
        tuplets: Vec::new(),
        tied_on: false,
        group: None,
    }
}

fn written(item: &Item, grid: &BeatGrid, group: Option<usize>) -> Cell {
    let kind = match item.sound {
        Sound::Note => CellKind::Note,
        Sound::Held => CellKind::Held,
        Sound::Rest | Sound::Gap => CellKind::Rest,
    };
    // A written value that contradicts the duration is not counted: the time is.
    let printed = item
        .written
        .as_ref()
        .filter(|written| written.quarters() == item.duration);
    let unit = match printed {
        Some(written) => Some(BeatUnit {
            value: written.value,
            dots: written.dots,
        }),
        None => BeatUnit::of_quarters(item.duration),
    };
    Cell {
        kind,
        start: grid.position(item.offset),
        length: item.duration,
        unit,
        tuplets: printed.map(|written| written.tuplets.clone()).unwrap_or_default(),
        tied_on: item.tied_on,
        group,
    }
}

/// A rest fills each beat that it reaches into; rests that meet inside a beat are one.
fn cut_rest(cells: &mut Vec<Cell>, from: Quarters, to: Quarters, beats: &[Beat], next_beat: &mut usize) {
    let mut start = from;
    while start < to {
        while beats.get(*next_beat).is_some_and(|beat| beat.end() <= start) {
            *next_beat += 1;
        }
        let beat = beats.get(*next_beat);
        let end = beat.map_or(to, |beat| beat.end().min(to));
        let joins = |last: &&mut Cell| {
            last.kind == CellKind::Rest
                && last.group.is_none()
                && last.end() == start
                && beat.is_some_and(|beat| last.start >= beat.start)
        };
        match cells.last_mut().filter(joins) {
            Some(last) => {
                last.length = end - last.start;
                last.unit = BeatUnit::of_quarters(last.length);
            }
            None => cells.push(silence(CellKind::Rest, start, end)),
        }
        start = end;
    }
}

/// The machine form of a run of cells.
pub(crate) fn machine_form(cells: &[Cell]) -> String {
    let mut form = String::with_capacity(cells.len() * 4);
    for (at, cell) in cells.iter().enumerate() {
        if at > 0 {
            form.push(' ');
        }
        match cell.kind {
            CellKind::Rest => form.push('r'),
            CellKind::Missing => form.push('_'),
            CellKind::Held if at == 0 => form.push('~'),
            CellKind::Held | CellKind::Note => {}
        }
        push_value(&mut form, cell);
        for ratio in &cell.tuplets {
            let usual = usual_normal(ratio.actual);
            let _ = if ratio.normal == usual {
                write!(form, ":{}", ratio.actual)
            } else {
                write!(form, ":{}:{}", ratio.actual, ratio.normal)
            };
        }
        if cell.tied_on && cell.sounds() {
            form.push('~');
        }
    }
    form
}

/// The usual number in whose time a tuplet's notes stand: the greatest power of two below it.
fn usual_normal(actual: u16) -> u16 {
    match actual {
        0..=2 => 1,
        3 => 2,
        4..=7 => 4,
        _ => 8,
    }
}

fn push_value(form: &mut String, cell: &Cell) {
    let Some(unit) = cell.unit else {
        // No single note has this length: it is given in quarter notes.
        let _ = write!(form, "={}", cell.length);
        return;
    };
    match unit.value {
        NoteValue::Breve => form.push('b'),
        NoteValue::Whole => form.push('w'),
        NoteValue::Half => form.push('h'),
        NoteValue::Quarter => form.push('q'),
        NoteValue::Eighth => form.push('e'),
        NoteValue::N16th => form.push('s'),
        NoteValue::N32nd => form.push('t'),
        NoteValue::N64th => form.push('x'),
        other => form.push_str(other.name()),
    }
    for _ in 0..unit.dots {
        form.push('.');
    }
}

//! What is a rhythm called in the trade? `dotted quarter–eighth`, `eighth–two sixteenths`, `quarter-note triplet`.

use super::cell::{Cell, CellKind, Cells};
use super::tuplet::{TupletGroup, tuplet_word};
use crate::metre::{Beat, BeatUnit, value_name, value_names};
use notation::Rational;

const NUMBERS: [&str; 13] = [
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
];

/// A small number in words.
pub(crate) fn number(n: usize) -> String {
    NUMBERS
        .get(n)
        .map_or_else(|| n.to_string(), |word| (*word).to_owned())
}

/// The name of a run of cells.
pub(crate) fn name(bar: &Cells, cells: &[Cell], beats: &[Beat]) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut at = 0;
    while let Some(cell) = cells.get(at) {
        let group = cell.group.and_then(|group| bar.groups.get(group));
        let taken = match group {
            Some(group) => group_name(&mut parts, group, cells, at),
            None => run_name(&mut parts, cells, at),
        };
        at += taken.max(1);
    }
    let mut name = parts.join("–");
    if cells.last().is_some_and(|cell| cell.tied_on && cell.sounds()) {
        name.push_str(", tied on");
    }
    if cells.first().is_some_and(|cell| cell.kind == CellKind::Missing) {
        name.push_str(" (pickup)");
    }
    if let Some(word) = figure_word(cells, beats) {
        name.push_str(&format!(" ({word})"));
    }
    name
}

fn same(a: &Cell, b: &Cell) -> bool {
    a.kind == b.kind && a.unit == b.unit && a.group == b.group && a.unit.is_some()
}

/// Equal cells are counted together; ties and missing time are said or left out.
fn run_name(parts: &mut Vec<String>, cells: &[Cell], at: usize) -> usize {
    let Some(cell) = cells.get(at) else { return 1 };
    if cell.kind == CellKind::Missing {
        return 1;
    }
    let equal = cells
        .iter()
        .skip(at)
        .take_while(|next| same(cell, next) && next.kind == CellKind::Note)
        .count();
    let tied = cells.iter().skip(at).take(equal).position(|next| next.tied_on);
    let count = tied.map_or(equal, |position| position + 1).max(1);
    let one = cell
        .unit
        .map_or_else(|| format!("{} of a quarter", cell.length), BeatUnit::name);
    let said = match cell.kind {
        CellKind::Rest => format!("{one} rest"),
        CellKind::Held => format!("tied {one}"),
        _ if count == 1 => one,
        _ => plural(count, cell),
    };
    parts.push(said);
    count
}

fn plural(count: usize, cell: &Cell) -> String {
    let Some(unit) = cell.unit else {
        return format!("{count} notes");
    };
    let dots = if unit.dots == 0 { "" } else { "dotted " };
    format!("{} {dots}{}", number(count), value_names(unit.value))
}

fn group_name(parts: &mut Vec<String>, group: &TupletGroup, cells: &[Cell], at: usize) -> usize {
    let inside: Vec<&Cell> = cells
        .iter()
        .skip(at)
        .take_while(|cell| cell.start < group.end())
        .collect();
    let word = tuplet_word(group.ratio.actual);
    let value = value_name(group.value);
    let even = inside.len() == usize::from(group.ratio.actual)
        && inside.iter().all(|cell| cell.kind == CellKind::Note);
    parts.push(if even && group.ratio.actual == 3 {
        format!("{value}-note triplet")
    } else if even {
        format!("{word} of {}", value_names(group.value))
    } else {
        let said: Vec<String> = inside
            .iter()
            .map(|cell| {
                let one = cell.unit.map_or_else(|| cell.length.to_string(), BeatUnit::name);
                match cell.kind {
                    CellKind::Rest => format!("{one} rest"),
                    CellKind::Held => format!("tied {one}"),
                    _ => one,
                }
            })
            .collect();
        let inside = if group.nested { ", a tuplet inside" } else { "" };
        format!("{word} {}{inside}", run_lengths(&said).join("–"))
    });
    inside.len()
}

/// Equal neighbours said once, with their number: `three eighths`.
fn run_lengths(said: &[String]) -> Vec<String> {
    let runs = said.chunk_by(|a, b| a == b);
    let one = |run: &[String]| match run {
        [one] => one.clone(),
        [one, ..] => format!("{} {one}s", number(run.len())).replace("halfs", "halves"),
        [] => String::new(),
    };
    runs.map(one).collect()
}

/// The trade's word for a figure: syncopation, short–long snap.
fn figure_word(cells: &[Cell], beats: &[Beat]) -> Option<&'static str> {
    let beat = beats.first()?.length;
    if cells.iter().any(|cell| cell.group.is_some()) {
        return None;
    }
    if let [short, long] = cells
        && short.sounds()
        && long.kind == CellKind::Note
        && long.length == short.length * Rational::whole(3)
        && long.end() - short.start <= beat
    {
        return Some("short–long snap");
    }
    // A note struck off the beat, or off the half beat, and held over the next stronger place.
    let syncopated = cells.iter().enumerate().any(|(at, cell)| {
        if cell.kind != CellKind::Note {
            return false;
        }
        let from = cells.first().map_or(cell.start, |first| first.start);
        let held = cells
            .iter()
            .skip(at + 1)
            .take_while(|next| next.kind == CellKind::Held);
        let end = held.fold(cell.end(), |_, next| next.end());
        let crosses = |grid: Rational| {
            let place = (cell.start - from) / grid;
            !place.is_whole() && from + grid * Rational::whole(place.floor() + 1) < end
        };
        let division = beats.first().map_or(2, |beat| beat.division);
        crosses(beat) || division == 2 && crosses(beat / Rational::whole(2))
    });
    syncopated.then_some("syncopation")
}

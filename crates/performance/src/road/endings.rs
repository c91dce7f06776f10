//! Where does each ending begin and stop, and for which passes is it? Volta brackets paired, extended and numbered.

use super::grid::Grid;
use super::number;
use super::report::Report;
use super::signs::{Bracket, Signs};
use notation::{EndingKind, Place, Severity};
use std::collections::BTreeSet;

/// One ending: the bars under a bracket.
#[derive(Clone, Debug)]
pub(super) struct Volta {
    pub start: Place,
    pub end: Place,
    /// The passes it is for.
    pub passes: BTreeSet<u32>,
    /// The number as printed.
    pub printed: String,
    /// Chain of endings that follow one another without a gap, counted through the piece.
    pub group: usize,
    /// An end-repeat stands in it or at its end.
    pub repeats: bool,
    /// The repeat it belongs to, once that is known.
    pub block: Option<usize>,
    /// The source says where it starts.
    opened: bool,
}

/// The endings of the piece in order.
pub(super) fn voltas(signs: &Signs, grid: &Grid, report: &mut Report) -> Vec<Volta> {
    let mut voltas = paired(signs, grid, report);
    voltas.retain(|volta| volta.start < volta.end);
    extend(&mut voltas, signs, grid, report);
    group(&mut voltas);
    renumber(&mut voltas, grid, report);
    for volta in &mut voltas {
        volta.repeats = signs.end_after(volta.start).is_some_and(|end| end <= volta.end);
    }
    voltas
}

fn paired(signs: &Signs, grid: &Grid, report: &mut Report) -> Vec<Volta> {
    let mut voltas: Vec<Volta> = Vec::new();
    let mut open: Option<Volta> = None;
    for bracket in &signs.brackets {
        if bracket.disagree {
            report.opens(
                Severity::Caution,
                "ending-numbers-differ",
                bracket.at,
                "the parts print different numbers at this ending",
                "look which part is right; the first part's number is taken",
            );
        }
        if bracket.kind == EndingKind::Start {
            if let Some(volta) = open.take() {
                voltas.push(unclosed(volta, bracket.at, signs, grid, report));
            }
            open = Some(opened(bracket));
        } else if let Some(mut volta) = open.take() {
            volta.end = bracket.at;
            voltas.push(volta);
        } else if !stops_again(bracket, voltas.last(), grid) {
            report.closes(
                grid,
                Severity::Caution,
                "ending-without-start",
                bracket.at,
                "an ending stops here but never starts",
                "taken as an ending of this one bar; check where its bracket begins",
            );
            let mut volta = opened(bracket);
            volta.start = grid.start_before(bracket.at);
            volta.opened = false;
            voltas.push(volta);
        }
    }
    if let Some(volta) = open {
        voltas.push(unclosed(volta, grid.end(), signs, grid, report));
    }
    voltas
}

fn opened(bracket: &Bracket) -> Volta {
    let mut passes = number::passes(&bracket.number);
    if passes.is_empty() {
        passes = number::passes(&bracket.text);
    }
    let printed = if bracket.text.trim().is_empty() {
        &bracket.number
    } else {
        &bracket.text
    };
    Volta {
        start: bracket.at,
        end: bracket.at,
        passes,
        printed: printed.trim().to_owned(),
        group: 0,
        repeats: false,
        block: None,
        opened: true,
    }
}

/// A second stop of an ending that has already stopped in the bar before.
fn stops_again(bracket: &Bracket, last: Option<&Volta>, grid: &Grid) -> bool {
    last.is_some_and(|last| {
        last.passes == number::passes(&bracket.number) && grid.start_before(bracket.at) <= last.end
    })
}

/// An ending that never stops: up to its end-repeat, else the next double bar, else one bar; never past `limit`.
fn unclosed(mut volta: Volta, limit: Place, signs: &Signs, grid: &Grid, report: &mut Report) -> Volta {
    let within = |at: &Place| *at > volta.start && *at <= limit;
    let end = signs.end_after(volta.start).filter(within);
    let line = signs.line_after(volta.start).filter(within);
    let next_bracket = (limit < grid.end()).then_some(limit);
    volta.end = end
        .or(next_bracket)
        .or(line)
        .unwrap_or_else(|| grid.after(volta.start.bar).min(limit));
    report.opens(
        Severity::Caution,
        "ending-without-end",
        volta.start,
        "the ending that starts here never stops",
        "taken up to the next repeat sign, ending or double bar; check how far its bracket reaches",
    );
    volta
}

/// A bracket drawn too short: its end-repeat stands a few bars on, right where the next ending begins.
fn extend(voltas: &mut [Volta], signs: &Signs, grid: &Grid, report: &mut Report) {
    for index in 1..voltas.len() {
        let (Some(this), Some(next)) = (voltas.get(index - 1), voltas.get(index)) else {
            continue;
        };
        let (end, next_start) = (this.end, next.start);
        let closed = signs.end_after(this.start).is_some_and(|e| e <= end);
        let barred = signs.start_from(end).is_some_and(|s| s < next_start);
        if end < next_start && !closed && !barred && signs.end_after(end) == Some(next_start) {
            report.closes(
                grid,
                Severity::Note,
                "ending-drawn-short",
                end,
                "the ending's bracket stops before its end-repeat",
                "taken to reach to the repeat sign, where the next ending begins",
            );
            if let Some(volta) = voltas.get_mut(index - 1) {
                volta.end = next_start;
            }
        }
    }
}

/// Endings that follow one another without a gap belong together, until the numbers begin again at 1.
fn group(voltas: &mut [Volta]) {
    let mut group = 0;
    for index in 1..voltas.len() {
        let (Some(before), Some(here)) = (voltas.get(index - 1), voltas.get(index)) else {
            continue;
        };
        let begins_again =
            here.passes.first() == Some(&1) && !before.passes.contains(&1) && before.repeats_known();
        if before.end != here.start || begins_again {
            group += 1;
        }
        if let Some(volta) = voltas.get_mut(index) {
            volta.group = group;
        }
    }
}

impl Volta {
    /// It has passes of its own (a bracket without a number may be anything).
    fn repeats_known(&self) -> bool {
        !self.passes.is_empty()
    }
}

/// Every pass gets one ending: missing numbers are counted on, doubled numbers put right.
fn renumber(voltas: &mut [Volta], grid: &Grid, report: &mut Report) {
    let groups: Vec<usize> = voltas.iter().map(|volta| volta.group).collect();
    let mut first = 0;
    for chain in groups.chunk_by(|a, b| a == b) {
        let members: Vec<usize> = (first..first + chain.len()).collect();
        first += chain.len();
        for (order, index) in members.iter().enumerate() {
            let next = members.get(order + 1).copied();
            settle_pair(voltas, *index, next, order == 0, report);
            number_missing(voltas, &members, order, grid, report);
        }
        close_gaps(voltas, &members, report);
    }
}

/// Two neighbouring endings for the same pass.
fn settle_pair(voltas: &mut [Volta], index: usize, next: Option<usize>, first: bool, report: &mut Report) {
    let Some((this, that)) = voltas.get(index).zip(next.and_then(|next| voltas.get(next))) else {
        return;
    };
    let shared: BTreeSet<u32> = this.passes.intersection(&that.passes).copied().collect();
    if shared.is_empty() {
        return;
    }
    let at = that.start;
    let (mut ours, mut theirs) = (this.passes.clone(), that.passes.clone());
    if first && !this.opened && !ours.contains(&1) {
        ours = BTreeSet::from([1]);
    } else if ours.len() > theirs.len() {
        // The bracket that names fewer passes is the more exact; the first keeps its own first time through.
        let own = ours.first().copied();
        ours.retain(|pass| !shared.contains(pass) || Some(*pass) == own);
        theirs.retain(|pass| !ours.contains(pass));
    } else {
        theirs.retain(|pass| !shared.contains(pass));
    }
    report.opens(
        Severity::Caution,
        "ending-number-twice",
        at,
        "this ending and the one before it are for the same time through",
        "each time through is given one ending, in order; check the printed numbers",
    );
    for (volta, passes) in [(index, ours), (next.unwrap_or(index), theirs)] {
        if let Some(volta) = voltas.get_mut(volta) {
            volta.passes = passes;
        }
    }
}

fn number_missing(voltas: &mut [Volta], members: &[usize], order: usize, grid: &Grid, report: &mut Report) {
    let Some(index) = members.get(order).copied() else {
        return;
    };
    if voltas.get(index).is_none_or(|volta| !volta.passes.is_empty()) {
        return;
    }
    let earlier = members.iter().take(order).filter_map(|i| voltas.get(*i));
    let pass = earlier
        .filter_map(|volta| volta.passes.last())
        .max()
        .map_or(1, |last| last + 1);
    if let Some(volta) = voltas.get_mut(index) {
        volta.passes.insert(pass.min(number::MOST_PASSES));
        let what = format!("an ending without a number, taken for time {pass}");
        report.closes(
            grid,
            Severity::Caution,
            "ending-number-missing",
            volta.end,
            &what,
            "write its number in",
        );
    }
}

/// Numbers that leave out a time through (`1.` and `3.`) are counted on without the gap.
fn close_gaps(voltas: &mut [Volta], members: &[usize], report: &mut Report) {
    let here = members.iter().filter_map(|index| voltas.get(*index));
    let all: Vec<u32> = here
        .flat_map(|volta| volta.passes.iter().copied())
        .collect::<BTreeSet<u32>>()
        .into_iter()
        .collect();
    let gap = all.iter().zip(1..).find(|(pass, expected)| **pass != *expected);
    let Some((_, missing)) = gap else { return };
    let place = members
        .first()
        .and_then(|index| voltas.get(*index))
        .map(|volta| volta.start);
    if let Some(at) = place {
        let what = format!("no ending is printed for time {missing}");
        let advice = "the later endings are taken one time earlier; check the printed numbers";
        report.opens(Severity::Caution, "ending-numbers-skip", at, &what, advice);
    }
    let place_of = |pass: &u32| {
        all.iter()
            .zip(1..)
            .find(|(known, _)| *known == pass)
            .map(|(_, place)| place)
    };
    for index in members {
        if let Some(volta) = voltas.get_mut(*index) {
            volta.passes = volta.passes.iter().filter_map(place_of).collect();
        }
    }
}

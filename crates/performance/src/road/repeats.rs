//! Which bars does each end-repeat send the player over again, and how often? Start- and end-repeats paired.

use super::endings::Volta;
use super::grid::Grid;
use super::number::MOST_PASSES;
use super::report::Report;
use super::signs::{RepeatEnd, Signs};
use notation::{Place, Severity};
use std::collections::BTreeSet;

/// A passage that is repeated, with its endings; also a chain of endings without any repeat sign (the later ones are
/// then for the time after a jump).
#[derive(Debug)]
pub(super) struct Block {
    pub start: Place,
    /// Where its end-repeats stand; empty for endings without a repeat.
    pub ends: Vec<Place>,
    /// Past its last end-repeat and last ending.
    pub end: Place,
    /// How many times it is played.
    pub total: u32,
    /// A start-repeat is printed (or hinted).
    pub printed_start: bool,
    /// Taken again after a jump, where the source says.
    pub after_jump: Option<bool>,
    /// It has endings.
    pub endings: bool,
}

/// The repeated passages in order of their last sign.
pub(super) fn blocks(
    signs: &Signs,
    walls: &BTreeSet<Place>,
    voltas: &mut [Volta],
    grid: &Grid,
    report: &mut Report,
) -> Vec<Block> {
    let mut pairing = Pairing {
        blocks: Vec::new(),
        open: Vec::new(),
        free_from: Place::default(),
    };
    let mut starts = signs.starts.iter().peekable();
    let mut wall = walls.iter().peekable();
    for end in &signs.ends {
        // What stands before this end-repeat, in order; at one place a wall and then the start-repeat.
        while let Some(start) = starts.next_if(|start| start.at < end.at) {
            while let Some(at) = wall.next_if(|at| **at <= start.at) {
                pairing.wall(*at, report);
            }
            pairing.open.push(start.at);
        }
        while let Some(at) = wall.next_if(|at| **at < end.at) {
            pairing.wall(*at, report);
        }
        pairing.close(end, voltas, grid, report);
    }
    pairing.open.extend(starts.map(|start| start.at));
    pairing.report_open(report);
    let mut blocks = pairing.blocks;
    orphans(&mut blocks, voltas);
    count(&mut blocks, signs, walls, voltas, grid, report);
    blocks
}

struct Pairing {
    blocks: Vec<Block>,
    /// Start-repeats not closed yet.
    open: Vec<Place>,
    /// Where an end-repeat without a start returns to.
    free_from: Place,
}

impl Pairing {
    /// A final bar line, Fine or jump: no repeat reaches over it backwards.
    fn wall(&mut self, at: Place, report: &mut Report) {
        self.report_open(report);
        self.free_from = self.free_from.max(at);
    }

    fn report_open(&mut self, report: &mut Report) {
        for start in self.open.drain(..) {
            never_closed(start, report);
        }
    }

    fn close(&mut self, end: &RepeatEnd, voltas: &mut [Volta], grid: &Grid, report: &mut Report) {
        let under = under(voltas, end.at);
        let group = under.and_then(|index| voltas.get(index)).map(|volta| volta.group);
        // A further ending of the repeat before: the same passage once more.
        if let (Some(index), Some(group), Some(last)) = (under, group, self.blocks.len().checked_sub(1)) {
            let chain = voltas
                .iter()
                .take(index + 1)
                .rev()
                .take_while(|volta| volta.group == group);
            let same = chain.into_iter().any(|volta| volta.block == Some(last));
            if same
                && self
                    .open
                    .last()
                    .is_none_or(|start| self.blocks.get(last).is_some_and(|b| *start < b.start))
            {
                self.extend(last, group, end, voltas);
                return;
            }
        }
        let printed = self.open.pop();
        if printed.is_some() && self.nested(printed) {
            report.closes(
                grid,
                Severity::Caution,
                "nested-repeat",
                end.at,
                "this repeat encloses another one",
                "the inner repeat is taken each time; check whether a start-repeat is missing between them",
            );
        }
        let start = printed.unwrap_or(self.free_from);
        if printed.is_none() && end.at > start {
            let back = if start == Place::default() {
                "the beginning".to_owned()
            } else {
                format!("bar {}, after the last section", report.label(start))
            };
            let what = format!("an end-repeat without a start-repeat: back to {back}");
            let severity = if start == Place::default() {
                Severity::Note
            } else {
                Severity::Caution
            };
            let advice = "pencil in the start-repeat";
            report.closes(grid, severity, "end-repeat-without-start", end.at, &what, advice);
        }
        let index = self.blocks.len();
        self.blocks.push(Block {
            start,
            ends: vec![end.at],
            end: end.at,
            total: 2,
            printed_start: printed.is_some(),
            after_jump: end.after_jump,
            endings: false,
        });
        let reach = claim(voltas, index, start, end.at, group);
        self.settle(index, reach);
    }

    fn nested(&self, start: Option<Place>) -> bool {
        self.blocks
            .last()
            .is_some_and(|block| start.is_some_and(|start| start <= block.start))
    }

    fn extend(&mut self, index: usize, group: usize, end: &RepeatEnd, voltas: &mut [Volta]) {
        let Some(block) = self.blocks.get_mut(index) else {
            return;
        };
        // Endings further left have been claimed with the first end-repeat.
        let from = block.ends.last().copied().unwrap_or(block.start);
        block.ends.push(end.at);
        block.after_jump = block.after_jump.or(end.after_jump);
        let reach = claim(voltas, index, from, end.at, Some(group));
        self.settle(index, reach);
    }

    /// Where the passage ends with all its endings, and so where the next one may begin.
    fn settle(&mut self, index: usize, reach: Option<Place>) {
        let Some(block) = self.blocks.get_mut(index) else {
            return;
        };
        block.endings |= reach.is_some();
        let last = block.ends.last().copied().unwrap_or(block.start);
        block.end = reach.map_or(block.end, |reach| block.end.max(reach)).max(last);
        self.free_from = self.free_from.max(block.end);
    }
}

fn never_closed(start: Place, report: &mut Report) {
    report.opens(
        Severity::Caution,
        "start-repeat-never-closed",
        start,
        "a start-repeat that is never closed",
        "played once; look whether an end-repeat is missing",
    );
}

/// The ending in which an end-repeat stands.
fn under(voltas: &[Volta], at: Place) -> Option<usize> {
    let first = voltas.partition_point(|volta| volta.end < at);
    voltas
        .get(first)
        .filter(|volta| volta.start < at && at <= volta.end)
        .map(|_| first)
}

/// Gives a block the endings inside it, and those that follow in the same chain; says how far they reach.
fn claim(
    voltas: &mut [Volta],
    block: usize,
    start: Place,
    end: Place,
    group: Option<usize>,
) -> Option<Place> {
    let from = voltas.partition_point(|volta| volta.start < start);
    let mut group = group;
    let mut reach = None;
    for volta in voltas.iter_mut().skip(from) {
        if volta.start >= end && group != Some(volta.group) {
            break;
        }
        if volta.block.is_none() {
            volta.block = Some(block);
            reach = reach.max(Some(volta.end));
            if volta.end >= end {
                group = group.or(Some(volta.group));
            }
        }
    }
    reach
}

/// Endings that belong to no repeat: a block of their own for each chain.
fn orphans(blocks: &mut Vec<Block>, voltas: &mut [Volta]) {
    let mut chain: Option<(usize, usize)> = None;
    for volta in voltas.iter_mut().filter(|volta| volta.block.is_none()) {
        let index = match chain {
            Some((group, index)) if group == volta.group => index,
            _ => {
                blocks.push(Block {
                    start: volta.start,
                    ends: vec![],
                    end: volta.end,
                    total: 1,
                    printed_start: false,
                    after_jump: None,
                    endings: true,
                });
                blocks.len() - 1
            }
        };
        chain = Some((volta.group, index));
        volta.block = Some(index);
        if let Some(block) = blocks.get_mut(index) {
            block.end = volta.end;
        }
    }
}

/// How many times each passage is played.
fn count(
    blocks: &mut [Block],
    signs: &Signs,
    walls: &BTreeSet<Place>,
    voltas: &[Volta],
    grid: &Grid,
    report: &mut Report,
) {
    let mut members: Vec<Vec<&Volta>> = blocks.iter().map(|_| Vec::new()).collect();
    for volta in voltas {
        if let Some(list) = volta.block.and_then(|block| members.get_mut(block)) {
            list.push(volta);
        }
    }
    for (block, mine) in blocks.iter_mut().zip(members) {
        let last_end = block.ends.last().copied();
        let times = block
            .ends
            .iter()
            .find_map(|at| signs.ends.binary_search_by_key(at, |end| end.at).ok())
            .and_then(|index| signs.ends.get(index))
            .and_then(|end| end.times);
        let said = times.and_then(|times| sensible(times, last_end, grid, report));
        block.total = if mine.is_empty() {
            said.unwrap_or(2)
        } else {
            let after = block.end;
            let goes_on =
                after < grid.end() && !walls.contains(&after) && signs.start_from(after) != Some(after);
            with_endings(&mine, goes_on, said, last_end, grid, report)
        };
    }
}

fn sensible(times: u32, at: Option<Place>, grid: &Grid, report: &mut Report) -> Option<u32> {
    if (1..=MOST_PASSES).contains(&times) {
        return Some(times);
    }
    if let Some(at) = at {
        let what = format!("the source asks for this passage {times} times");
        report.closes(
            grid,
            Severity::Caution,
            "repeat-count-odd",
            at,
            &what,
            "played twice",
        );
    }
    None
}

/// How many times a passage with endings is played, from their numbers.
fn with_endings(
    mine: &[&Volta],
    goes_on: bool,
    said: Option<u32>,
    at: Option<Place>,
    grid: &Grid,
    report: &mut Report,
) -> u32 {
    let greatest = |volta: &&Volta| volta.passes.last().copied().unwrap_or(1);
    let most = mine.iter().map(greatest).max().unwrap_or(1);
    let Some(at) = at else { return most };
    let returns = mine.iter().filter(|volta| volta.repeats).map(greatest).max();
    let repeat_outside = !mine.iter().any(|volta| volta.start < at && at <= volta.end);
    let last_repeats = mine
        .last()
        .is_some_and(|last| last.repeats && greatest(last) == most);
    let total = match (mine.len(), returns) {
        // `|: … [1 … :| …`: what follows the bracket is the other ending.
        (1, Some(last)) if goes_on || last == 1 => {
            let what = "only one ending has a bracket: what follows it is taken for the other";
            let advice = "pencil in the second bracket";
            report.closes(grid, Severity::Note, "ending-alone", at, what, advice);
            last + 1
        }
        (1, Some(last)) => last,
        _ if last_repeats => {
            report.closes(
                grid,
                Severity::Caution,
                "last-ending-repeats",
                at,
                "the last ending also has an end-repeat, and no further ending follows",
                "gone on from there; check whether the sign should stand",
            );
            most
        }
        (_, Some(last)) => most.max(last + 1),
        (_, None) => most.max(2),
    };
    match said {
        Some(times) if repeat_outside => total.max(times),
        Some(times) if times != total => {
            let what = format!("the repeat says {times} times, its endings say {total}");
            let advice = "the endings are followed; check the printed numbers";
            report.closes(grid, Severity::Caution, "repeat-count-differs", at, &what, advice);
            total
        }
        _ => total,
    }
}

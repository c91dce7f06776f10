//! Which passages come today? What went wrong, what is due, hard spots and sections mixed, twice where there is room.

use super::Maker;
use super::day::Today;
use super::{TURN, free};
use crate::plan::asked::Date;
use crate::plan::calendar::Stage;
use crate::plan::compose::floor_to;
use crate::plan::history::Next;
use crate::plan::order::Draft;
use crate::plan::passages::PassageKind;
use crate::plan::review::Memory;

/// The longest turn on one thing but a run-through. As for new material.
const LONG_TURN: u32 = 300;
/// Days by which what went wrong goes before what has only waited.
const FIRST: i64 = 10_000;

impl Maker<'_> {
    /// The turns on passages: what is due, each twice where there is room, with other things between.
    pub(super) fn practise(&mut self, today: &mut Today) {
        let most = if today.stage == Stage::DayBefore {
            3
        } else {
            usize::MAX
        };
        let room = today.left;
        let mut slots = usize::try_from(room / TURN).unwrap_or(0).min(most);
        let single = slots == 0;
        if single && room >= today.unit {
            slots = 1;
        }
        let chained = (slots >= 4 && today.stage != Stage::Meet)
            .then(|| self.chain(today))
            .flatten();
        slots -= usize::from(chained.is_some());
        let chosen = self.chosen(slots, today.date);
        let count = u32::try_from(chosen.len() + usize::from(chained.is_some()))
            .unwrap_or(1)
            .max(1);
        // Time that is over goes to the turns, evenly, but none gets long.
        let each = if single {
            room
        } else {
            floor_to(room / count, today.unit).clamp(TURN, LONG_TURN)
        };
        for (passage, visit) in chosen {
            let turn = self.visit(passage, visit, today, each);
            today.take(turn.kind, each);
            today.main.push(Draft {
                turn,
                passage: Some(passage),
            });
        }
        if let Some(mut turn) = chained {
            turn.secs = each;
            today.take(turn.kind, each);
            today.main.push(free(turn));
        }
    }

    /// Passages for so many turns, with the number of the visit today.
    pub(super) fn chosen(&mut self, slots: usize, date: Date) -> Vec<(usize, usize)> {
        let mut ranked: Vec<(i64, usize, f64, usize)> = self
            .passages
            .iter()
            .enumerate()
            .filter(|(index, _)| self.ready.get(*index).copied().unwrap_or(false))
            .map(|(index, passage)| {
                let due = self.memory.get(index).and_then(Memory::due).unwrap_or(date);
                let stuck = self.progress.get(index).is_some_and(|progress| progress.stuck);
                // What went wrong last comes before what has only waited.
                let waited = (date - due).num_days()
                    + if due <= date && self.went_wrong(index) {
                        FIRST
                    } else {
                        0
                    };
                let sort = match passage.kind {
                    PassageKind::Section if !stuck => 1,
                    PassageKind::Pair(_) => 2,
                    _ => 0,
                };
                (waited, sort, passage.asks, index)
            })
            .collect();
        ranked.sort_by(|a, b| b.0.cmp(&a.0).then(b.2.total_cmp(&a.2)).then(a.3.cmp(&b.3)));
        let due = ranked.iter().filter(|passage| passage.0 >= 0).count();
        let distinct = due
            .clamp(slots.div_ceil(2), slots.max(slots.div_ceil(2)))
            .min(ranked.len());
        let ranked = mixed(ranked, due);
        let first = ranked.iter().take(distinct).map(|passage| passage.3);
        let mut chosen: Vec<(usize, usize)> = first.map(|passage| (passage, 0)).collect();
        // A second visit of the same day comes after all the others.
        let again: Vec<(usize, usize)> = chosen
            .iter()
            .take(slots.saturating_sub(distinct))
            .map(|(passage, _)| (*passage, 1))
            .collect();
        chosen.extend(again);
        chosen
    }

    /// Whether the last logged visit went wrong, and no sitting since has come back to it.
    pub(super) fn went_wrong(&self, index: usize) -> bool {
        let Some(progress) = self.progress.get(index) else {
            return false;
        };
        let untouched = self.memory.get(index).and_then(|memory| memory.last) == progress.last();
        untouched && (progress.stuck || progress.next() == Next::Back)
    }
}

/// Hard spots, sections and look-alikes in turn: no day is all of one sort. What is due comes before what is not.
fn mixed(ranked: Vec<(i64, usize, f64, usize)>, due: usize) -> Vec<(i64, usize, f64, usize)> {
    /// Sorts in the order in which they are taken: hard spots, sections, look-alikes.
    const TURN: [usize; 5] = [0, 1, 0, 2, 1];
    let mut mixed = Vec::with_capacity(ranked.len());
    let (now, later) = ranked.split_at(due.min(ranked.len()));
    for part in [now, later] {
        let mut sorts: [std::collections::VecDeque<_>; 3] = Default::default();
        for passage in part {
            if let Some(sort) = sorts.get_mut(passage.1) {
                sort.push_back(*passage);
            }
        }
        let before = mixed.len();
        while mixed.len() < before + part.len() {
            for sort in TURN {
                mixed.extend(
                    sorts
                        .get_mut(sort)
                        .and_then(std::collections::VecDeque::pop_front),
                );
            }
        }
    }
    mixed
}

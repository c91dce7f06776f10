//! Does the same passage get the same breaths? What is marked in one is marked in its look-alikes, where it is legal there.

use crate::alike::{AlikeAnswer, Passage};
use notation::{BarIndex, Place};
use std::collections::BTreeMap;
use survey::Context;

/// What is decided at a note of the line: breathe before it, and whether at the final tempo, too.
pub(super) type Marks = BTreeMap<usize, bool>;

/// Carries marks over to parallel passages, both ways. `good` says of a note whether the place before it is a good one: only
/// marks at good places are carried, and only to good places.
pub(super) fn carry(ctx: &Context, alike: &AlikeAnswer, good: &impl Fn(usize) -> bool, marks: &mut Marks) {
    // First back to the passage that came first, then from there to all that are like it.
    for back in [true, false] {
        for passage in &alike.passages {
            carry_one(ctx, passage, back, good, marks);
        }
    }
}

fn carry_one(ctx: &Context, passage: &Passage, back: bool, good: &impl Fn(usize) -> bool, marks: &mut Marks) {
    let (from, to) = if back {
        (passage.bars, passage.like)
    } else {
        (passage.like, passage.bars)
    };
    let first = ctx
        .line
        .partition_point(|note| place(ctx, note.event).bar < from.0);
    let last = ctx
        .line
        .partition_point(|note| place(ctx, note.event).bar <= from.1);
    let inside: Vec<(usize, bool)> = marks
        .range(first..last)
        .map(|(note, kept)| (*note, *kept))
        .collect();
    for (note, kept) in inside {
        // At the very beginning of the passage what comes before is not parallel.
        if note == first || !good(note) {
            continue;
        }
        let Some(here) = ctx.line.get(note).map(|note| place(ctx, note.event)) else {
            continue;
        };
        let bar = to.0.get() + here.bar.get() - from.0.get();
        let there = Place {
            bar: BarIndex::from_usize(bar),
            ..here
        };
        let other = ctx.line.partition_point(|note| place(ctx, note.event) < there);
        let found = ctx
            .line
            .get(other)
            .is_some_and(|note| place(ctx, note.event) == there);
        if found && good(other) {
            let slot = marks.entry(other).or_insert(kept);
            *slot |= kept;
        }
    }
}

fn place(ctx: &Context, event: usize) -> Place {
    ctx.part
        .events
        .get(event)
        .map(|event| event.place)
        .unwrap_or_default()
}

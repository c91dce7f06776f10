//! Does every bar hold what its metre asks for? Pickups, their complements, split bars, and bars that don't add up.

use super::grid::BeatGrid;
use crate::Context;
use crate::rhythm::voice::{MainVoice, is_rounding};
use notation::{BarIndex, BarSide, Quarters};

/// What was found out about the lengths of bars.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Lengths {
    /// Pickups: the first bar, or the first of a section.
    pub pickups: Vec<Pickup>,
    /// Short bars that together make one.
    pub splits: Vec<Split>,
    /// Bars that don't add up.
    pub uneven: Vec<Uneven>,
    /// For each bar where its first moment stands in the full bar, in quarter notes.
    pub leads: Vec<Quarters>,
}

/// A bar that starts late: an anacrusis.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Pickup {
    /// The bar.
    pub bar: BarIndex,
    /// Its length in quarter notes.
    pub length: Quarters,
    /// Short bars (ends of sections, first endings, the last bar) that make a full bar with it.
    pub complements: Vec<BarIndex>,
}

/// One bar written as several.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Split {
    /// Its first piece.
    pub first: BarIndex,
    /// Its last piece.
    pub last: BarIndex,
}

/// A bar that does not hold what its metre asks for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Uneven {
    /// The bar.
    pub bar: BarIndex,
    /// What is written in the part, in quarter notes.
    pub written: Quarters,
    /// What the metre asks for, in quarter notes.
    pub asked: Quarters,
    /// True for a bar at least twice as long as asked: usually a cadenza, free in time.
    pub cadenza: bool,
}

/// Where sections start and end: repeat signs, double bars, endings.
struct Seams {
    /// Something stands before this bar.
    starts: Vec<bool>,
    /// Something stands after this bar.
    ends: Vec<bool>,
    /// A start-repeat stands before this bar.
    forward: Vec<bool>,
}

fn seams(ctx: &Context, asked: &[Option<Quarters>]) -> Seams {
    let bars = ctx.piece.bars.len();
    let mut seams = Seams {
        starts: vec![false; bars],
        ends: vec![false; bars],
        forward: vec![false; bars],
    };
    let mut set = |list: fn(&mut Seams) -> &mut Vec<bool>, at: usize| {
        if let Some(slot) = list(&mut seams).get_mut(at) {
            *slot = true;
        }
    };
    for line in &ctx.piece.barlines {
        let bar = line.place.bar.get();
        let says = line.repeat.is_some()
            || line.ending.is_some()
            || line.style.as_deref().is_some_and(|s| s != "dashed");
        match line.side {
            BarSide::Left if says => {
                set(|s| &mut s.starts, bar);
                if bar > 0 {
                    set(|s| &mut s.ends, bar - 1);
                }
                if line.repeat.as_ref().is_some_and(|repeat| repeat.forward) {
                    set(|s| &mut s.forward, bar);
                }
            }
            BarSide::Right if says => {
                set(|s| &mut s.ends, bar);
                set(|s| &mut s.starts, bar + 1);
            }
            _ => {}
        }
    }
    // A new metre starts a section, whatever the bar line.
    for (at, pair) in asked.windows(2).enumerate() {
        if pair.first() != pair.last() {
            set(|s| &mut s.ends, at);
            set(|s| &mut s.starts, at + 1);
        }
    }
    set(|s| &mut s.starts, 0);
    if bars > 0 {
        set(|s| &mut s.ends, bars - 1);
    }
    seams
}

/// Judges every bar against the length that its metre asks for (`None` without metre).
pub(super) fn judge(ctx: &Context, voice: &MainVoice, asked: &[Option<Quarters>]) -> Lengths {
    let seams = seams(ctx, asked);
    let bars = &ctx.piece.bars;
    let mut found = Lengths {
        leads: vec![Quarters::ZERO; bars.len()],
        ..Lengths::default()
    };
    let flag = |list: &[bool], at: usize| list.get(at).copied().unwrap_or(false);
    // The pickup that the current section started with, as an index into `found.pickups`.
    let mut section_pickup: Option<usize> = None;
    let mut next = 0;
    while let Some(bar) = bars.get(next) {
        let at = next;
        next += 1;
        if flag(&seams.forward, at) {
            section_pickup = None;
        }
        let Some(full) = asked.get(at).copied().flatten() else {
            continue;
        };
        if is_near(bar.length, full) {
            check_voice(&mut found, voice, at, full);
            continue;
        }
        if bar.length > full {
            push_uneven(&mut found, at, bar.length, full);
            continue;
        }
        let pieces = split_length(ctx, asked, at, full);
        let only_pickup = at == 0 && bars.len() <= 2;
        if let Some(pieces) = pieces.filter(|_| !only_pickup) {
            join_split(&mut found, ctx, at, pieces);
            next = at + pieces;
            // The second half of a bar split at a repeat sign is also the pickup of what follows.
            if pieces == 2 && flag(&seams.starts, at + 1) {
                section_pickup = Some(found.pickups.len());
                let length = ctx
                    .piece
                    .bars
                    .get(at + 1)
                    .map_or(Quarters::ZERO, |bar| bar.length);
                let complements = vec![BarIndex::from_usize(at)];
                found.pickups.push(Pickup {
                    bar: BarIndex::from_usize(at + 1),
                    length,
                    complements,
                });
            }
            continue;
        }
        // A complement is looked for before a pickup: the last bar of a section may be followed by one. Where no
        // sign tells, the longer part of a bar is its end.
        let long = bar.length + bar.length > full;
        let closes = at > 0 && (flag(&seams.ends, at) || long);
        let partner = [section_pickup, (!found.pickups.is_empty()).then_some(0)]
            .into_iter()
            .flatten()
            .find(|pickup| {
                found
                    .pickups
                    .get(*pickup)
                    .is_some_and(|pickup| pickup.length + bar.length == full)
            });
        if closes && let Some(pickup) = partner.and_then(|pickup| found.pickups.get_mut(pickup)) {
            pickup.complements.push(BarIndex::from_usize(at));
        } else if flag(&seams.starts, at) && bars.len() > 1 {
            section_pickup = Some(found.pickups.len());
            set_lead(&mut found, at, full - bar.length);
            found.pickups.push(Pickup {
                bar: BarIndex::from_usize(at),
                length: bar.length,
                complements: Vec::new(),
            });
        } else {
            push_uneven(&mut found, at, bar.length, full);
        }
    }
    found
}

fn set_lead(found: &mut Lengths, at: usize, lead: Quarters) {
    if let Some(slot) = found.leads.get_mut(at) {
        *slot = lead;
    }
}

/// How many short bars from here on make exactly one full bar, under one metre; at most four.
fn split_length(ctx: &Context, asked: &[Option<Quarters>], at: usize, full: Quarters) -> Option<usize> {
    let mut sum = Quarters::ZERO;
    for count in 1..=4 {
        let bar = ctx.piece.bars.get(at + count - 1)?;
        if asked.get(at + count - 1).copied().flatten() != Some(full)
            || bar.length >= full
            || bar.length.is_zero()
        {
            return None;
        }
        sum += bar.length;
        if sum == full {
            return Some(count);
        }
    }
    None
}

fn join_split(found: &mut Lengths, ctx: &Context, at: usize, pieces: usize) {
    let mut lead = Quarters::ZERO;
    for (index, bar) in ctx.piece.bars.iter().enumerate().skip(at).take(pieces) {
        set_lead(found, index, lead);
        lead += bar.length;
    }
    let last = BarIndex::from_usize(at + pieces - 1);
    found.splits.push(Split {
        first: BarIndex::from_usize(at),
        last,
    });
}

fn push_uneven(found: &mut Lengths, at: usize, written: Quarters, asked: Quarters) {
    let cadenza = written >= asked + asked;
    found.uneven.push(Uneven {
        bar: BarIndex::from_usize(at),
        written,
        asked,
        cadenza,
    });
}

/// A bar of the right length in the score may still be written short in this part.
fn check_voice(found: &mut Lengths, voice: &MainVoice, at: usize, full: Quarters) {
    let Some(line) = voice.bars.get(at) else { return };
    if !line.is_silent()
        && !is_near(line.written, full)
        && line.items.last().is_some_and(|item| item.event.is_none())
    {
        push_uneven(found, at, line.written, full);
    }
}

/// Equal but for the rounding of a source that counts in coarse divisions.
pub(super) fn is_near(a: Quarters, b: Quarters) -> bool {
    is_rounding(a - b)
}

/// The beats of a full bar before the pickup comes in, counted: `1 2 3 4 | 1 2 3`.
pub(super) fn count_in(grid: &BeatGrid) -> String {
    // An entry off the felt beat, or unequal beats, are easier to find on the slow count.
    let on_beat = grid.felt.iter().any(|beat| beat.start == grid.lead);
    let first = grid.felt.first().map(|first| first.length);
    let equal = grid.felt.iter().all(|beat| Some(beat.length) == first);
    let beats = if on_beat && equal && grid.felt.len() > 1 {
        &grid.felt
    } else {
        &grid.slow
    };
    let numbers = |until: Quarters| {
        let counted = beats
            .iter()
            .filter(|beat| beat.start < until)
            .map(|beat| beat.number.to_string());
        counted.collect::<Vec<_>>().join(" ")
    };
    let whole = numbers(grid.full);
    if grid.lead.is_zero() {
        whole
    } else {
        format!("{whole} | {}", numbers(grid.lead))
    }
}

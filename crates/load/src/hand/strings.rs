//! Which string, which position? The cheapest way through a line for a bowed string: shifts and string crossings.
//!
//! A layered graph, one layer for each note, each node a string and a place of the hand; the cost between nodes is the
//! shift of the hand and the crossing of the bow, and the cheapest path is found by dynamic programming (the structure
//! that the literature on string fingering uses since Sayegh; from memory). Costs and spans: `common practice`, ours.

use super::{Costs, Line};
use crate::Player;
use crate::keys::key_of;
use instruments::Instrument;

/// Semitones above the first finger's place that the hand covers, the first finger's own included.
/// Violin and viola a fourth from first to fourth finger; cello a major third with the extension; double bass a tone.
fn span(instrument: &Instrument) -> i32 {
    match instrument.id {
        "cello" => 4,
        "double-bass" => 3,
        _ => 6,
    }
}

/// The highest place of the hand that is looked at, in semitones above first position.
const HIGHEST: i32 = 24;

/// One way to take a note.
#[derive(Clone, Copy)]
struct Take {
    string: i32,
    /// Semitones of the first finger above its place in first position (a tone above the open string).
    hand: i32,
    open: bool,
    cost: f64,
    from: usize,
}

/// Costs of shifts and crossings along the cheapest path, in finger movements.
pub(super) fn strings(line: &Line, player: &Player, costs: &mut Costs) {
    let Some(instrument) = player.instrument else {
        return;
    };
    let open: Vec<i32> = instrument.open_strings().iter().copied().map(key_of).collect();
    let Some(path) = cheapest(line, &open, span(instrument)) else {
        return;
    };
    for (note, pair) in path.windows(2).enumerate() {
        let ([Some(before), Some(here)], note) = (pair, note + 1) else {
            continue;
        };
        if line.prepared(note) {
            continue;
        }
        let crossing = crossing(before, here);
        if crossing > 0.0 {
            let strings = (before.string - here.string).abs();
            let why = if strings > 1 {
                format!(
                    "over {} string{} between",
                    strings - 1,
                    if strings > 2 { "s" } else { "" }
                )
            } else {
                "a string crossing".to_owned()
            };
            costs.add(line, note, "string-crossing", crossing, why);
        }
        let shift = shift(before, here);
        if shift > 0.0 {
            let way = if here.hand > before.hand { "up" } else { "down" };
            let to = line.pitch(note).map(notation::Pitch::sign).unwrap_or_default();
            costs.add(line, note, "shift", shift, format!("a shift {way} to {to}"));
        }
    }
    doubled(line, costs);
}

/// Double stops and chords: a movement for each note beyond the first (ours).
fn doubled(line: &Line, costs: &mut Costs) {
    for note in 0..line.len() {
        let heads = line
            .ctx
            .line
            .get(note)
            .and_then(|note| line.ctx.event(note))
            .map_or(0, |event| event.heads().len());
        if heads > 1 {
            let cost = super::count(heads - 1);
            costs.add(
                line,
                note,
                "double-stop",
                cost,
                if heads == 2 { "a double stop" } else { "a chord" },
            );
        }
    }
}

fn crossing(before: &Take, here: &Take) -> f64 {
    match (before.string - here.string).abs() {
        0 => 0.0,
        1 => 0.4,
        more => 0.4 + 0.6 * f64::from(more - 1),
    }
}

fn shift(before: &Take, here: &Take) -> f64 {
    if before.hand == here.hand || here.open || before.open {
        0.0
    } else {
        1.0 + 0.15 * f64::from((before.hand - here.hand).abs())
    }
}

/// The cheapest take of each note; `None` for a note that lies on no string.
fn cheapest(line: &Line, open: &[i32], span: i32) -> Option<Vec<Option<Take>>> {
    if open.is_empty() {
        return None;
    }
    let mut layers: Vec<Vec<Take>> = Vec::with_capacity(line.len());
    for note in 0..line.len() {
        let takes = takes(line.pitch(note).map_or(0, key_of), open, span);
        let before = layers.last().filter(|layer| !layer.is_empty());
        let free = line.prepared(note);
        let takes = takes.into_iter().map(|take| match before {
            Some(layer) => reach(layer, take, free),
            None => take,
        });
        layers.push(takes.collect());
    }
    let mut path = vec![None; layers.len()];
    let mut next: Option<usize> = None;
    for (slot, layer) in path.iter_mut().zip(&layers).rev() {
        let at = next.or_else(|| {
            let ways = layer.iter().enumerate();
            ways.min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))
                .map(|(at, _)| at)
        });
        let take = at.and_then(|at| layer.get(at)).copied();
        next = take.filter(|take| take.from != usize::MAX).map(|take| take.from);
        *slot = take;
    }
    Some(path)
}

fn reach(layer: &[Take], take: Take, free: bool) -> Take {
    let mut best = Take {
        cost: f64::INFINITY,
        ..take
    };
    for (from, before) in layer.iter().enumerate() {
        // An open string leaves the hand where it was.
        let hand = if take.open { before.hand } else { take.hand };
        let here = Take { hand, ..take };
        let moved = if before.hand == hand {
            0.0
        } else {
            1.0 + 0.15 * f64::from((before.hand - hand).abs())
        };
        let way = if free {
            0.0
        } else {
            moved + crossing(before, &here)
        };
        let cost = before.cost + way + take.cost;
        if cost < best.cost {
            best = Take { cost, from, ..here };
        }
    }
    best
}

/// Every way to take a pitch: open, or with the hand anywhere that covers it.
fn takes(key: i32, open: &[i32], span: i32) -> Vec<Take> {
    let mut takes = Vec::new();
    for (string, low) in (0..).zip(open) {
        let above = key - low;
        if above < 0 {
            continue;
        }
        let take = |hand, open, cost| Take {
            string,
            hand,
            open,
            cost,
            from: usize::MAX,
        };
        if above == 0 {
            takes.push(take(0, true, 0.0));
            continue;
        }
        // In first position the first finger stands a tone above the open string, and reaches back a semitone.
        let lowest = (above - span - 1).max(0);
        let highest = (above - 1).min(HIGHEST);
        takes.extend(
            (lowest..=highest)
                .filter(|hand| *hand == 0 || above - hand >= 1)
                .map(|hand| {
                    // High places and low strings in high positions are the harder ones.
                    take(hand, false, 0.05 * f64::from(hand))
                }),
        );
    }
    takes
}

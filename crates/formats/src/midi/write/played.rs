//! Which bars sound, and when? The bars in the order asked for, each with its start in quarter notes.

use notation::{BarIndex, Piece, Quarters};

/// One sounding of a bar.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Played {
    pub bar: BarIndex,
    /// Quarter notes from the start.
    pub start: Quarters,
    pub length: Quarters,
    /// How often the bar sounded before.
    pub pass: usize,
}

/// More soundings of bars than any performance has.
const MOST_BARS: usize = 200_000;

/// The bars in an order, or as written. Bars that don't exist, or have no length one can count, are left out.
pub(super) fn played(piece: &Piece, order: Option<&[BarIndex]>) -> Vec<Played> {
    let written: Vec<BarIndex> = (0..piece.bars.len()).map(BarIndex::from_usize).collect();
    let mut passes = vec![0; piece.bars.len()];
    let mut start = Quarters::ZERO;
    let mut bars = Vec::new();
    for bar in order.unwrap_or(&written).iter().take(MOST_BARS) {
        let (Some(of), Some(pass)) = (piece.bars.get(bar.get()), passes.get_mut(bar.get())) else {
            continue;
        };
        let next = start + of.length;
        if next.is_overflow() || of.length.is_negative() {
            continue;
        }
        bars.push(Played {
            bar: *bar,
            start,
            length: of.length,
            pass: *pass,
        });
        *pass += 1;
        start = next;
    }
    bars
}

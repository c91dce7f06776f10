//! Which bar of a corrected file is which? The best way of laying its bars beside the old ones, in order, by what they hold.
//!
//! Global alignment by dynamic programming. Source: S. B. Needleman and C. D. Wunsch, "A general method applicable to the search
//! for similarities in the amino acid sequence of two proteins", J. Mol. Biol. 48 (1970), 443-453; what two bars count is their
//! likeness note by note (`within.rs`), a bar left out counts nothing.

use super::{Bars, OneBar, within};
use std::collections::BTreeMap;

/// What two bars must be alike, of 1000, before one is taken for the other: less than a bar of the same rhythm at other
/// pitches (500), more than one that shares a single note.
const ALIKE: u32 = 350;
/// Most pairs of bars that are weighed (both files have 4000 bars that all differ); past it, only equal bars are laid beside each other.
const MOST_PAIRS: usize = 16_000_000;

/// For each old bar the new bar that it is.
pub(crate) fn align(old: &Bars, new: &Bars) -> Vec<Option<usize>> {
    let (old, new) = (old.all(), new.all());
    let mut map = vec![None; old.len()];
    // What is equal at both ends needs no weighing.
    let front = old.iter().zip(new).take_while(|(a, b)| a.text == b.text).count();
    let rest = (old.len() - front).min(new.len() - front);
    let back = old
        .iter()
        .rev()
        .zip(new.iter().rev())
        .take(rest)
        .take_while(|(a, b)| a.text == b.text)
        .count();
    let middle = (
        old.get(front..old.len() - back).unwrap_or(&[]),
        new.get(front..new.len() - back).unwrap_or(&[]),
    );
    let weighed = if middle.0.len().saturating_mul(middle.1.len()) <= MOST_PAIRS {
        weigh(middle.0, middle.1)
    } else {
        equal_in_order(middle.0, middle.1)
    };
    for (at, slot) in map.iter_mut().enumerate() {
        *slot = if at < front {
            Some(at)
        } else if at >= old.len() - back {
            Some(at + new.len() - old.len())
        } else {
            weighed.get(at - front).copied().flatten().map(|to| to + front)
        };
    }
    fill_rewritten(&mut map, new.len());
    map
}

/// Kinds of bars: equal bars are weighed once.
fn kinds<'a>(bars: &'a [OneBar], known: &mut BTreeMap<&'a str, usize>) -> Vec<usize> {
    bars.iter()
        .map(|bar| {
            let next = known.len();
            *known.entry(&bar.text).or_insert(next)
        })
        .collect()
}

fn weigh(old: &[OneBar], new: &[OneBar]) -> Vec<Option<usize>> {
    let mut known = BTreeMap::new();
    let (old_kinds, new_kinds) = (kinds(old, &mut known), kinds(new, &mut known));
    let mut weighed: BTreeMap<(usize, usize), u32> = BTreeMap::new();
    // Equal labels decide between bars that are equally alike.
    let mut gain = |i: usize, j: usize| -> u32 {
        let (Some(was), Some(is), Some(a), Some(b)) =
            (old.get(i), new.get(j), old_kinds.get(i), new_kinds.get(j))
        else {
            return 0;
        };
        let alike = *weighed
            .entry((*a, *b))
            .or_insert_with(|| within::pairs(was, is).1);
        if alike < ALIKE {
            return 0;
        }
        // An equal bar is worth more than two that are only like: one taken out and one put in beside it must not push it aside.
        let equal = if a == b { 2 } else { 1 };
        (alike - ALIKE + 1) * 4 * equal + u32::from(was.label == is.label)
    };
    // Steps: 0 both, 1 the old bar is left out, 2 the new one.
    let width = new.len() + 1;
    let mut steps = vec![0_u8; (old.len() + 1) * width];
    let mut below = vec![0_u64; width];
    for i in (0..old.len()).rev() {
        let mut row = vec![0_u64; width];
        for j in (0..new.len()).rev() {
            let (skip_old, skip_new) = (at(&below, j), at(&row, j + 1));
            let own = gain(i, j);
            let both = if own > 0 {
                u64::from(own) + at(&below, j + 1)
            } else {
                0
            };
            let (step, most) = if own > 0 && both >= skip_old && both >= skip_new {
                (0, both)
            } else if skip_old >= skip_new {
                (1, skip_old)
            } else {
                (2, skip_new)
            };
            if let Some(cell) = row.get_mut(j) {
                *cell = most;
            }
            if let Some(cell) = steps.get_mut(i * width + j) {
                *cell = step;
            }
        }
        below = row;
    }
    let mut map = vec![None; old.len()];
    let (mut i, mut j) = (0, 0);
    while i < old.len() && j < new.len() {
        match steps.get(i * width + j) {
            Some(0) => {
                if let Some(slot) = map.get_mut(i) {
                    *slot = Some(j);
                }
                (i, j) = (i + 1, j + 1);
            }
            Some(1) => i += 1,
            _ => j += 1,
        }
    }
    map
}

fn at(row: &[u64], index: usize) -> u64 {
    row.get(index).copied().unwrap_or(0)
}

/// For files too large to be weighed: each old bar beside the next new bar that is equal, if it comes soon.
fn equal_in_order(old: &[OneBar], new: &[OneBar]) -> Vec<Option<usize>> {
    const SOON: usize = 400;
    let mut next = 0;
    old.iter()
        .map(|bar| {
            let found = new
                .iter()
                .enumerate()
                .skip(next)
                .take(SOON)
                .find(|(_, is)| is.text == bar.text)
                .map(|(to, _)| to);
            if let Some(to) = found {
                next = to + 1;
            }
            found
        })
        .collect()
}

/// Between two bars that are known, as many old bars as new ones that nothing is like: they were written anew, in order.
fn fill_rewritten(map: &mut [Option<usize>], new_len: usize) {
    let mut start = 0;
    while start < map.len() {
        if map.get(start).copied().flatten().is_some() {
            start += 1;
            continue;
        }
        let gap = map.iter().skip(start).take_while(|slot| slot.is_none()).count();
        let before = start
            .checked_sub(1)
            .and_then(|bar| map.get(bar).copied().flatten())
            .map_or(0, |to| to + 1);
        let after = map.get(start + gap).copied().flatten().unwrap_or(new_len);
        if after.checked_sub(before) == Some(gap) {
            for (nth, slot) in map.iter_mut().skip(start).take(gap).enumerate() {
                *slot = Some(before + nth);
            }
        }
        start += gap;
    }
}

//! Which note of a corrected bar is which? The best way of laying its notes beside those that were, in order.

use super::{OneBar, OneNote};

/// What a note counts that is just what it was.
const SAME: u32 = 100;

/// How alike two notes are, from 0 to [`SAME`]; what is worth nothing is never taken for the other.
///
/// Chosen so that a corrected pitch (place and length stay) counts more than a note that only stands at the same place, and a
/// note moved in its bar (pitch stays) more than both; the tests of carrying hold them to what a reader would say.
fn likeness(old: &OneNote, new: &OneNote) -> u32 {
    let (place, length, pitch) = (
        old.offset == new.offset,
        old.duration == new.duration,
        old.pitch == new.pitch,
    );
    let rests = (old.pitch == "r", new.pitch == "r");
    if rests.0 != rests.1 || old.grace.is_some() != new.grace.is_some() {
        return 0;
    }
    if rests.0 {
        return match (place, length) {
            (true, true) => SAME,
            (true, false) => 40,
            (false, true) => 30,
            (false, false) => 10,
        };
    }
    match (pitch, place, length) {
        (true, true, true) => SAME,
        (true, true, false) => 90,
        (true, false, true) => 70,
        (true, false, false) => 60,
        (false, true, true) => 50,
        (false, true, false) => 35,
        _ => 0,
    }
}

/// For each note of the old bar the note of the new one that it is; and how alike the bars are, from 0 to 1000.
pub(super) fn pairs(old: &OneBar, new: &OneBar) -> (Vec<Option<usize>>, u32) {
    let (rows, columns) = (old.notes.len(), new.notes.len());
    if old.text == new.text {
        return ((0..rows).map(Some).collect(), 1000);
    }
    // best[i][j]: the most that the notes from i and from j on can count.
    let mut best = vec![vec![0_u32; columns + 1]; rows + 1];
    let at =
        |best: &[Vec<u32>], i: usize, j: usize| best.get(i).and_then(|row| row.get(j)).copied().unwrap_or(0);
    for (i, was) in old.notes.iter().enumerate().rev() {
        for (j, is) in new.notes.iter().enumerate().rev() {
            let alike = likeness(was, is);
            let both = if alike > 0 {
                alike + at(&best, i + 1, j + 1)
            } else {
                0
            };
            let most = both.max(at(&best, i + 1, j)).max(at(&best, i, j + 1));
            if let Some(cell) = best.get_mut(i).and_then(|row| row.get_mut(j)) {
                *cell = most;
            }
        }
    }
    let mut paired = vec![None; rows];
    let (mut i, mut j) = (0, 0);
    while let (Some(was), Some(is)) = (old.notes.get(i), new.notes.get(j)) {
        let alike = likeness(was, is);
        if alike > 0 && at(&best, i, j) == alike + at(&best, i + 1, j + 1) {
            if let Some(pair) = paired.get_mut(i) {
                *pair = Some(j);
            }
            (i, j) = (i + 1, j + 1);
        } else if at(&best, i, j) == at(&best, i + 1, j) {
            i += 1;
        } else {
            j += 1;
        }
    }
    let all = u32::try_from(rows + columns).unwrap_or(u32::MAX).max(1);
    // Equal notes in a bar of another length: nearly, not quite the same.
    (
        paired,
        (20_u64 * u64::from(at(&best, 0, 0)) / u64::from(all))
            .min(999)
            .try_into()
            .unwrap_or(999),
    )
}

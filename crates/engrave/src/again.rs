//! Should the part be engraved a second time, with lines ending elsewhere? Where a page turn falls on a rest that way, or, with
//! white space between phrases, where lines can end with them.

use crate::boxes;
use crate::breaking::{self, Wish};
use crate::layout;
use crate::look::{Edition, Look};
use crate::printable::{Printable, job};
use job::{Breaks, Engraved};
use notation::{BarIndex, Piece};
use std::collections::BTreeMap;

/// A second job, if the first one's lines end where they had better not; then that is to be engraved and laid out. The second
/// is final.
///
/// For page turns it is asked for only if a turn of the first has no rest to be made in, and a rest is near enough to be
/// brought there.
#[must_use]
pub fn again(
    piece: &Piece,
    look: &Look,
    printable: &Printable,
    engraved: &Engraved,
    svgs: &[String],
) -> Option<Printable> {
    if printable.ask.breaks != Breaks::Flow || look.edition == Edition::Strip {
        return None;
    }
    let complete = boxes::complete(engraved, svgs, printable.ask.width);
    let mut wishes: BTreeMap<BarIndex, Wish> = BTreeMap::new();
    for bar in layout::turns_wanted(piece, look, printable, &complete.engraved) {
        wishes.entry(bar).or_default().must = true;
    }
    if look.edition == Edition::Spaced {
        for place in look.phrase_starts.iter().filter(|place| place.offset.is_zero()) {
            wishes.entry(place.bar).or_default().rather = true;
        }
    }
    if wishes.is_empty() {
        return None;
    }
    let (bars, head) = breaking::drawn(piece, &complete.engraved);
    let starts = breaking::lines(&bars, &wishes, printable.ask.width - head);
    let as_before = bars
        .iter()
        .filter(|bar| bar.begins_line)
        .map(|bar| bar.bar)
        .eq(starts.iter().copied());
    if as_before {
        return None;
    }
    let mut broken = piece.clone();
    for (index, bar) in broken.bars.iter_mut().enumerate() {
        bar.new_page = false;
        bar.new_system = index > 0 && starts.binary_search(&BarIndex::from_usize(index)).is_ok();
    }
    Some(job(&broken, look, Breaks::AsMarked))
}

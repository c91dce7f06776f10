//! Which bars stand in which engraved system? Bars that are drawn as one sign with others belong to the system of that sign.

use job::Engraved;
use notation::{BarIndex, PencilMark, Piece};
use std::collections::BTreeMap;
use std::ops::Range;

/// For each system the bars from its first up to the next system's first. A system without bars has an empty range.
pub(crate) fn bars(piece: &Piece, engraved: &Engraved, last: BarIndex) -> Vec<Range<u32>> {
    let by_id: BTreeMap<String, BarIndex> = piece
        .bars
        .iter()
        .enumerate()
        .map(|(index, bar)| (bar.id.to_string(), BarIndex::from_usize(index)))
        .collect();
    let firsts: Vec<Option<BarIndex>> = engraved
        .systems
        .iter()
        .map(|system| {
            let measures = system.boxes.iter().filter(|boxed| boxed.class == "measure");
            measures
                .filter_map(|boxed| by_id.get(boxed.id.as_str()).copied())
                .min()
        })
        .collect();
    let mut next = last.0.saturating_add(1);
    let mut ranges: Vec<Range<u32>> = firsts
        .iter()
        .rev()
        .map(|first| {
            let start = first.map_or(next, |bar| bar.0).min(next);
            let range = start..next;
            next = start;
            range
        })
        .collect();
    ranges.reverse();
    ranges
}

/// Whether a mark reaches into bars.
pub(crate) fn touches(mark: &PencilMark, bars: &Range<u32>) -> bool {
    let (from, to) = (mark.from.place.bar.0, mark.end().place.bar.0);
    !bars.is_empty() && from.min(to) < bars.end && to.max(from) >= bars.start
}

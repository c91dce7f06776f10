//! Which bars stand in which engraved system? Bars that are drawn as one sign with others belong to the system of that sign.

use job::Engraved;
use notation::{BarIndex, PencilMark, Piece};
use std::collections::BTreeMap;
use std::ops::Range;

/// For each system the bars from its first up to the next system's first. A system without bars has an empty range.
pub(crate) fn bars(piece: &Piece, engraved: &Engraved, last: BarIndex) -> Vec<Range<u32>> {
    let by_id = by_id(piece);
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

/// For each system the bars drawn in it and no others: for passages that don't follow each other.
pub(crate) fn own_bars(piece: &Piece, engraved: &Engraved) -> Vec<Range<u32>> {
    let by_id = by_id(piece);
    let of = |system: &job::System| {
        let measures = system.boxes.iter().filter(|boxed| boxed.class == "measure");
        let bars = measures.filter_map(|boxed| by_id.get(boxed.id.as_str()).copied());
        let (first, last) = bars.fold((u32::MAX, 0), |(first, last), bar| {
            (first.min(bar.0), last.max(bar.0))
        });
        if first > last {
            0..0
        } else {
            first..last.saturating_add(1)
        }
    };
    engraved.systems.iter().map(of).collect()
}

/// The bars by the names they are drawn under.
pub(crate) fn by_id(piece: &Piece) -> BTreeMap<String, BarIndex> {
    let bars = piece.bars.iter().enumerate();
    bars.map(|(index, bar)| (bar.id.to_string(), BarIndex::from_usize(index)))
        .collect()
}

/// Whether a mark reaches into bars.
pub(crate) fn touches(mark: &PencilMark, bars: &Range<u32>) -> bool {
    let (from, to) = (mark.from.place.bar.0, mark.end().place.bar.0);
    !bars.is_empty() && from.min(to) < bars.end && to.max(from) >= bars.start
}

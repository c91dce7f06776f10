//! What stands under the sign that repeats a bar? The notes of the bar before, where the source leaves its bar empty.
//!
//! MusicXML writes them out beneath the sign, MEI's `mRpt` does not: with them the part holds what the player plays.

use super::Score;
use notation::{
    Anchor, BarGroupKind, BarIndex, Event, EventKind, How, Id, IdKind, Origin, Part, Quarters, Span,
};
use std::collections::BTreeMap;

/// More notes than signs repeat in any score; the bars after them stay empty, with a finding.
const MOST_REPEATED: usize = 20_000;

/// Fills the empty bars under measure repeats with the bars that they repeat.
pub(crate) fn fill(score: &mut Score) {
    let mut left = MOST_REPEATED;
    for index in 0..score.piece.parts.len() {
        let empty = empty_bars(score, index);
        if empty.is_empty() {
            continue;
        }
        let mut bars = by_bar(score.piece.parts.get(index));
        for (bar, from) in empty {
            let Some(read) = bars.get(&from).cloned() else {
                continue;
            };
            let Some(rest) = left.checked_sub(read.0.len()) else {
                let what = "signs repeat more bars than could be filled; the further ones stay empty";
                return score.caution("bar-repeats-many", what, "read these bars on the page");
            };
            left = rest;
            let read = copy(score, index, (bar, from), read);
            bars.insert(bar, read);
        }
        if let Some(part) = score.piece.parts.get_mut(index) {
            part.spans
                .sort_by_key(|span| span.start.or(span.end).map(|anchor| anchor.place));
        }
    }
}

/// The events and spans of a bar.
type Read = (Vec<Event>, Vec<Span>);

/// What stands in each bar of a part: its events, and the spans that start there.
fn by_bar(part: Option<&Part>) -> BTreeMap<u32, Read> {
    let mut bars: BTreeMap<u32, Read> = BTreeMap::new();
    let Some(part) = part else { return bars };
    for event in &part.events {
        bars.entry(event.place.bar.0).or_default().0.push(event.clone());
    }
    for span in &part.spans {
        if let Some(start) = span.start {
            bars.entry(start.place.bar.0).or_default().1.push(span.clone());
        }
    }
    bars
}

/// The bars of a part that a sign repeats and that hold nothing, each with the bar to be read for it.
fn empty_bars(score: &Score, index: usize) -> Vec<(u32, u32)> {
    let Some(part) = score.piece.parts.get(index) else {
        return Vec::new();
    };
    let patterns: Vec<(u32, u32, u32)> = part
        .bar_groups
        .iter()
        .filter_map(|group| match group.kind {
            BarGroupKind::MeasureRepeat { pattern } => Some((group.start.0, group.bars, pattern.max(1))),
            _ => None,
        })
        .collect();
    if patterns.is_empty() {
        return Vec::new();
    }
    let bars = u32::try_from(score.piece.bars.len()).unwrap_or(u32::MAX);
    let mut filled = vec![false; score.piece.bars.len()];
    for event in &part.events {
        filled
            .get_mut(event.place.bar.get())
            .into_iter()
            .for_each(|bar| *bar = true);
    }
    let is_empty = |bar: u32| filled.get(BarIndex(bar).get()) == Some(&false);
    patterns
        .into_iter()
        .flat_map(|(start, count, pattern)| {
            (start..start.saturating_add(count).min(bars)).map(move |bar| (bar, pattern))
        })
        .filter(|(bar, _)| is_empty(*bar))
        .filter_map(|(bar, pattern)| Some((bar, bar.checked_sub(pattern)?)))
        .collect()
}

/// Reads a bar once more in the place of another; what now stands there.
fn copy(score: &mut Score, index: usize, (bar, from): (u32, u32), (events, spans): Read) -> Read {
    let end = events.iter().map(Event::end_offset).max().unwrap_or_default();
    let mut given = BTreeMap::new();
    let mut again = Vec::with_capacity(events.len());
    for event in events {
        let id = implied(score, IdKind::Event);
        given.insert(event.id, id);
        again.push(moved(score, event, id, BarIndex(bar), end));
    }
    let mut reach = Vec::new();
    for span in spans {
        let (Some(start), Some(stop)) = (
            anchored(span.start, &given, BarIndex(bar)),
            anchored(span.end, &given, BarIndex(bar)),
        ) else {
            continue;
        };
        reach.push(Span {
            id: implied(score, IdKind::Span),
            start: Some(start),
            end: Some(stop),
            ..span
        });
    }
    if let Some(part) = score.piece.parts.get_mut(index) {
        part.events.extend(again.iter().cloned());
        part.spans.extend(reach.iter().cloned());
    }
    if let Some(facts) = score.facts.get_mut(index) {
        let content = facts.get(BarIndex(from).get()).map(|bar| bar.content);
        if let (Some(content), Some(to)) = (content, facts.get_mut(BarIndex(bar).get())) {
            to.content = to.content.max(content);
        }
    }
    (again, reach)
}

/// A new id of something that the sign implies.
fn implied(score: &mut Score, kind: IdKind) -> Id {
    let id = score.piece.ids.give(kind);
    let origin = Origin {
        how: How::Implied,
        ..Origin::default()
    };
    score.piece.provenance.origins.insert(id, origin);
    id
}

/// An event in another bar: ties over the bar line and syllables belong to the bar that is printed.
fn moved(score: &mut Score, mut event: Event, id: Id, bar: BarIndex, end: Quarters) -> Event {
    event.id = id;
    event.place.bar = bar;
    event.lyrics.clear();
    let (first, last) = (event.place.offset.is_zero(), event.end_offset() == end);
    if let EventKind::Chord(heads) = &mut event.kind {
        for head in heads {
            head.id = score.piece.ids.give(IdKind::Head);
            head.tie_stop &= !first;
            head.tie_start &= !last;
        }
    }
    event
}

/// The end of a span at the same note of the new bar; `None` if it isn't held to a note of the bar.
fn anchored(anchor: Option<Anchor>, given: &BTreeMap<Id, Id>, bar: BarIndex) -> Option<Anchor> {
    let mut anchor = anchor?;
    anchor.element = Some(*given.get(&anchor.element?)?);
    anchor.place.bar = bar;
    Some(anchor)
}

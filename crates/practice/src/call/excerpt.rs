//! How does a cut become a piece of its own? Whole bars first, then what lies before its first note and after its end is taken off.

use super::find::Found;
use super::tempo::Asked;
use notation::{
    Anchor, BarIndex, Direction, DirectionKind, Event, EventKind, IdKind, Piece, Place, Quarters, SpanKind,
};

/// The cut of a piece's first part as a piece: it begins with its first note, and nothing sounds or counts after its end. Bars
/// keep their printed numbers, events their ids. A bar that is begun late is a pickup, one that ends early is short.
#[must_use]
pub fn excerpt(piece: &Piece, found: &Found) -> Piece {
    let mut cut = notation::excerpt(piece, found.bars.from, found.bars.to);
    let last = BarIndex(found.bars.to.0.saturating_sub(found.bars.from.0));
    // The end first: offsets of a bar that is both first and last still count from its start.
    if found.until.bar == found.bars.to {
        end_at(&mut cut, last, found.until.offset);
    }
    begin_at(&mut cut, found.from.offset);
    let bars = cut.bars.len();
    for part in &mut cut.parts {
        part.index_bars(bars);
    }
    cut
}

/// The same with the tempo that is asked for over its first note, or else the metronome mark that is in force there.
#[must_use]
pub fn with_tempo(piece: &Piece, found: &Found, asked: Option<&Asked>) -> Piece {
    let mut cut = excerpt(piece, found);
    let Some(part) = cut.parts.first_mut() else {
        return cut;
    };
    let start = Place::start_of(BarIndex(0));
    let is_mark = |direction: &Direction| matches!(direction.kind, DirectionKind::Metronome(_));
    let kind = match asked {
        Some(asked) => {
            part.directions
                .retain(|direction| !(is_mark(direction) && direction.place == start));
            super::errata::metronome(asked)
        }
        None => {
            let before = piece.parts.first().map_or(&[][..], |part| &part.directions);
            let mut before = before
                .iter()
                .filter(|direction| is_mark(direction) && direction.place <= found.from);
            let stands = part
                .directions
                .iter()
                .any(|direction| is_mark(direction) && direction.place == start);
            match before.next_back() {
                Some(last) if !stands => last.kind.clone(),
                _ => return cut,
            }
        }
    };
    let id = cut.ids.give(IdKind::Direction);
    part.directions.insert(
        0,
        Direction {
            id,
            place: start,
            staff: None,
            voice: None,
            side: None,
            printed: true,
            kind,
        },
    );
    cut
}

/// Takes off what begins at or after an offset of the last bar, and shortens what reaches over it.
fn end_at(cut: &mut Piece, last: BarIndex, end: Quarters) {
    let Some(bar) = cut.bars.get_mut(last.get()) else {
        return;
    };
    let whole = end >= bar.length;
    bar.length = bar.length.min(end);
    let after = |place: Place| place.bar == last && place.offset >= end;
    for part in &mut cut.parts {
        if !whole {
            // Grace notes at the end lead to a note that is not played.
            part.events.retain(|event| !after(event.place));
            for event in part.events.iter_mut().filter(|event| event.place.bar == last) {
                let room = end - event.place.offset;
                if event.duration > room {
                    event.duration = room;
                    event.written = None;
                }
            }
            part.directions.retain(|direction| !after(direction.place));
            part.clefs.retain(|change| !after(change.place));
            part.keys.retain(|change| !after(change.place));
            part.metres.retain(|change| !after(change.place));
            part.bar_groups.retain(|group| group.start != last);
        }
        loosen_ties(&mut part.events);
        let events = std::mem::take(&mut part.events);
        for span in &mut part.spans {
            for anchor in [&mut span.start, &mut span.end].into_iter().flatten() {
                hold(
                    anchor,
                    &events,
                    Place {
                        bar: last,
                        offset: end,
                    },
                    !whole,
                );
            }
        }
        part.spans.retain(|span| keeps_both_ends(span, &events));
        part.events = events;
    }
    if !whole {
        cut.barlines.retain(|line| {
            !(line.place.bar == last && line.place.offset >= end && line.side != notation::BarSide::Left)
        });
    }
}

/// Takes off what ends before an offset of the first bar, and moves the rest of that bar to its start.
fn begin_at(cut: &mut Piece, from: Quarters) {
    let first = BarIndex(0);
    if !from.is_positive() {
        return;
    }
    if let Some(bar) = cut.bars.first_mut() {
        bar.length -= from;
        bar.implicit = true;
    }
    let before = |place: Place| place.bar == first && place.offset < from;
    let moved = |place: &mut Place| {
        if place.bar == first {
            place.offset = if place.offset > from {
                place.offset - from
            } else {
                Quarters::ZERO
            };
        }
    };
    for part in &mut cut.parts {
        part.events.retain(|event| !before(event.place));
        for direction in part.directions.iter_mut() {
            moved(&mut direction.place);
        }
        part.events.iter_mut().for_each(|event| moved(&mut event.place));
        part.clefs.iter_mut().for_each(|change| moved(&mut change.place));
        part.keys.iter_mut().for_each(|change| moved(&mut change.place));
        part.metres.iter_mut().for_each(|change| moved(&mut change.place));
        part.transpositions
            .iter_mut()
            .for_each(|change| moved(&mut change.place));
        part.bar_groups.retain(|group| group.start != first);
        for head in part.events.iter_mut().flat_map(heads_mut) {
            // Tied from a note that is not played.
            if head.1 == Place::start_of(first) {
                head.0.tie_stop = false;
            }
        }
        let events = std::mem::take(&mut part.events);
        for span in &mut part.spans {
            for anchor in [&mut span.start, &mut span.end].into_iter().flatten() {
                moved(&mut anchor.place);
                hold(anchor, &events, Place::start_of(first), true);
            }
        }
        part.spans.retain(|span| keeps_both_ends(span, &events));
        part.events = events;
    }
    for line in &mut cut.barlines {
        moved(&mut line.place);
    }
}

fn heads_mut(event: &mut Event) -> impl Iterator<Item = (&mut notation::Head, Place)> {
    let place = event.place;
    let heads = match &mut event.kind {
        EventKind::Chord(heads) => Some(heads),
        _ => None,
    };
    heads.into_iter().flatten().map(move |head| (head, place))
}

/// The last notes are tied to nothing.
fn loosen_ties(events: &mut [Event]) {
    let end = events
        .iter()
        .map(|event| (event.place.bar, event.place.offset + event.duration))
        .max();
    for event in events {
        if Some((event.place.bar, event.place.offset + event.duration)) == end {
            for (head, _) in heads_mut(event) {
                head.tie_start = false;
            }
        }
    }
}

/// An anchor whose event is gone holds on to a place instead.
fn hold(anchor: &mut Anchor, events: &[Event], place: Place, cut_there: bool) {
    let Some(element) = anchor.element else { return };
    let there = events
        .iter()
        .any(|event| event.id == element || event.heads().iter().any(|head| head.id == element));
    if !there && cut_there {
        *anchor = Anchor { place, element: None };
    }
}

/// Spans that can't do with half of themselves go; a slur, a hairpin or an ottava may be cut if something of it is left.
fn keeps_both_ends(span: &notation::Span, events: &[Event]) -> bool {
    let (Some(start), Some(end)) = (span.start, span.end) else {
        return true;
    };
    if start.place > end.place {
        return false;
    }
    let open = start.element.is_none() || end.element.is_none();
    match span.kind {
        SpanKind::Tuplet { .. } | SpanKind::TremoloPair { .. } | SpanKind::Glissando | SpanKind::Slide => {
            !open
        }
        SpanKind::Slur => {
            let inside =
                |event: &&Event| event.is_note() && event.place >= start.place && event.place <= end.place;
            !open || events.iter().filter(inside).count() > 1
        }
        _ => true,
    }
}

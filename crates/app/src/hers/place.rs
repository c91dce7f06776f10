//! Where on the part did she touch? The note nearest to the point in its bar, and the mark that lies under it.

use crate::prepared::Prepared;
use notation::{Anchor, BarIndex, Event, Id, PencilSign, Place};
use serde::Deserialize;

/// A touch of the page.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Touch {
    /// The bar.
    pub bar: u32,
    /// The page.
    pub page: usize,
    /// From its left and upper edge, in millimetres.
    pub x: f64,
    /// From its upper edge, in millimetres.
    pub y: f64,
}

/// The note or rest nearest to a touch; the bar's beginning where it has none.
pub(super) fn nearest(part: &Prepared, touch: &Touch) -> Option<Anchor> {
    let bar = BarIndex(touch.bar);
    part.copy.piece.bars.get(bar.get())?;
    let away = |event: &&Event| {
        let spots = part.copy.laid.places.of.get(&event.id)?;
        let spot = spots.iter().find(|spot| spot.page == touch.page)?;
        Some((spot.rect_mm.x + spot.rect_mm.w / 2.0 - touch.x).abs())
    };
    let events = events(part, bar)
        .iter()
        .filter(|event| event.is_note() && !event.is_grace());
    let near = events.filter_map(|event| Some((away(&event)?, event)));
    let found = near
        .min_by(|(one, _), (other, _)| one.total_cmp(other))
        .map(|(_, event)| event);
    Some(found.map_or_else(|| beginning(bar), anchor_of))
}

/// A note by its id.
pub(super) fn by_id(part: &Prepared, bar: u32, id: &str) -> Option<Anchor> {
    let event = events(part, BarIndex(bar))
        .iter()
        .find(|event| event.id.to_string() == id)?;
    Some(anchor_of(event))
}

/// The beginning of a bar.
pub(super) fn beginning(bar: BarIndex) -> Anchor {
    Anchor {
        place: Place::start_of(bar),
        element: None,
    }
}

/// The last moment of a bar that something stands at.
pub(super) fn end(part: &Prepared, bar: BarIndex) -> Anchor {
    events(part, bar)
        .iter()
        .rfind(|event| !event.is_grace())
        .map_or_else(|| beginning(bar), anchor_of)
}

pub(super) fn anchor_of(event: &Event) -> Anchor {
    Anchor {
        place: event.place,
        element: Some(event.heads().first().map_or(event.id, |head| head.id)),
    }
}

/// Where a sign that is put before a note stands: a comma hangs on the note that it comes after.
pub(super) fn stands(part: &Prepared, sign: PencilSign, from: Anchor) -> Anchor {
    if !matches!(sign, PencilSign::Breath | PencilSign::SlowBreath) {
        return from;
    }
    let events = part.copy.piece.parts.first().map_or(&[][..], |of| &of.events);
    let before = events
        .iter()
        .filter(|event| event.is_note() && !event.is_grace() && event.place < from.place)
        .max_by_key(|event| event.place);
    before.map_or(from, anchor_of)
}

pub(super) fn events(part: &Prepared, bar: BarIndex) -> &[Event] {
    let of = part.copy.piece.parts.first();
    of.map_or(&[][..], |of| of.bar_events(bar))
}

/// The event of an anchor.
pub(super) fn event(part: &Prepared, anchor: &Anchor) -> Option<Id> {
    let here = events(part, anchor.place.bar);
    let is = |event: &&Event| {
        Some(event.id) == anchor.element || event.heads().iter().any(|head| Some(head.id) == anchor.element)
    };
    here.iter().find(is).map(|event| event.id)
}

/// How far from a mark a touch may be, in millimetres: half a fingertip.
const NEAR_MM: f64 = 3.0;

/// The mark under a touch, as an index into the copy's marks: the smallest that is near.
pub(super) fn mark_at(part: &Prepared, touch: &Touch) -> Option<usize> {
    let marks = part.copy.laid.places.marks.iter().enumerate();
    let near = marks.filter_map(|(index, spots)| {
        let here = spots.iter().filter(|spot| spot.page == touch.page);
        let hit = here.filter(|spot| {
            let rect = &spot.rect_mm;
            touch.x >= rect.x - NEAR_MM
                && touch.x <= rect.x + rect.w + NEAR_MM
                && touch.y >= rect.y - NEAR_MM
                && touch.y <= rect.bottom() + NEAR_MM
        });
        hit.map(|spot| spot.rect_mm.w * spot.rect_mm.h)
            .min_by(f64::total_cmp)
            .map(|area| (area, index))
    });
    near.min_by(|(one, _), (other, _)| one.total_cmp(other))
        .map(|(_, index)| index)
}

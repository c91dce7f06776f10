//! Where does white space stand between phrases? At the start of each, unless it starts under a beam or inside a tuplet, where
//! space would tear apart what belongs together.

use crate::look::{Edition, Look};
use notation::{BarIndex, Beam, Event, Part, Piece, Place};
use std::collections::BTreeSet;

/// The places before which white space is set. None is needed where a line begins: with the bars marked so, if `marked`.
pub(crate) fn spaces(piece: &Piece, look: &Look, marked: bool) -> BTreeSet<Place> {
    let Some(part) = piece.parts.first().filter(|_| look.edition == Edition::Spaced) else {
        return BTreeSet::new();
    };
    let starts = look
        .phrase_starts
        .iter()
        .copied()
        .filter(|place| *place > Place::default());
    starts
        .filter(|place| match place.bar.0.checked_sub(1).map(BarIndex) {
            Some(before) if place.offset.is_zero() => {
                let begins_line = marked && piece.bars.get(place.bar.get()).is_some_and(|bar| bar.new_system);
                // A bar without notes is white already.
                !begins_line && part.bar_events(before).iter().any(Event::is_note)
            }
            _ => is_free(part, *place),
        })
        .collect()
}

/// Whether something of the bar starts at the place and nothing is joined over it.
fn is_free(part: &Part, place: Place) -> bool {
    let at = |event: &&Event| event.place == place;
    let mut here = part.bar_events(place.bar).iter().filter(at).peekable();
    here.peek().is_some() && here.all(|event| !is_joined(part, event))
}

fn is_joined(part: &Part, event: &Event) -> bool {
    let beamed = event
        .beams
        .first()
        .is_some_and(|beam| matches!(beam, Beam::Continue | Beam::End));
    let tuplet = event
        .written
        .as_ref()
        .is_some_and(|written| !written.tuplets.is_empty())
        && part
            .spans
            .iter()
            .all(|span| span.start.and_then(|start| start.element) != Some(event.id));
    beamed || tuplet
}

//! To which head does a tie lead? The next one of the same pitch that is tied from before, at the place where this one ends.

use notation::{Event, Head, Id, Part, Piece, Pitch, Place};
use std::collections::{BTreeMap, BTreeSet};

/// The ties of a part.
#[derive(Debug, Default)]
pub(super) struct Ties {
    /// From the head that starts a tie to the one where it ends.
    pub to: BTreeMap<Id, Id>,
    /// Heads tied from before whose tie starts nowhere.
    pub without_start: BTreeSet<Id>,
}

struct Stop {
    head: Id,
    pitch: Option<Pitch>,
    voice: u16,
    event: usize,
}

/// Pairs the ties of a part.
pub(super) fn pair(piece: &Piece, part: &Part) -> Ties {
    let mut stops: BTreeMap<Place, Vec<Stop>> = BTreeMap::new();
    for (index, event) in part.events.iter().enumerate() {
        for head in event.heads().iter().filter(|head| head.tie_stop) {
            stops.entry(start(piece, event)).or_default().push(Stop {
                head: head.id,
                pitch: head.pitch(),
                voice: event.voice,
                event: index,
            });
        }
    }
    let mut ties = Ties::default();
    for (index, event) in part.events.iter().enumerate() {
        for head in event.heads().iter().filter(|head| head.tie_start) {
            let Some(waiting) = stops.get_mut(&end(piece, event)) else {
                continue;
            };
            let Some(found) = best(waiting, head, event, index) else {
                continue;
            };
            ties.to.insert(head.id, waiting.remove(found).head);
        }
    }
    ties.without_start = stops.into_values().flatten().map(|stop| stop.head).collect();
    ties
}

/// The stop that fits best: spelled alike rather than sounding alike, in the same voice rather than in another.
fn best(waiting: &[Stop], head: &Head, event: &Event, index: usize) -> Option<usize> {
    let pitch = head.pitch();
    let fits = |stop: &Stop| {
        let alike = stop.pitch.map(Pitch::semitones) == pitch.map(Pitch::semitones);
        (alike && stop.event > index).then_some((stop.pitch == pitch, stop.voice == event.voice))
    };
    // The first among equals, as the page is read.
    let ranked = waiting
        .iter()
        .enumerate()
        .filter_map(|(at, stop)| Some((fits(stop)?, at)));
    ranked
        .max_by_key(|(rank, at)| (*rank, usize::MAX - at))
        .map(|(_, at)| at)
}

fn start(piece: &Piece, event: &Event) -> Place {
    settled(piece, event.place)
}

fn end(piece: &Piece, event: &Event) -> Place {
    settled(
        piece,
        Place {
            offset: super::plan::end_of(event),
            ..event.place
        },
    )
}

/// The end of a bar is the start of the next.
fn settled(piece: &Piece, place: Place) -> Place {
    match piece.bars.get(place.bar.get()) {
        Some(bar) if place.offset >= bar.length => Place::start_of(place.bar.next()),
        _ => place,
    }
}

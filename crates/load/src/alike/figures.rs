//! Which small figures come again and again? A beat or two of at least three notes, wherever and at whatever pitch.

use super::start;
use notation::{BarIndex, Event, Pitch, Place, Quarters};
use std::collections::BTreeMap;
use survey::Context;

/// A figure that comes at least three times.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Figure {
    /// Where it comes first.
    pub first: Place,
    /// How long it is, in quarter notes.
    pub length: Quarters,
    /// Its notes.
    pub notes: usize,
    /// Where it comes, in order, the first place too.
    pub places: Vec<Place>,
    /// On how many different pitches it starts.
    pub starts: usize,
}

/// Fewest notes and fewest times (ours).
const NOTES: usize = 3;
const TIMES: usize = 3;
/// The most that are told.
const MOST: usize = 8;

/// Rhythm and steps of a figure: offset from its start, length, staff places from its first note.
type Key = Vec<(Quarters, Quarters, i32)>;

/// The figures of a part that come most often, whatever pitch they start on: windows of one metrical beat and of two.
#[must_use]
pub fn figures(ctx: &Context) -> Vec<Figure> {
    let mut found: BTreeMap<Key, (Vec<Place>, Vec<Pitch>)> = BTreeMap::new();
    for bar in (0..ctx.piece.bars.len()).map(BarIndex::from_usize) {
        let beat = ctx.part.metre_at(start(bar)).map_or(Quarters::ONE, beat);
        for beats in [1, 2] {
            windows(ctx, bar, beat * Quarters::whole(beats), &mut found);
        }
    }
    let mut figures: Vec<Figure> = found
        .into_iter()
        .filter(|(_, (places, _))| places.len() >= TIMES)
        .map(|(key, (places, pitches))| figure(&key, places, pitches))
        .collect();
    figures.sort_by_key(|figure| {
        (
            std::cmp::Reverse(figure.notes * figure.places.len()),
            figure.first,
        )
    });
    drop_parts(&mut figures);
    figures.truncate(MOST);
    figures
}

/// One beat of a metre by its signature alone: three parts of a compound one, else its lower number.
fn beat(metre: &notation::Metre) -> Quarters {
    let (beats, unit) = metre
        .parts
        .first()
        .map_or((4, 4), |part| (part.beats(), part.beat_type.max(1)));
    let one = Quarters::new(4, i64::from(unit));
    if unit >= 8 && beats > 3 && beats.is_multiple_of(3) {
        one * Quarters::whole(3)
    } else {
        one
    }
}

fn windows(
    ctx: &Context,
    bar: BarIndex,
    length: Quarters,
    found: &mut BTreeMap<Key, (Vec<Place>, Vec<Pitch>)>,
) {
    if !length.is_positive() {
        return;
    }
    let events: Vec<&Event> = ctx
        .part
        .bar_events(bar)
        .iter()
        .filter(|event| !event.is_grace() && !event.cue && event.duration.is_positive())
        .collect();
    let mut from = Quarters::ZERO;
    let mut rest = events.as_slice();
    while let Some(first) = rest.first() {
        // On to the window in which the next event starts.
        while first.place.offset >= from + length {
            from += length;
        }
        let inside = rest
            .iter()
            .take_while(|event| event.place.offset < from + length)
            .count();
        let (window, after) = rest.split_at(inside);
        let whole = window
            .iter()
            .all(|event| event.end_offset() <= from + length && event.is_note());
        let pitches: Vec<Pitch> = window.iter().filter_map(|event| event.top_pitch()).collect();
        if whole && pitches.len() == window.len() && pitches.len() >= NOTES && window[0].place.offset == from
        {
            let key: Key = window
                .iter()
                .zip(&pitches)
                .map(|(event, pitch)| {
                    (
                        event.place.offset - from,
                        event.duration,
                        pitch.diatonic() - pitches[0].diatonic(),
                    )
                })
                .collect();
            let (places, starts) = found.entry(key).or_default();
            places.push(window[0].place);
            starts.push(pitches[0]);
        }
        rest = after;
    }
}

fn figure(key: &Key, places: Vec<Place>, mut pitches: Vec<Pitch>) -> Figure {
    pitches.sort_unstable();
    pitches.dedup();
    let length = key
        .last()
        .map_or(Quarters::ZERO, |(offset, duration, _)| *offset + *duration);
    Figure {
        first: places.first().copied().unwrap_or_default(),
        length,
        notes: key.len(),
        places,
        starts: pitches.len(),
    }
}

/// Leaves out figures that come only inside longer ones already told.
fn drop_parts(figures: &mut Vec<Figure>) {
    let mut kept: Vec<Figure> = Vec::new();
    for figure in figures.drain(..) {
        let inside = |place: &Place| {
            kept.iter().any(|longer| {
                longer.length > figure.length
                    && longer.places.iter().any(|from| {
                        from.bar == place.bar
                            && from.offset <= place.offset
                            && place.offset < from.offset + longer.length
                    })
            })
        };
        if kept.len() < MOST && !figure.places.iter().all(inside) {
            kept.push(figure);
        }
    }
    *figures = kept;
}

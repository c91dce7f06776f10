//! Where does the line leap, and where do two notes sound together?

use crate::Context;
use crate::interval::interval_name;
use notation::{Id, LineNote, Pitch, Place};

/// How many leaps are shown.
pub const SHOWN: usize = 5;

/// Leaps shown are a fifth or more.
/// Source: Chiu & Chen's displacement weight counts intervals of 7 semitones and more (formula from memory).
const AT_LEAST: i64 = 7;

/// A leap of the line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Leap {
    /// From this written pitch.
    pub from: Pitch,
    /// To this written pitch.
    pub to: Pitch,
    /// Size in semitones (the nearest whole one below for a microtone).
    pub semitones: i64,
    /// The interval by name.
    pub name: String,
    /// Upwards.
    pub up: bool,
    /// True if a rest between gives time to prepare.
    pub over_rest: bool,
    /// Where it leaves.
    pub from_place: Place,
    /// The event it leaves.
    pub from_event: Id,
    /// Where it lands.
    pub to_place: Place,
    /// The event it lands on.
    pub to_event: Id,
}

/// Chords and double stops.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct DoubleStops {
    /// How many events have two heads or more.
    pub count: usize,
    /// How many have three or more.
    pub three_or_more: usize,
    /// The widest: its notes and name.
    pub widest: String,
    /// Where the widest stands.
    pub widest_at: (Place, Id),
    /// Where each stands.
    pub at: Vec<(Place, Id)>,
}

/// The largest leaps, the largest first, leaps without a rest before those over one, then in order of place.
pub(super) fn largest(ctx: &Context) -> Vec<Leap> {
    // Between the hands of a keyboard part there are no leaps.
    if ctx.part.staves > 1 {
        return Vec::new();
    }
    let mut leaps: Vec<(i64, bool, &LineNote, &LineNote)> = ctx
        .line
        .windows(2)
        .filter_map(|pair| match pair {
            [from, to] => {
                let size = (to.pitch.semitones() - from.pitch.semitones()).abs().floor();
                let rest = from.onset + from.duration < to.onset;
                (size >= AT_LEAST).then_some((size, rest, from, to))
            }
            _ => None,
        })
        .collect();
    leaps.sort_by_key(|(size, rest, ..)| (std::cmp::Reverse(*size), *rest));
    leaps
        .into_iter()
        .take(SHOWN)
        .filter_map(|(semitones, over_rest, from, to)| {
            let (from_event, to_event) = (ctx.event(from)?, ctx.event(to)?);
            Some(Leap {
                from: from.pitch,
                to: to.pitch,
                semitones,
                name: interval_name(from.pitch, to.pitch),
                up: to.pitch > from.pitch,
                over_rest,
                from_place: from_event.place,
                from_event: from_event.id,
                to_place: to_event.place,
                to_event: to_event.id,
            })
        })
        .collect()
}

pub(super) fn double_stops(ctx: &Context) -> Option<DoubleStops> {
    let mut answer: Option<(i64, DoubleStops)> = None;
    for event in ctx.part.events.iter().filter(|e| !e.cue && e.printed) {
        let mut pitches: Vec<Pitch> = event.pitches().collect();
        pitches.sort_unstable();
        let (Some(low), Some(high)) = (pitches.first().copied(), pitches.last().copied()) else {
            continue;
        };
        if pitches.len() < 2 {
            continue;
        }
        let size = (high.semitones() - low.semitones()).floor();
        let here = (event.place, event.id);
        let says = || format!("{}–{}, {}", low.sign(), high.sign(), interval_name(low, high));
        let (widest, stops) = answer.get_or_insert_with(|| {
            let stops = DoubleStops {
                count: 0,
                three_or_more: 0,
                widest: says(),
                widest_at: here,
                at: Vec::new(),
            };
            (size, stops)
        });
        stops.count += 1;
        stops.three_or_more += usize::from(pitches.len() > 2);
        stops.at.push(here);
        if size > *widest {
            *widest = size;
            stops.widest = says();
            stops.widest_at = here;
        }
    }
    answer.map(|(_, stops)| stops)
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    #[test]
    fn the_largest_leap_comes_first() {
        let piece = sketch("C4/q G4/q C4/q E5/q r/q E3/q").expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        let leaps = largest(&ctx);
        let names: Vec<(&str, bool, bool)> = leaps
            .iter()
            .map(|l| (l.name.as_str(), l.up, l.over_rest))
            .collect();
        assert_eq!(
            names,
            [
                ("2 octaves", false, true),
                ("octave and a major third", true, false),
                ("perfect fifth", true, false),
                ("perfect fifth", false, false)
            ]
        );
    }

    #[test]
    fn double_stops_are_counted() {
        let piece = sketch("G3+D4/q A4/q D4+B4/q G3+D4+B4/q").expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        let stops = double_stops(&ctx).expect("stops");
        assert_eq!((stops.count, stops.three_or_more), (3, 1));
        assert_eq!(stops.widest, "G3–B4, octave and a major third");
    }
}

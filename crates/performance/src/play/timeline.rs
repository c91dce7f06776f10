//! Which bars are played, and when? The road map, the range, the times round, the count-ins: one line of slots.

use super::beats::BarBeats;
use super::options::{PlayOptions, Repeats};
use crate::road::{PlayedBar, Unfolding};
use notation::{BarIndex, Piece, Place, Quarters, Rational};

/// More slots than any performance has.
const MOST_SLOTS: usize = 200_000;

/// One bar of the performance, or a count-in.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Slot {
    /// When it starts, in quarter notes from the beginning of the performance.
    pub start: Quarters,
    /// How long it lasts, in quarter notes.
    pub length: Quarters,
    /// The bar played, or counted in for.
    pub played: PlayedBar,
    /// Its index in the unfolded road map; `None` for a count-in and where repeats are left out.
    pub index: Option<usize>,
    /// Nothing is played: the beats are counted.
    pub count_in: bool,
    /// Which time round, from 0.
    pub round: u32,
}

impl Slot {
    /// When it ends.
    #[must_use]
    pub fn end(&self) -> Quarters {
        self.start + self.length
    }

    /// When a place of the bar sounds, if it is in this slot.
    #[must_use]
    pub fn time_of(&self, place: Place) -> Option<Quarters> {
        let inside = !self.count_in
            && place.bar == self.played.bar
            && self.played.from <= place.offset
            && place.offset < self.played.to;
        inside.then(|| self.start + place.offset - self.played.from)
    }

    /// The place of the page at a time in this slot.
    #[must_use]
    pub fn place_at(&self, time: Quarters) -> Place {
        Place {
            bar: self.played.bar,
            offset: self.played.from + time - self.start,
        }
    }
}

/// The slots in order.
pub(super) fn slots(
    piece: &Piece,
    unfolding: &Unfolding,
    beats: &[BarBeats],
    options: &PlayOptions,
) -> Vec<Slot> {
    let bars = range(&order(piece, unfolding, options), options);
    let mut slots: Vec<Slot> = Vec::new();
    let mut now = Quarters::ZERO;
    for round in 0..options.times.max(1) {
        let Some((_, first)) = bars.first() else { break };
        if options.count_in > 0 && (round == 0 || options.count_in_again) {
            let length = count_in(first, beats, options.count_in);
            slots.push(Slot {
                start: now,
                length,
                played: *first,
                index: None,
                count_in: true,
                round,
            });
            now += length;
        }
        for (index, played) in &bars {
            let length = played.length();
            if slots.len() >= MOST_SLOTS || (now + length).is_overflow() {
                return slots;
            }
            slots.push(Slot {
                start: now,
                length,
                played: *played,
                index: *index,
                count_in: false,
                round,
            });
            now += length;
        }
    }
    slots
}

/// Full bars, and before a pickup the beats that are missing from its bar.
fn count_in(first: &PlayedBar, beats: &[BarBeats], bars: u32) -> Quarters {
    let Some(here) = beats.get(first.bar.get()) else {
        return first.length();
    };
    let missing = here.lead + first.from;
    let full = if here.full.is_positive() {
        here.full
    } else {
        first.length()
    };
    let missing = if missing < full { missing } else { Quarters::ZERO };
    full * Rational::whole(i64::from(bars.min(16))) + missing
}

type Bars = Vec<(Option<usize>, PlayedBar)>;

fn order(piece: &Piece, unfolding: &Unfolding, options: &PlayOptions) -> Bars {
    match options.repeats {
        Repeats::Taken => unfolding
            .played
            .iter()
            .copied()
            .enumerate()
            .map(|(i, bar)| (Some(i), bar))
            .collect(),
        Repeats::StraightThrough => {
            let skipped = |bar: BarIndex| {
                unfolding.endings.iter().any(|ending| {
                    ending.repeats && ending.start.bar <= bar && Place::start_of(bar) < ending.end
                })
            };
            let whole = |(index, bar): (usize, &notation::Bar)| {
                let played = PlayedBar {
                    bar: BarIndex::from_usize(index),
                    from: Quarters::ZERO,
                    to: bar.length,
                    pass: 1,
                };
                (!skipped(played.bar)).then_some((None, played))
            };
            piece.bars.iter().enumerate().filter_map(whole).collect()
        }
    }
}

/// The first stretch of the order that enters the range at its first bar (or the first bar of it that is ever played),
/// up to where the order leaves the range.
fn range(order: &Bars, options: &PlayOptions) -> Bars {
    let Some((from, to)) = options.bars else {
        return order.clone();
    };
    let (from, to) = (from.min(to), from.max(to));
    let inside = |bar: &BarIndex| (from..=to).contains(bar);
    let first = order
        .iter()
        .map(|(_, played)| played.bar)
        .filter(inside)
        .min()
        .and_then(|lowest| order.iter().position(|(_, played)| played.bar == lowest));
    let Some(first) = first else { return Vec::new() };
    order
        .iter()
        .skip(first)
        .take_while(|(_, played)| inside(&played.bar))
        .copied()
        .collect()
}

//! What does the eye meet, one after another? The notes and rests of the line, each with its place in the bar and the key.
//!
//! Ties are joined (a tie is one longer note), grace notes and cues left out, the highest note of a chord taken, as in
//! [`notation::line`]. Rests are the gaps in that line, one for each bar, whole bars of rest together as one.

use super::Hints;
use notation::{BarIndex, Id, KeyRegion, Pitch, Place, Quarters, Rational, Step};
use survey::Context;
use survey::metre::BeatGrid;

/// A note or a rest, as it is read.
#[derive(Clone, PartialEq, Debug)]
pub struct Item {
    /// Where it starts.
    pub place: Place,
    /// How long it lasts, in quarter notes, ties joined.
    pub length: Quarters,
    /// What it is.
    pub kind: Kind,
    /// Where it starts in the full bar, in quarter notes: a pickup doesn't start at 0.
    pub position: Quarters,
    /// The length of the full bar, in quarter notes.
    pub full: Quarters,
    /// How it stands in the bar.
    pub stress: Stress,
    /// The tonic in force, in semitones above C, and whether the key is minor.
    pub key: (i32, bool),
}

/// A note, a rest, or bars of rest.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Kind {
    /// A note.
    Note(Sounding),
    /// A rest inside a bar.
    Rest,
    /// One or more whole bars of rest, read as one sign.
    Bars,
}

/// The note of an item.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Sounding {
    /// Its event.
    pub event: Id,
    /// As written.
    pub pitch: Pitch,
    /// Its key on a keyboard (60 is C4).
    pub number: i32,
}

/// How a place stands in its bar.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Stress {
    /// The first beat.
    Downbeat,
    /// The start of a group, the middle of the bar.
    Group,
    /// Another beat.
    Beat,
    /// A division of a beat into halves or thirds.
    Division,
    /// Between.
    Between,
    /// No metre to stand in.
    Free,
}

/// The line as it is read.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Melody {
    /// Notes and rests in written order.
    pub items: Vec<Item>,
}

impl Melody {
    /// Reads the line of a part.
    #[must_use]
    pub fn of(ctx: &Context<'_>, hints: &Hints<'_>) -> Self {
        let mut reader = Reader {
            ctx,
            hints,
            region: 0,
            items: Vec::with_capacity(ctx.line.len()),
        };
        let mut reached = Quarters::ZERO;
        for note in &ctx.line {
            let Some(event) = ctx.event(note) else { continue };
            reader.rest(reached, note.onset);
            let sounding = Sounding {
                event: event.id,
                pitch: note.pitch,
                number: note.pitch.key_number(),
            };
            reader.item(event.place, note.duration, Kind::Note(sounding));
            reached = reached.max(note.onset + note.duration);
        }
        let end = ctx.bar_onsets.last().copied().unwrap_or_default();
        reader.rest(reached, end);
        Self { items: reader.items }
    }

    /// The lowest and the highest key of a keyboard that it uses.
    #[must_use]
    pub fn range(&self) -> Option<(i32, i32)> {
        let numbers = || {
            self.items
                .iter()
                .filter_map(Item::sounding)
                .map(|note| note.number)
        };
        numbers().min().zip(numbers().max())
    }
}

impl Item {
    /// Its note, if it is one.
    #[must_use]
    pub const fn sounding(&self) -> Option<&Sounding> {
        match &self.kind {
            Kind::Note(sounding) => Some(sounding),
            Kind::Rest | Kind::Bars => None,
        }
    }

    /// Semitones above the tonic in force of a key on a keyboard, 0 to 11.
    #[must_use]
    pub const fn degree(&self, number: i32) -> i32 {
        (number - self.key.0).rem_euclid(12)
    }
}

struct Reader<'a, 'c> {
    ctx: &'a Context<'c>,
    hints: &'a Hints<'a>,
    region: usize,
    items: Vec<Item>,
}

impl Reader<'_, '_> {
    fn item(&mut self, place: Place, length: Quarters, kind: Kind) {
        let grid = self.hints.metre.and_then(|metre| metre.grid(place.bar));
        let (position, full) = match grid {
            Some(grid) => (grid.position(place.offset), grid.full),
            None => (place.offset, self.bar_length(place.bar)),
        };
        let key = self.key(place.bar);
        self.items.push(Item {
            place,
            length,
            kind,
            position,
            full,
            stress: stress(grid, position),
            key,
        });
    }

    fn bar_length(&self, bar: BarIndex) -> Quarters {
        self.ctx
            .piece
            .bars
            .get(bar.get())
            .map_or(Quarters::ZERO, |bar| bar.length)
    }

    /// The rests that fill a gap: to the end of the bar, then whole bars as one, then what is left.
    fn rest(&mut self, from: Quarters, to: Quarters) {
        let mut at = from;
        while at < to {
            let after = self.ctx.bar_onsets.partition_point(|onset| *onset <= at);
            let Some(start) = after.checked_sub(1).and_then(|bar| self.ctx.bar_onsets.get(bar)) else {
                return;
            };
            let place = Place {
                bar: BarIndex::from_usize(after - 1),
                offset: at - *start,
            };
            let Some(end) = self.ctx.bar_onsets.get(after).copied() else {
                return;
            };
            if place.offset.is_zero() && end <= to {
                // Whole bars: up to the last bar line that the gap reaches.
                let last = self.ctx.bar_onsets.partition_point(|onset| *onset <= to);
                let until = self.ctx.bar_onsets.get(last.max(1) - 1).copied().unwrap_or(end);
                self.item(place, until - at, Kind::Bars);
                at = until.max(end);
            } else {
                let until = end.min(to);
                self.item(place, until - at, Kind::Rest);
                at = until;
            }
        }
    }

    /// The key in force; regions come in order, so do the bars.
    fn key(&mut self, bar: BarIndex) -> (i32, bool) {
        while self
            .hints
            .regions
            .get(self.region)
            .is_some_and(|region| region.to < bar)
        {
            self.region += 1;
        }
        let region = self.hints.regions.get(self.region).or(self.hints.regions.last());
        region.map_or((0, false), key_of)
    }
}

fn key_of(region: &KeyRegion) -> (i32, bool) {
    let (step, alter): (Step, i8) = region.tonic;
    let minor = matches!(region.mode.as_str(), "minor" | "dorian" | "phrygian" | "aeolian");
    ((step.semitones() + i32::from(alter)).rem_euclid(12), minor)
}

fn stress(grid: Option<&BeatGrid>, position: Quarters) -> Stress {
    let Some(grid) = grid.filter(|grid| grid.counted) else {
        return Stress::Free;
    };
    if position.is_zero() {
        return Stress::Downbeat;
    }
    let Some(beat) = grid.beat_at(position) else {
        return Stress::Between;
    };
    let within = position - beat.start;
    if within.is_zero() {
        return if beat.accent <= 1 {
            Stress::Group
        } else {
            Stress::Beat
        };
    }
    let part = beat.length * Rational::new(1, i64::from(beat.division.max(1)));
    if (within / part).is_whole() {
        Stress::Division
    } else {
        Stress::Between
    }
}

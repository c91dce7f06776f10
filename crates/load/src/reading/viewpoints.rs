//! From which sides is the next note or rest foreseen? Viewpoints: what each predicts, and from what.
//!
//! Pitch comes after rhythm: when a pitch is foreseen, the place and length of its note are already known. Each viewpoint's
//! symbol stands for exactly one pitch (or value) once the past is known, so that its prediction is one of pitches (values).
//!
//! Source: D. Conklin & I. Witten, "Multiple viewpoint systems for music prediction", Journal of New Music Research 24
//! (1995): interval, scale degree linked with interval, place in the bar, and value, each linked with others.

use super::melody::{Item, Melody};
use super::parallel::{Parallel, There};
use super::ppm::Contexts;
use notation::{Quarters, Rational};

/// How many viewpoints foresee the pitch.
pub const PITCH: usize = 4;
/// How many viewpoints foresee note values and rests.
pub const RHYTHM: usize = 4;

/// The viewpoints that tunes in general teach, by number, pitch first. Places and values as printed differ from book to book
/// (2/4 in sixteenths is C in eighths), so that the long-term model takes them as shares of the bar.
pub const LONG_TERM: [bool; PITCH + RHYTHM] = [true, true, true, true, false, true, true, true];
/// The viewpoints that the piece itself teaches. In one piece shares of the bar say what values say.
pub const SHORT_TERM: [bool; PITCH + RHYTHM] = [true, true, true, true, true, false, true, true];

/// Before anything was read.
const START: u32 = 0xffff;
/// Half the span of a pitch symbol: intervals up to ±100 semitones.
const MIDDLE: i32 = 100;

/// What was read, as the viewpoints see it.
#[derive(Clone, Debug, Default)]
pub struct Past {
    notes: Vec<Heard>,
    values: Vec<Valued>,
    /// The bar being read, and a hash of its values so far.
    bar: Option<u32>,
    bar_so_far: u32,
    parallel: Parallel,
    centre: i32,
}

#[derive(Clone, Copy, Debug)]
struct Heard {
    number: i32,
    interval: Option<i32>,
    stress: u32,
}

#[derive(Clone, Copy, Debug)]
struct Valued {
    value: u8,
    share: u8,
}

impl Past {
    /// Nothing read yet of a melody with a range.
    #[must_use]
    pub fn before(melody: &Melody) -> Self {
        let (low, high) = melody.range().unwrap_or((60, 60));
        let tonic = melody.items.first().map_or(0, |item| item.key.0);
        // The tonic nearest the middle of the range.
        let middle = i32::midpoint(low, high);
        let centre = middle - (middle - tonic + 6).rem_euclid(12) + 6;
        Self {
            centre,
            ..Self::default()
        }
    }

    /// Goes on to the bar of an item, before it is foreseen.
    pub fn enter(&mut self, item: &Item) {
        let bar = Some(item.place.bar.0);
        if self.bar != bar {
            self.bar = bar;
            self.bar_so_far = 7;
        }
        self.parallel.enter(item);
    }

    /// What stood at the place of an item in the parallel bar, and for how long they have agreed.
    #[must_use]
    pub fn parallel(&self, item: &Item) -> Option<(There, usize)> {
        self.parallel.expected(item)
    }

    /// The contexts in which the pitch of an item is foreseen, for each viewpoint.
    #[must_use]
    pub fn pitch_contexts(&self, item: &Item) -> [Contexts; PITCH] {
        let back = |n: usize| self.notes.len().checked_sub(n).and_then(|at| self.notes.get(at));
        let interval = |n: usize| back(n).and_then(|note| note.interval).map_or(START, symbol_of);
        let mode = if item.key.1 { 16 } else { 0 };
        let degree = |n: usize| back(n).map_or(START, |note| small(item.degree(note.number)) + mode);
        let height = |n: usize| back(n).map_or(START, |note| symbol_of(note.number - self.centre));
        let stress = item.stress as u32;
        let stress_before = back(1).map_or(START, |note| note.stress);
        let (i1, i2, i3, i4, i5) = (interval(1), interval(2), interval(3), interval(4), interval(5));
        let d1 = degree(1);
        [
            Contexts::of(1, &[i1, i2, i3, i4, i5]),
            Contexts::of(2, &[d1, i1, i2, i3, i4, i5]),
            Contexts::of(3, &[d1 + (stress << 8), i1, stress_before, i2]),
            Contexts::of(5, &[height(1) + (mode << 8), height(2), height(3)]),
        ]
    }

    /// What each pitch viewpoint adds to its symbol to make an index into an alphabet that starts at a lowest key.
    #[must_use]
    pub fn pitch_shifts(&self, lowest: i32) -> [Option<i32>; PITCH] {
        let last = self.notes.last().map(|note| note.number - MIDDLE - lowest);
        [last, last, last, Some(self.centre - MIDDLE - lowest)]
    }

    /// The symbols of a pitch for each viewpoint.
    #[must_use]
    pub fn pitch_symbols(&self, number: i32) -> [Option<u8>; PITCH] {
        let last = self.notes.last().map(|note| byte(number - note.number));
        [last, last, last, Some(byte(number - self.centre))]
    }

    /// Semitones from the last note; `None` before any.
    #[must_use]
    pub fn interval_to(&self, number: i32) -> Option<i32> {
        self.notes.last().map(|note| number - note.number)
    }

    /// The key so many semitones from the last note.
    #[must_use]
    pub fn after(&self, interval: i32) -> Option<i32> {
        self.notes.last().map(|note| note.number + interval)
    }

    /// The contexts in which the value of an item is foreseen, for each viewpoint.
    #[must_use]
    pub fn value_contexts(&self, item: &Item) -> [Contexts; RHYTHM] {
        let back = |n: usize| {
            self.values
                .len()
                .checked_sub(n)
                .and_then(|at| self.values.get(at))
        };
        let value = |n: usize| back(n).map_or(START, |valued| u32::from(valued.value));
        let share = |n: usize| back(n).map_or(START, |valued| u32::from(valued.share));
        let place = place_of(item.position, item.full);
        let ternary = u32::from(is_ternary(item.full));
        let share_place = place_of(shared(item.position, item.full), Quarters::whole(4)) ^ (ternary << 15);
        let alike = self
            .parallel
            .bar_before(item)
            .map_or(START, |there| u32::from(there.value.1));
        let bar_so_far = self.bar_so_far;
        [
            Contexts::of(11, &[place, value(1), value(2), value(3), value(4), value(5)]),
            Contexts::of(
                12,
                &[share_place, share(1), share(2), share(3), share(4), share(5)],
            ),
            Contexts::of(13, &[alike, share_place, bar_so_far, share(1)]),
            Contexts::of(14, &[value(1), value(2), value(3), value(4), value(5), value(6)]),
        ]
    }

    /// Which symbol each rhythm viewpoint uses: the value itself, or its share of the bar.
    pub const BY_SHARE: [bool; RHYTHM] = [false, true, true, false];

    /// Adds the value of an item to what was read.
    pub fn read_value(&mut self, item: &Item, value: u8, share: u8) {
        self.values.push(Valued { value, share });
        self.bar_so_far = self.bar_so_far.wrapping_mul(0x0100_0193) ^ u32::from(share);
        self.parallel.read(item, (value, share));
    }

    /// Adds the pitch of an item to what was read.
    pub fn read_pitch(&mut self, item: &Item, number: i32) {
        let interval = self.notes.last().map(|note| number - note.number);
        self.notes.push(Heard {
            number,
            interval,
            stress: item.stress as u32,
        });
    }
}

fn symbol_of(semitones: i32) -> u32 {
    u32::from(byte(semitones))
}

fn byte(semitones: i32) -> u8 {
    u8::try_from((semitones + MIDDLE).clamp(0, 2 * MIDDLE)).unwrap_or(0)
}

fn small(number: i32) -> u32 {
    u32::try_from(number).unwrap_or(0)
}

/// A place in a bar as a number.
fn place_of(position: Quarters, full: Quarters) -> u32 {
    let part = |n: i64| u32::try_from(n.rem_euclid(1 << 8)).unwrap_or(0);
    part(position.num()) ^ (part(position.den()) << 8) ^ (part(full.num()) << 16) ^ (part(full.den()) << 24)
}

/// True if a bar falls into threes.
fn is_ternary(full: Quarters) -> bool {
    (full / Rational::new(3, 2)).is_whole() && full != Quarters::whole(6)
}

/// A length as its share of the bar, in quarters of a bar of four.
pub(super) fn shared(length: Quarters, full: Quarters) -> Quarters {
    if full.is_positive() {
        length * Rational::whole(4) / full
    } else {
        length
    }
}

//! From which sides is the next note or rest foreseen? Viewpoints: what each predicts, and from what.
//!
//! Pitch comes after rhythm: when a pitch is foreseen, the place and length of its note are already known. Each viewpoint's
//! symbol stands for exactly one pitch (or value) once the past is known, so that its prediction is one of pitches (values).
//!
//! Source: D. Conklin & I. Witten, "Multiple viewpoint systems for music prediction", Journal of New Music Research 24
//! (1995): interval, scale degree linked with interval, place in the bar, and value, each linked with others.

use super::melody::{Item, Kind, Melody};
use super::parallel::{Parallel, There};
use super::ppm::{Alphabet, Contexts};
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
fn shared(length: Quarters, full: Quarters) -> Quarters {
    if full.is_positive() {
        length * Rational::whole(4) / full
    } else {
        length
    }
}

/// The pitches of a piece: all keys from the lowest to the highest that it uses (the survey has told the range).
#[derive(Clone, Copy, Debug)]
pub struct Pitches {
    /// What is added to a symbol to make an index.
    pub shift: i32,
    /// How many there are.
    pub len: usize,
}

impl Alphabet for Pitches {
    fn index(&self, symbol: u8) -> Option<usize> {
        usize::try_from(i32::from(symbol) + self.shift)
            .ok()
            .filter(|index| *index < self.len)
    }
}

/// Note values that have numbers of their own in every piece, in quarter notes as fractions.
const VALUES: [(i64, i64); 44] = [
    (1, 1),
    (1, 2),
    (2, 1),
    (1, 4),
    (3, 2),
    (3, 4),
    (4, 1),
    (3, 1),
    (1, 3),
    (2, 3),
    (1, 8),
    (1, 6),
    (3, 8),
    (4, 3),
    (6, 1),
    (8, 1),
    (8, 3),
    (16, 3),
    (1, 12),
    (1, 16),
    (3, 16),
    (5, 2),
    (7, 2),
    (5, 1),
    (7, 1),
    (5, 4),
    (7, 4),
    (9, 2),
    (1, 5),
    (2, 5),
    (4, 5),
    (1, 24),
    (1, 32),
    (3, 32),
    (7, 8),
    (5, 8),
    (7, 3),
    (5, 3),
    (10, 3),
    (12, 1),
    (9, 4),
    (2, 9),
    (4, 9),
    (8, 9),
];
/// Rests have the numbers of notes and this.
const REST: u8 = 64;
/// Whole bars of rest are counted, not foreseen; what comes after them knows that they were there.
const BARS: u8 = 127;
/// Values without a number get one in the piece, from here on; the last is shared by all that are left.
const OWN: u8 = 128;

/// The values that a reader is always prepared for: notes from a sixteenth to a whole note, and the plainest rests.
const COMMON_NOTES: [(i64, i64); 9] = [
    (1, 1),
    (1, 2),
    (2, 1),
    (1, 4),
    (3, 2),
    (3, 4),
    (4, 1),
    (3, 1),
    (1, 3),
];
const COMMON_RESTS: [(i64, i64); 4] = [(1, 1), (1, 2), (2, 1), (4, 1)];

/// The values of a piece: those that it uses and the common ones.
#[derive(Clone, Debug)]
pub struct Values {
    /// Length, and whether it is a note or a rest; the index is the letter.
    letters: Vec<(Quarters, Sign)>,
    by_value: Vec<Option<u8>>,
    /// For a bar of a length: symbol of a share to letter, and letter to symbol.
    shares: Vec<(Quarters, Vec<Option<u8>>)>,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Sign {
    Note,
    Rest,
}

impl Values {
    /// The values of a melody.
    #[must_use]
    pub fn of(melody: &Melody) -> Self {
        let mut letters: Vec<(Quarters, Sign)> = Vec::new();
        let common = |list: &[(i64, i64)], sign: Sign| -> Vec<(Quarters, Sign)> {
            list.iter()
                .map(|(num, den)| (Quarters::new(*num, *den), sign))
                .collect()
        };
        letters.extend(common(&COMMON_NOTES, Sign::Note));
        letters.extend(common(&COMMON_RESTS, Sign::Rest));
        for item in &melody.items {
            let letter = letter_of(item);
            // A hundred values is more than any piece has; those beyond share the last letter.
            if !matches!(item.kind, Kind::Bars) && letters.len() < 120 && !letters.contains(&letter) {
                letters.push(letter);
            }
        }
        let mut by_value = vec![None; 256];
        for (index, (length, sign)) in letters.iter().enumerate() {
            let symbol = usize::from(symbol(*length, *sign, index));
            if let Some(slot) = by_value.get_mut(symbol) {
                *slot = u8::try_from(index).ok();
            }
        }
        Self {
            letters,
            by_value,
            shares: Vec::new(),
        }
    }

    /// How many there are; never none.
    #[must_use]
    pub const fn count(&self) -> usize {
        self.letters.len()
    }

    /// The letter of an item.
    #[must_use]
    pub fn letter(&self, item: &Item) -> usize {
        let letter = letter_of(item);
        let last = self.letters.len().saturating_sub(1);
        self.letters
            .iter()
            .position(|known| *known == letter)
            .unwrap_or(last)
    }

    /// The symbols of an item: its value, and its share of the bar.
    #[must_use]
    pub fn symbols(&self, item: &Item) -> (u8, u8) {
        if matches!(item.kind, Kind::Bars) {
            return (BARS, BARS);
        }
        let index = self.letter(item);
        let (length, sign) = letter_of(item);
        (
            symbol(length, sign, index),
            symbol(shared(length, item.full), sign, index),
        )
    }

    /// The letters by symbol, for values or for shares of a bar of a length.
    pub fn letters(&mut self, by_share: bool, full: Quarters) -> ByLetter<'_> {
        if !by_share {
            return ByLetter(&self.by_value);
        }
        let at = self
            .shares
            .iter()
            .position(|(of, _)| *of == full)
            .unwrap_or_else(|| {
                let mut table = vec![None; 256];
                for (index, (length, sign)) in self.letters.iter().enumerate() {
                    let symbol = usize::from(symbol(shared(*length, full), *sign, index));
                    if let Some(slot) = table.get_mut(symbol) {
                        *slot = u8::try_from(index).ok();
                    }
                }
                // A piece with hundreds of bar lengths keeps the latest few.
                self.shares.truncate(15);
                self.shares.insert(0, (full, table));
                0
            });
        ByLetter(self.shares.get(at).map_or(&[], |(_, table)| table))
    }
}

/// Letters by symbol.
#[derive(Clone, Copy, Debug)]
pub struct ByLetter<'a>(&'a [Option<u8>]);

impl Alphabet for ByLetter<'_> {
    fn index(&self, symbol: u8) -> Option<usize> {
        self.0
            .get(usize::from(symbol))
            .copied()
            .flatten()
            .map(usize::from)
    }
}

fn letter_of(item: &Item) -> (Quarters, Sign) {
    match item.kind {
        Kind::Note(_) => (item.length, Sign::Note),
        Kind::Rest | Kind::Bars => (item.length, Sign::Rest),
    }
}

fn symbol(length: Quarters, sign: Sign, index: usize) -> u8 {
    let own = || OWN.saturating_add(u8::try_from(index).unwrap_or(u8::MAX));
    let number = || {
        let found = VALUES
            .iter()
            .position(|(num, den)| length.num() == *num && length.den() == *den);
        found.and_then(|at| u8::try_from(at).ok())
    };
    match sign {
        Sign::Note => number().unwrap_or_else(own),
        Sign::Rest => number().map_or_else(own, |number| number + REST),
    }
}

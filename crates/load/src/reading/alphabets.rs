//! What can come next? The alphabets of a piece: the keys in its range, and the values that it uses or a reader expects.
//!
//! The survey has told the range and the values before the first note is read. A forecast over what can come at all is
//! one that sums to 1.

use super::melody::{Item, Kind, Melody};
use super::ppm::Alphabet;
use super::viewpoints::shared;
use notation::Quarters;

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

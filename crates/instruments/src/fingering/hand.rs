//! What does each finger press? Twelve digits, each with the small set of keys or holes under it, in a neutral notation.
//!
//! `LT L1 L2 L3 | R1 R2 R3 R4:Eb`: left of the bar the left hand, right of it the right one. A digit alone closes its home
//! hole or key; `:h` half of it; `:Eb` another key instead; `:o+R` home and another together. A token in parentheses may
//! be left out. The notation is our own; the keys carry their trade names.

use std::fmt;

/// A finger, a thumb, or the side or palm of a hand.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Digit {
    /// Left thumb.
    LT,
    /// Left index finger.
    L1,
    /// Left middle finger.
    L2,
    /// Left ring finger.
    L3,
    /// Left little finger.
    L4,
    /// Palm or side of the left hand.
    LP,
    /// Right thumb.
    RT,
    /// Right index finger.
    R1,
    /// Right middle finger.
    R2,
    /// Right ring finger.
    R3,
    /// Right little finger.
    R4,
    /// Side of the right hand.
    RP,
}

/// What kind of digit: what it costs to move depends on it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum DigitKind {
    /// Index, middle or ring finger.
    Finger,
    /// Little finger.
    Little,
    /// Thumb.
    Thumb,
    /// Palm or side of the hand.
    Palm,
}

impl Digit {
    /// All twelve: left hand, then right hand.
    pub const ALL: [Self; 12] = [
        Self::LT,
        Self::L1,
        Self::L2,
        Self::L3,
        Self::L4,
        Self::LP,
        Self::RT,
        Self::R1,
        Self::R2,
        Self::R3,
        Self::R4,
        Self::RP,
    ];

    /// Its place in [`Digit::ALL`].
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }

    /// Its sign in the notation.
    #[must_use]
    pub const fn sign(self) -> &'static str {
        match self {
            Self::LT => "LT",
            Self::L1 => "L1",
            Self::L2 => "L2",
            Self::L3 => "L3",
            Self::L4 => "L4",
            Self::LP => "LP",
            Self::RT => "RT",
            Self::R1 => "R1",
            Self::R2 => "R2",
            Self::R3 => "R3",
            Self::R4 => "R4",
            Self::RP => "RP",
        }
    }

    /// What a teacher calls it: `right little finger`.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::LT => "left thumb",
            Self::L1 => "left index finger",
            Self::L2 => "left middle finger",
            Self::L3 => "left ring finger",
            Self::L4 => "left little finger",
            Self::LP => "left palm",
            Self::RT => "right thumb",
            Self::R1 => "right index finger",
            Self::R2 => "right middle finger",
            Self::R3 => "right ring finger",
            Self::R4 => "right little finger",
            Self::RP => "side of the right hand",
        }
    }

    /// True for the left hand.
    #[must_use]
    pub const fn is_left(self) -> bool {
        self.index() < Self::RT.index()
    }

    /// What kind of digit it is.
    #[must_use]
    pub const fn kind(self) -> DigitKind {
        match self {
            Self::LT | Self::RT => DigitKind::Thumb,
            Self::L4 | Self::R4 => DigitKind::Little,
            Self::LP | Self::RP => DigitKind::Palm,
            _ => DigitKind::Finger,
        }
    }

    fn from_sign(sign: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|digit| digit.sign() == sign)
    }
}

/// Every key a digit can press; the place in this list is its bit in [`Keys`]. Keys that lie under
/// one another keep that order.
const KEYS: [&str; 36] = [
    "o", "h", "D", "Eb", "C", "C#", "B", "Bb", "lev", "G#", "tr1", "tr2", "O1", "O2", "F", "E", "F#",
    "slBF#", "slEb", "A", "R", "s1", "s2", "s3", "s4", "bis", "f#", "fF", "hF#", "W", "lBb", "lB", "lC",
    "lD", "Ab", "O",
];

/// A small set of keys under one digit.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub struct Keys(u64);

impl Keys {
    /// Nothing.
    pub const NONE: Self = Self(0);
    /// The home hole or key.
    pub const HOME: Self = Self(1);
    /// Half of the home hole.
    pub const HALF: Self = Self(2);

    /// Reads `Eb` or `o+bis`; `None` if a name is not known.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        text.split('+').try_fold(Self::NONE, |keys, name| {
            let bit = KEYS.iter().position(|key| *key == name)?;
            Some(Self(keys.0 | 1 << bit))
        })
    }

    /// True if nothing is pressed.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// True if every key of the other is in this one.
    #[must_use]
    pub const fn contains(self, other: Self) -> bool {
        self.0 & other.0 == other.0
    }

    /// Both together.
    #[must_use]
    pub const fn with(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// This one without the other's keys.
    #[must_use]
    pub const fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// The names of its keys, home (`o`) and half (`h`) included.
    pub fn names(self) -> impl Iterator<Item = &'static str> {
        KEYS.into_iter()
            .enumerate()
            .filter(move |(bit, _)| self.0 & 1 << bit != 0)
            .map(|(_, name)| name)
    }
}

/// What all twelve digits press: a fingering as it is felt.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub struct State([Keys; 12]);

impl State {
    /// Reads the notation. A token in parentheses is read as pressed, too. `None` if a token is not understood or a digit
    /// stands twice.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut state = Self::default();
        let (left, right) = text.split_once('|')?;
        for (side, is_left) in [(left, true), (right, false)] {
            for token in side.split_whitespace() {
                let token = token.trim_start_matches('(').trim_end_matches(')');
                let (digit, keys) = token.split_once(':').unwrap_or((token, "o"));
                let digit = Digit::from_sign(digit).filter(|digit| digit.is_left() == is_left)?;
                if !state.of(digit).is_empty() {
                    return None;
                }
                state.set(digit, Keys::parse(keys)?);
            }
        }
        Some(state)
    }

    /// What a digit presses.
    #[must_use]
    pub fn of(&self, digit: Digit) -> Keys {
        self.0.get(digit.index()).copied().unwrap_or_default()
    }

    /// Puts a digit on keys.
    pub fn set(&mut self, digit: Digit, keys: Keys) {
        if let Some(slot) = self.0.get_mut(digit.index()) {
            *slot = keys;
        }
    }

    /// The same with a digit on other keys.
    #[must_use]
    pub fn with(mut self, digit: Digit, keys: Keys) -> Self {
        self.set(digit, keys);
        self
    }

    /// The digits that press something, left hand first.
    pub fn pressed(&self) -> impl Iterator<Item = (Digit, Keys)> + '_ {
        Digit::ALL
            .into_iter()
            .map(|digit| (digit, self.of(digit)))
            .filter(|(_, keys)| !keys.is_empty())
    }
}

/// The neutral notation; `|` alone if nothing is pressed.
impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let side = |left: bool| -> String {
            let tokens: Vec<String> = self
                .pressed()
                .filter(|(digit, _)| digit.is_left() == left)
                .map(|(digit, keys)| token(digit, keys))
                .collect();
            tokens.join(" ")
        };
        let (left, right) = (side(true), side(false));
        let gap = |text: &str| if text.is_empty() { "" } else { " " };
        write!(f, "{left}{}|{}{right}", gap(&left), gap(&right))
    }
}

fn token(digit: Digit, keys: Keys) -> String {
    if keys == Keys::HOME {
        return digit.sign().to_owned();
    }
    let names: Vec<&str> = keys.names().collect();
    format!("{}:{}", digit.sign(), names.join("+"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_notation_reads_back() {
        for text in [
            "LT L1 L2 L3 | R1 R2 R3 R4:Eb",
            "|",
            "LT:o+R L1:h | RP:s1+s2",
            "L1:o+bis |",
            "| R1",
        ] {
            assert_eq!(
                State::parse(text).map(|state| state.to_string()).as_deref(),
                Some(text)
            );
        }
    }

    #[test]
    fn a_digit_twice_or_in_the_other_hand_is_refused() {
        for text in ["L1 L1 |", "R1 |", "L1:nonsense |", "L1", "X1 |"] {
            assert_eq!(State::parse(text), None, "{text}");
        }
    }
}

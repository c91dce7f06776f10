//! Which note is it? Spelled pitch: letter, exact alteration, octave; what it sounds; where it stands on a staff.

use crate::rational::Rational;
use std::fmt;

/// A letter name.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
#[expect(missing_docs, reason = "the letters are their own names")]
pub enum Step {
    C,
    D,
    E,
    F,
    G,
    A,
    B,
}

impl Step {
    /// The seven letters upward from C.
    pub const ALL: [Self; 7] = [Self::C, Self::D, Self::E, Self::F, Self::G, Self::A, Self::B];

    /// Steps above C: C is 0, B is 6.
    #[must_use]
    pub const fn index(self) -> i32 {
        self as i32
    }

    /// The letter a number of steps above C, octaves ignored.
    #[must_use]
    pub fn from_index(index: i32) -> Self {
        match index.rem_euclid(7) {
            0 => Self::C,
            1 => Self::D,
            2 => Self::E,
            3 => Self::F,
            4 => Self::G,
            5 => Self::A,
            _ => Self::B,
        }
    }

    /// Semitones of the natural letter above C: 0 2 4 5 7 9 11.
    #[must_use]
    pub const fn semitones(self) -> i32 {
        match self {
            Self::C => 0,
            Self::D => 2,
            Self::E => 4,
            Self::F => 5,
            Self::G => 7,
            Self::A => 9,
            Self::B => 11,
        }
    }

    /// Place on the line of fifths, C = 0: F −1, G 1, D 2, A 3, E 4, B 5.
    #[must_use]
    pub const fn fifths(self) -> i32 {
        match self {
            Self::F => -1,
            Self::C => 0,
            Self::G => 1,
            Self::D => 2,
            Self::A => 3,
            Self::E => 4,
            Self::B => 5,
        }
    }

    /// The letter's printed name.
    #[must_use]
    pub const fn letter(self) -> char {
        match self {
            Self::C => 'C',
            Self::D => 'D',
            Self::E => 'E',
            Self::F => 'F',
            Self::G => 'G',
            Self::A => 'A',
            Self::B => 'B',
        }
    }

    /// The letter named by a character, either case; `None` for any other (`H` included).
    #[must_use]
    pub fn from_letter(letter: char) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|step| step.letter() == letter.to_ascii_uppercase())
    }
}

/// An alteration in semitones, exact: sharp 1, flat −1, quarter-tone sharp 1/2.
pub type Alter = Rational;

/// A spelled pitch as the file states it: the written pitch of the part, with octave clefs and ottavas applied,
/// the instrument's transposition not applied.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Pitch {
    /// The letter.
    pub step: Step,
    /// Semitones up (positive) or down.
    pub alter: Alter,
    /// Octave by scientific naming: middle C is C4. The octave is the letter's (B♯3 sounds C4).
    pub octave: i8,
}

impl Pitch {
    /// A pitch altered by whole semitones.
    #[must_use]
    pub fn new(step: Step, alter: i8, octave: i8) -> Self {
        Self {
            step,
            alter: Rational::whole(i64::from(alter)),
            octave,
        }
    }

    /// Semitones above C−1 (MIDI numbering: middle C is 60), exact for microtones.
    #[must_use]
    pub fn semitones(self) -> Rational {
        Rational::whole(i64::from(self.natural_key())) + self.alter
    }

    fn natural_key(self) -> i32 {
        (i32::from(self.octave) + 1) * 12 + self.step.semitones()
    }

    /// The nearest MIDI key number (middle C is 60), quarter-tones rounded down; not clamped to 0–127.
    #[must_use]
    pub fn key_number(self) -> i32 {
        i32::try_from(self.semitones().floor()).unwrap_or(i32::MAX)
    }

    /// Pitch class 0–11, C = 0.
    #[must_use]
    pub fn pitch_class(self) -> usize {
        usize::try_from(self.key_number().rem_euclid(12)).unwrap_or(0)
    }

    /// Steps above C0: what a staff counts in.
    #[must_use]
    pub fn diatonic(self) -> i32 {
        i32::from(self.octave) * 7 + self.step.index()
    }

    /// Whole semitones of alteration; `None` for a microtone.
    #[must_use]
    pub fn whole_alter(self) -> Option<i8> {
        if self.alter.is_whole() {
            i8::try_from(self.alter.num()).ok()
        } else {
            None
        }
    }

    /// Place on the line of fifths, C = 0, F♯ = 6, B♭ = −2 (microtones by their whole part).
    #[must_use]
    pub fn fifths(self) -> i32 {
        self.step.fifths() + 7 * i32::try_from(self.alter.floor()).unwrap_or(0)
    }

    /// The same pitch moved by a number of letter steps and of semitones (both signed), spelled accordingly.
    #[must_use]
    pub fn transposed(self, diatonic: i32, chromatic: Rational) -> Self {
        let target = self.diatonic() + diatonic;
        let step = Step::from_index(target);
        let octave = i8::try_from(target.div_euclid(7)).unwrap_or(if target < 0 { i8::MIN } else { i8::MAX });
        let natural = Self {
            step,
            alter: Rational::ZERO,
            octave,
        };
        Self {
            alter: self.semitones() + chromatic - natural.semitones(),
            ..natural
        }
    }

    /// Letter and alteration without the octave: `Bb`, `F##`, `C`.
    #[must_use]
    pub fn class_name(self) -> String {
        format!("{}{}", self.step.letter(), alter_ascii(self.alter))
    }

    /// Letter and alteration with the trade's signs, without the octave: `B♭`, `F𝄪`, `C`.
    #[must_use]
    pub fn class_sign(self) -> String {
        format!("{}{}", self.step.letter(), alter_sign(self.alter))
    }

    /// With the trade's signs: `B♭1`, `F♯4`.
    #[must_use]
    pub fn sign(self) -> String {
        format!("{}{}", self.class_sign(), self.octave)
    }

    /// With the trade's signs, a natural written out: `F♮4`, `B♭1`. For notes whose form is in question.
    #[must_use]
    pub fn sign_natural(self) -> String {
        let natural = if self.alter.is_zero() { "♮" } else { "" };
        format!("{}{natural}{}", self.class_sign(), self.octave)
    }

    /// Reads the plain form (`Bb1`, `F##4`, `C-1`); `None` if it is none. Microtones are not read.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut chars = text.chars();
        let step = Step::from_letter(chars.next()?)?;
        let rest = chars.as_str();
        let signs = rest.len() - rest.trim_start_matches(['b', '#']).len();
        let (signs, octave) = rest.split_at(signs);
        let alter: i8 = signs.chars().map(|c| if c == '#' { 1 } else { -1 }).sum();
        Some(Self::new(step, alter, octave.parse().ok()?))
    }
}

/// An alteration in plain letters: `b`, `#`, `##`, `bb`, empty for a natural; microtones as `(1/2)`.
#[must_use]
pub fn alter_ascii(alter: Alter) -> String {
    alter_with(alter, "#", "b")
}

/// An alteration in the trade's signs: `♭`, `♯`, `𝄪`, `♭♭`, empty for a natural; microtones as `(1/2)`.
#[must_use]
pub fn alter_sign(alter: Alter) -> String {
    if alter == Rational::whole(2) {
        "𝄪".to_owned()
    } else {
        alter_with(alter, "♯", "♭")
    }
}

/// The standard's name of the usual sign for an alteration (`double-sharp`); `None` where there is none.
/// Source: MusicXML 4.0, accidental-value.
#[must_use]
pub fn accidental_name(alter: Alter) -> Option<&'static str> {
    let halves = alter + alter;
    Some(match (halves.num(), halves.den()) {
        (0, 1) => "natural",
        (1, 1) => "quarter-sharp",
        (2, 1) => "sharp",
        (3, 1) => "three-quarters-sharp",
        (4, 1) => "double-sharp",
        (6, 1) => "triple-sharp",
        (-1, 1) => "quarter-flat",
        (-2, 1) => "flat",
        (-3, 1) => "three-quarters-flat",
        (-4, 1) => "flat-flat",
        (-6, 1) => "triple-flat",
        _ => return None,
    })
}

fn alter_with(alter: Alter, sharp: &str, flat: &str) -> String {
    if !alter.is_whole() || alter.abs() > Rational::whole(9) {
        return format!("({alter})");
    }
    let count = usize::try_from(alter.num().unsigned_abs()).unwrap_or(0);
    if alter.is_negative() {
        flat.repeat(count)
    } else {
        sharp.repeat(count)
    }
}

/// Plain form: `Bb1`, `E#2`, `F##4`.
impl fmt::Display for Pitch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}{}{}",
            self.step.letter(),
            alter_ascii(self.alter),
            self.octave
        )
    }
}

/// Low to high by sound, then by letter, so that `B♯3` and `C4` keep a fixed order.
impl Ord for Pitch {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.semitones()
            .cmp(&other.semitones())
            .then(self.diatonic().cmp(&other.diatonic()))
    }
}

impl PartialOrd for Pitch {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Source: MIDI 1.0, key number 60 is middle C; scientific pitch names put it at C4.
    #[test]
    fn middle_c_is_60() {
        for (name, key) in [
            ("C4", 60),
            ("Bb1", 34),
            ("E#2", 41),
            ("F##4", 67),
            ("B#3", 60),
            ("Cb4", 59),
            ("A4", 69),
        ] {
            let pitch = Pitch::parse(name).expect(name);
            assert_eq!(pitch.key_number(), key, "{name}");
            assert_eq!(pitch.to_string(), name);
        }
        assert_eq!(Pitch::parse("H2"), None);
        assert_eq!(Pitch::parse("C"), None);
    }

    #[test]
    fn clarinet_in_b_flat_sounds_a_step_lower() {
        let written = Pitch::parse("F#5").expect("a pitch");
        assert_eq!(written.transposed(-1, Rational::whole(-2)).to_string(), "E5");
    }

    proptest! {
        #[test]
        fn transposing_there_and_back_keeps_the_spelling(
            step in 0i32..7, alter in -2i8..=2, octave in 0i8..8, diatonic in -14i32..14, chromatic in -24i64..24,
        ) {
            let pitch = Pitch::new(Step::from_index(step), alter, octave);
            let there = pitch.transposed(diatonic, Rational::whole(chromatic));
            prop_assert_eq!(there.transposed(-diatonic, Rational::whole(-chromatic)), pitch);
            prop_assert_eq!(there.semitones(), pitch.semitones() + Rational::whole(chromatic));
        }
    }
}

//! How is a key named? A tonic on the line of fifths with major or minor, and the modes proper by their distance from the signature.

use notation::{Pitch, Step};

/// A tonic and whether the third above it is major or minor.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Tonality {
    /// The tonic on the line of fifths: C 0, G 1, F −1, F♯ 6, B♭ −2.
    pub fifths: i32,
    /// True for minor.
    pub minor: bool,
}

impl Tonality {
    /// The major key on a place of the line of fifths.
    #[must_use]
    pub const fn major(fifths: i32) -> Self {
        Self { fifths, minor: false }
    }

    /// The minor key on a place of the line of fifths.
    #[must_use]
    pub const fn minor(fifths: i32) -> Self {
        Self { fifths, minor: true }
    }

    /// The signature that this key usually has: sharps (+) or flats (−).
    #[must_use]
    pub const fn signature(self) -> i32 {
        if self.minor { self.fifths - 3 } else { self.fifths }
    }

    /// The tonic as letter and whole semitones of alteration.
    #[must_use]
    pub fn tonic(self) -> (Step, i8) {
        spelled(self.fifths)
    }

    /// `major` or `minor`.
    #[must_use]
    pub const fn mode(self) -> &'static str {
        if self.minor { "minor" } else { "major" }
    }

    /// As a musician says it: `B♭ major`, `F♯ minor`.
    #[must_use]
    pub fn name(self) -> String {
        format!("{} {}", note_name(self.fifths), self.mode())
    }

    /// The key with the same signature: C major for A minor.
    #[must_use]
    pub const fn relative(self) -> Self {
        if self.minor {
            Self::major(self.fifths - 3)
        } else {
            Self::minor(self.fifths + 3)
        }
    }

    /// The key on the same tonic: C minor for C major.
    #[must_use]
    pub const fn parallel(self) -> Self {
        Self {
            fifths: self.fifths,
            minor: !self.minor,
        }
    }

    /// The pitch class of the tonic, C = 0.
    #[must_use]
    pub fn pitch_class(self) -> usize {
        pitch_class(self.fifths)
    }

    /// The place of the third on the line of fifths.
    #[must_use]
    pub const fn third(self) -> i32 {
        if self.minor {
            self.fifths - 3
        } else {
            self.fifths + 4
        }
    }

    /// The same key moved along the line of fifths.
    #[must_use]
    pub const fn moved(self, fifths: i32) -> Self {
        Self {
            fifths: self.fifths + fifths,
            minor: self.minor,
        }
    }
}

/// Letter and alteration of a place on the line of fifths (saturating at 127 sharps, which no page holds).
#[must_use]
pub fn spelled(fifths: i32) -> (Step, i8) {
    // F −1 … B 5 are the naturals; each seven steps add a sharp.
    let alter = (fifths + 1).div_euclid(7);
    let natural = fifths - 7 * alter;
    let step = Step::ALL
        .into_iter()
        .find(|step| step.fifths() == natural)
        .unwrap_or(Step::C);
    (
        step,
        i8::try_from(alter).unwrap_or(if alter < 0 { i8::MIN } else { i8::MAX }),
    )
}

/// The name of a note on the line of fifths, with the trade's signs: `B♭`, `F♯`.
#[must_use]
pub fn note_name(fifths: i32) -> String {
    let (step, alter) = spelled(fifths);
    Pitch::new(step, alter, 4).class_sign()
}

/// The pitch class of a place on the line of fifths, C = 0.
#[must_use]
pub fn pitch_class(fifths: i32) -> usize {
    usize::try_from((fifths * 7).rem_euclid(12)).unwrap_or(0)
}

/// A mode proper.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[expect(missing_docs, reason = "the modes are their own names")]
pub enum Scale {
    Major,
    Minor,
    Dorian,
    Phrygian,
    Lydian,
    Mixolydian,
    Aeolian,
}

impl Scale {
    /// The word used in JSON and on screen.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Major => "major",
            Self::Minor => "minor",
            Self::Dorian => "dorian",
            Self::Phrygian => "phrygian",
            Self::Lydian => "lydian",
            Self::Mixolydian => "mixolydian",
            Self::Aeolian => "aeolian",
        }
    }

    /// True if the third above its final is minor.
    #[must_use]
    pub const fn is_minor(self) -> bool {
        matches!(self, Self::Minor | Self::Dorian | Self::Phrygian | Self::Aeolian)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_of_fifths_spells_every_key() {
        for (fifths, name) in [
            (-7, "C♭"),
            (-2, "B♭"),
            (-1, "F"),
            (0, "C"),
            (5, "B"),
            (6, "F♯"),
            (7, "C♯"),
            (13, "F𝄪"),
        ] {
            assert_eq!(note_name(fifths), name);
        }
        assert_eq!(Tonality::minor(3).name(), "A minor");
        assert_eq!(Tonality::minor(3).signature(), 0);
        assert_eq!(Tonality::minor(3).relative(), Tonality::major(0));
        assert_eq!(Tonality::major(-2).pitch_class(), 10);
    }
}

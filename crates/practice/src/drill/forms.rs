//! Which notes has a scale or a broken chord? Steps above the tonic, spelled letter by letter.

use notation::{Pitch, Rational, Step};

/// A form of scale.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[expect(missing_docs, reason = "the scales are their own names")]
pub enum Form {
    Major,
    NaturalMinor,
    HarmonicMinor,
    /// Sixth and seventh raised on the way up, natural on the way down.
    MelodicMinor,
    Dorian,
    Phrygian,
    Lydian,
    Mixolydian,
    /// Semitones: sharps going up, flats coming down.
    Chromatic,
}

/// A broken chord.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[expect(missing_docs, reason = "the chords are their own names")]
pub enum Chord {
    Major,
    Minor,
    DominantSeventh,
    DiminishedSeventh,
}

impl Form {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::Major,
        Self::NaturalMinor,
        Self::HarmonicMinor,
        Self::MelodicMinor,
        Self::Dorian,
        Self::Phrygian,
        Self::Lydian,
        Self::Mixolydian,
        Self::Chromatic,
    ];

    /// The name in JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Major => "major",
            Self::NaturalMinor => "natural-minor",
            Self::HarmonicMinor => "harmonic-minor",
            Self::MelodicMinor => "melodic-minor",
            Self::Dorian => "dorian",
            Self::Phrygian => "phrygian",
            Self::Lydian => "lydian",
            Self::Mixolydian => "mixolydian",
            Self::Chromatic => "chromatic",
        }
    }

    /// As a musician says it after the tonic: `harmonic minor`.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NaturalMinor => "natural minor",
            Self::HarmonicMinor => "harmonic minor",
            Self::MelodicMinor => "melodic minor",
            other => other.id(),
        }
    }

    /// Semitones of the seven steps above the tonic, going up or coming down. Source: common practice (any theory primer);
    /// held against music21's scales in `reference/check_drills.py`.
    const fn steps(self, up: bool) -> [i64; 7] {
        match (self, up) {
            (Self::Major | Self::Chromatic, _) => [0, 2, 4, 5, 7, 9, 11],
            (Self::NaturalMinor, _) | (Self::MelodicMinor, false) => [0, 2, 3, 5, 7, 8, 10],
            (Self::HarmonicMinor, _) => [0, 2, 3, 5, 7, 8, 11],
            (Self::MelodicMinor, true) => [0, 2, 3, 5, 7, 9, 11],
            (Self::Dorian, _) => [0, 2, 3, 5, 7, 9, 10],
            (Self::Phrygian, _) => [0, 1, 3, 5, 7, 8, 10],
            (Self::Lydian, _) => [0, 2, 4, 6, 7, 9, 11],
            (Self::Mixolydian, _) => [0, 2, 4, 5, 7, 9, 10],
        }
    }

    /// How far its signature lies from that of the major key on the same tonic, in sharps.
    const fn signature_shift(self) -> i32 {
        match self {
            Self::Major | Self::Chromatic => 0,
            Self::NaturalMinor | Self::HarmonicMinor | Self::MelodicMinor => -3,
            Self::Dorian => -2,
            Self::Phrygian => -4,
            Self::Lydian => 1,
            Self::Mixolydian => -1,
        }
    }

    /// The signature that it is written with: sharps (+) or flats (−); none for a chromatic scale.
    #[must_use]
    pub fn signature(self, tonic: (Step, i8)) -> i8 {
        if self == Self::Chromatic {
            return 0;
        }
        let fifths = tonic.0.fifths() + 7 * i32::from(tonic.1) + self.signature_shift();
        i8::try_from(fifths).unwrap_or(0)
    }

    /// The note of the scale so many letters above a tonic.
    pub(crate) fn note(self, tonic: Pitch, letters: i32, up: bool) -> Pitch {
        let octaves = letters.div_euclid(7);
        let step = usize::try_from(letters.rem_euclid(7)).unwrap_or(0);
        let semitones = self.steps(up).get(step).copied().unwrap_or(0);
        tonic.transposed(letters, Rational::whole(semitones + 12 * i64::from(octaves)))
    }
}

impl Chord {
    /// All of them.
    pub const ALL: [Self; 4] = [
        Self::Major,
        Self::Minor,
        Self::DominantSeventh,
        Self::DiminishedSeventh,
    ];

    /// The name in JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Major => "major",
            Self::Minor => "minor",
            Self::DominantSeventh => "dominant-seventh",
            Self::DiminishedSeventh => "diminished-seventh",
        }
    }

    /// As a musician says it after the root: `dominant seventh`.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::DominantSeventh => "dominant seventh",
            Self::DiminishedSeventh => "diminished seventh",
            other => other.id(),
        }
    }

    /// Letters and semitones of its notes above the root. Source: common practice (thirds stacked).
    pub(crate) const fn notes(self) -> &'static [(i32, i64)] {
        match self {
            Self::Major => &[(0, 0), (2, 4), (4, 7)],
            Self::Minor => &[(0, 0), (2, 3), (4, 7)],
            Self::DominantSeventh => &[(0, 0), (2, 4), (4, 7), (6, 10)],
            Self::DiminishedSeventh => &[(0, 0), (2, 3), (4, 6), (6, 9)],
        }
    }

    /// The note of the chord so many chord notes above a root.
    pub(crate) fn note(self, root: Pitch, above: i32) -> Pitch {
        let notes = self.notes();
        let count = i32::try_from(notes.len()).unwrap_or(3).max(1);
        let octaves = above.div_euclid(count);
        let (letters, semitones) = usize::try_from(above.rem_euclid(count))
            .ok()
            .and_then(|at| notes.get(at).copied())
            .unwrap_or((0, 0));
        root.transposed(
            letters + 7 * octaves,
            Rational::whole(semitones + 12 * i64::from(octaves)),
        )
    }
}

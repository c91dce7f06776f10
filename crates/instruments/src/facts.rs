//! What is known about one instrument? Names, family, transposition, clefs, ranges, register breaks, open strings.

use crate::sources::Cited;
use notation::{Clef, Pitch, Rational, Transposition};

/// What a player of it does to make and separate notes: what marks mean depends on this.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Family {
    /// Flutes and recorders: tongue and air, no reed.
    Flute,
    /// Oboes, clarinets, bassoons, saxophones: tongue on the reed.
    Reed,
    /// Lips in a cup: tongue and lips.
    Brass,
    /// Bowed strings.
    String,
    /// Plucked strings.
    Plucked,
    /// Singers.
    Voice,
    /// Keyboards.
    Keyboard,
    /// Struck instruments.
    Percussion,
}

impl Family {
    /// The word used in JSON and on screen.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Flute => "flute",
            Self::Reed => "reed",
            Self::Brass => "brass",
            Self::String => "string",
            Self::Plucked => "plucked",
            Self::Voice => "voice",
            Self::Keyboard => "keyboard",
            Self::Percussion => "percussion",
        }
    }

    /// True where the player blows: breath and tongue matter.
    #[must_use]
    pub const fn is_wind(self) -> bool {
        matches!(self, Self::Flute | Self::Reed | Self::Brass)
    }

    /// True where breath matters (winds and singers).
    #[must_use]
    pub const fn breathes(self) -> bool {
        self.is_wind() || matches!(self, Self::Voice)
    }
}

/// How far an entry can be trusted.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Grade {
    /// Two independent pages agree on what matters (for a range: on the low end, and they bracket the top).
    A,
    /// One page, or a rule seen on a page plus memory.
    B,
    /// From memory.
    C,
}

impl Grade {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::A => "two sources agree",
            Self::B => "one source",
            Self::C => "from memory",
        }
    }
}

/// How usual a clef is in the instrument's parts.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Habit {
    /// Every player reads it.
    Usual,
    /// Met, but seldom.
    Rare,
}

/// A clef met in the instrument's parts.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct UsualClef {
    /// Which.
    pub clef: Clef,
    /// How usual.
    pub habit: Habit,
}

/// Range by experience, as guidance for a warning, never a limit: sources disagree, above all on the top.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Ranges {
    pub(crate) student: Option<(&'static str, &'static str)>,
    pub(crate) intermediate: Option<(&'static str, &'static str)>,
    pub(crate) professional: Option<(&'static str, &'static str)>,
    /// True if the pitches are sounding ones (tenor voice), not written ones.
    pub sounding: bool,
    /// What is said of notes beyond the professional range; may be empty.
    pub beyond: &'static str,
    /// Where the sources disagree; may be empty.
    pub disagreements: &'static str,
    /// The sources.
    pub sources: &'static [Cited],
    /// How far to trust it.
    pub grade: Grade,
}

/// Whose range.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Experience {
    /// The first years. The values are mostly judgement anchored on one grading table.
    Student,
    /// Some years in. The values are mostly judgement.
    Intermediate,
    /// The whole usual compass.
    Professional,
}

impl Experience {
    /// From the narrowest range to the widest.
    pub const ALL: [Self; 3] = [Self::Student, Self::Intermediate, Self::Professional];

    /// The word used in JSON and on screen.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Student => "student",
            Self::Intermediate => "intermediate",
            Self::Professional => "professional",
        }
    }
}

impl Ranges {
    /// No range known.
    pub(crate) const UNKNOWN: Self = Self {
        student: None,
        intermediate: None,
        professional: None,
        sounding: false,
        beyond: "",
        disagreements: "",
        sources: &[],
        grade: Grade::C,
    };

    /// Lowest and highest written pitch usual at a level of experience; `None` where none is given.
    #[must_use]
    pub fn of(&self, experience: Experience) -> Option<(Pitch, Pitch)> {
        let (low, high) = match experience {
            Experience::Student => self.student,
            Experience::Intermediate => self.intermediate,
            Experience::Professional => self.professional,
        }?;
        Some((Pitch::parse(low)?, Pitch::parse(high)?))
    }
}

/// One instrument.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Instrument {
    /// A fixed name for data (`bassoon`, `clarinet-bb`).
    pub id: &'static str,
    /// The name a musician says.
    pub name: &'static str,
    /// Its family.
    pub family: Family,
    /// Names in English, Italian, German and French, folded (lower case, no accents or points).
    pub(crate) names: &'static [&'static str],
    /// Abbreviations, folded the same way.
    pub(crate) short: &'static [&'static str],
    /// The pitch it is said to stand in where a name usually says so (`Bb`, `F`).
    pub pitched_in: Option<&'static str>,
    /// Sound ids. Source: MusicXML 4.0, standard sounds.
    pub sounds: &'static [&'static str],
    /// General MIDI programs, from 1.
    pub midi: &'static [u8],
    pub(crate) steps: i32,
    pub(crate) semitones: i32,
    /// Where its transposition was read.
    pub transposition_sources: &'static [Cited],
    /// Clefs of its parts, most usual first.
    pub clefs: &'static [UsualClef],
    /// Written ranges.
    pub ranges: Ranges,
    pub(crate) breaks: &'static [(&'static str, &'static str)],
    pub(crate) strings: &'static [&'static str],
}

impl Instrument {
    /// What its usual part adds to a written pitch to sound.
    #[must_use]
    pub fn transposition(&self) -> Transposition {
        Transposition {
            diatonic: self.steps,
            chromatic: Rational::whole(i64::from(self.semitones)),
            octaves: 0,
            doubled: false,
        }
    }

    /// Neighbouring written notes between which the fingers change over to another register.
    /// Source: the register structure of the fingering tables (twelfth and octave relations), common practice.
    #[must_use]
    pub fn register_breaks(&self) -> Vec<(Pitch, Pitch)> {
        self.breaks
            .iter()
            .filter_map(|(low, high)| Some((Pitch::parse(low)?, Pitch::parse(high)?)))
            .collect()
    }

    /// The open strings as written, lowest first; empty for other instruments.
    #[must_use]
    pub fn open_strings(&self) -> Vec<Pitch> {
        self.strings
            .iter()
            .filter_map(|name| Pitch::parse(name))
            .collect()
    }

    /// How usual a clef is in its parts; `None` if it is not met. An octave mark of the clef counts.
    #[must_use]
    pub fn habit_of(&self, clef: Clef) -> Option<Habit> {
        self.clefs
            .iter()
            .find(|usual| usual.clef == clef)
            .map(|usual| usual.habit)
    }
}

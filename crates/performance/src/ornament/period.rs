//! By whose rules is an ornament played? The period, and what a teacher has chosen for one ornament.

use notation::{Pitch, Rational};

/// Whose customs are followed where the page does not say.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub enum Period {
    /// J.S. and C.P.E. Bach, Quantz: trills from above on the beat, long appoggiaturas.
    Baroque,
    /// From about 1750 to Hummel (1828): as before, with the exceptions that Grove lists.
    Classical,
    /// Since Hummel: trills from the main note, grace notes short.
    #[default]
    Modern,
}

impl Period {
    /// All, oldest first.
    pub const ALL: [Self; 3] = [Self::Baroque, Self::Classical, Self::Modern];

    /// The word on screen and in options.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Baroque => "baroque",
            Self::Classical => "classical",
            Self::Modern => "modern",
        }
    }

    /// The period with a name.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|period| period.word().eq_ignore_ascii_case(word.trim()))
    }
}

/// On which note a trill begins.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Begin {
    /// On the note above.
    Upper,
    /// On the written note.
    Main,
}

/// What a teacher has decided for one ornament or one group of grace notes; `None` leaves it to the period.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Choice {
    /// The rules of another period.
    pub period: Option<Period>,
    /// Where a trill begins.
    pub from: Option<Begin>,
    /// Whether a trill ends with the lower and the main note.
    pub termination: Option<bool>,
    /// How fast a trill or tremolo goes, in notes a second.
    pub notes_a_second: Option<Rational>,
    /// The note above, where the page can be read in two ways.
    pub upper: Option<Pitch>,
    /// The note below.
    pub lower: Option<Pitch>,
    /// Whether a lone grace note is long.
    pub long: Option<bool>,
    /// Whether grace notes come before the beat.
    pub before_the_beat: Option<bool>,
    /// Leave the ornament away: the plain note.
    pub plain: bool,
}

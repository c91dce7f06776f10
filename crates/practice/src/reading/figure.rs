//! Which rhythms may a piece hold beyond whole, half and quarter notes? Figures by the names that tables and teachers use.

/// A kind of rhythm. In compound time the values that make up a beat (quarter and eighth under a dotted quarter) are plain.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Figure {
    /// Eighth notes.
    Eighths,
    /// Sixteenth notes.
    Sixteenths,
    /// Dotted quarter and eighth.
    DottedQuarters,
    /// Dotted eighth and sixteenth.
    DottedEighths,
    /// Triplets.
    Triplets,
    /// Notes struck off the beat and held over the next.
    Syncopation,
    /// Rests inside the phrases.
    Rests,
}

impl Figure {
    /// From the easiest on.
    pub const ALL: [Self; 7] = [
        Self::Eighths,
        Self::DottedQuarters,
        Self::Rests,
        Self::Sixteenths,
        Self::DottedEighths,
        Self::Syncopation,
        Self::Triplets,
    ];

    /// The name on the command line and in JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Eighths => "eighths",
            Self::Sixteenths => "sixteenths",
            Self::DottedQuarters => "dotted-quarters",
            Self::DottedEighths => "dotted-eighths",
            Self::Triplets => "triplets",
            Self::Syncopation => "syncopation",
            Self::Rests => "rests",
        }
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Eighths => "eighths",
            Self::Sixteenths => "sixteenths",
            Self::DottedQuarters => "dotted quarters",
            Self::DottedEighths => "dotted eighths",
            Self::Triplets => "triplets",
            Self::Syncopation => "syncopation",
            Self::Rests => "rests in the phrase",
        }
    }

    /// The figure with a name; spaces, `s` at the end and case don't matter.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        let folded = |text: &str| {
            text.trim()
                .to_lowercase()
                .replace([' ', '-'], "")
                .trim_end_matches('s')
                .to_owned()
        };
        let wanted = folded(name);
        Self::ALL.into_iter().find(|figure| folded(figure.id()) == wanted)
    }

    const fn bit(self) -> u8 {
        1 << self as u8
    }
}

/// A set of figures.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Figures(u8);

impl Figures {
    /// None: whole, half and quarter notes.
    pub const PLAIN: Self = Self(0);

    /// These.
    #[must_use]
    pub const fn of(figures: &[Figure]) -> Self {
        let mut bits = 0;
        let mut at = 0;
        while at < figures.len() {
            bits |= figures[at].bit();
            at += 1;
        }
        Self(bits)
    }

    /// With one more.
    #[must_use]
    pub const fn with(self, figure: Figure) -> Self {
        Self(self.0 | figure.bit())
    }

    /// Without one.
    #[must_use]
    pub const fn without(self, figure: Figure) -> Self {
        Self(self.0 & !figure.bit())
    }

    /// Those in both.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// Whether one is there.
    #[must_use]
    pub const fn has(self, figure: Figure) -> bool {
        self.0 & figure.bit() != 0
    }

    /// Whether all of these are in another set.
    #[must_use]
    pub const fn within(self, other: Self) -> bool {
        self.0 & !other.0 == 0
    }

    /// One after another, the easiest first.
    pub fn iter(self) -> impl Iterator<Item = Figure> {
        Figure::ALL.into_iter().filter(move |figure| self.has(*figure))
    }

    /// `eighths, dotted quarters`; of none: `whole, half and quarter notes`.
    #[must_use]
    pub fn words(self) -> String {
        let words: Vec<&str> = self.iter().map(Figure::words).collect();
        if words.is_empty() {
            "whole, half and quarter notes".to_owned()
        } else {
            words.join(", ")
        }
    }
}

impl FromIterator<Figure> for Figures {
    fn from_iter<I: IntoIterator<Item = Figure>>(figures: I) -> Self {
        figures.into_iter().fold(Self::PLAIN, Self::with)
    }
}

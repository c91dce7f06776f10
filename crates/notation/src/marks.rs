//! What signs stand at a note? Articulation, ornaments, technical marks, fermatas, as printed.

/// Above or below.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Side {
    /// Above the note or staff.
    Above,
    /// Below the note or staff.
    Below,
}

/// An articulation mark.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Articulation {
    /// Which.
    pub kind: ArticulationKind,
    /// Where it is drawn, if said.
    pub side: Option<Side>,
}

/// The articulation marks of MusicXML 4.0, by the trade's names.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
#[expect(missing_docs, reason = "named for the mark; `mark` gives the trade's word")]
pub enum ArticulationKind {
    Accent,
    /// The upright wedge, `strong-accent` in MusicXML.
    Marcato,
    Staccato,
    /// A wedge or stroke.
    Staccatissimo,
    Spiccato,
    Tenuto,
    /// Tenuto line and staccato dot together, `detached-legato` in MusicXML.
    Portato,
    Scoop,
    Plop,
    Doit,
    Falloff,
    /// A breath mark, with the sign's name (`comma`, `tick`, …; empty if not said).
    BreathMark(String),
    /// A caesura, with its shape (`normal`, `thick`, …; empty if not said).
    Caesura(String),
    Stress,
    Unstress,
    SoftAccent,
    /// Any other, by the standard's name or the text given.
    Other(String),
}

impl ArticulationKind {
    /// The trade's word for the mark.
    #[must_use]
    pub fn mark(&self) -> &str {
        match self {
            Self::Accent => "accent",
            Self::Marcato => "marcato",
            Self::Staccato => "staccato",
            Self::Staccatissimo => "staccatissimo",
            Self::Spiccato => "spiccato",
            Self::Tenuto => "tenuto",
            Self::Portato => "portato",
            Self::Scoop => "scoop",
            Self::Plop => "plop",
            Self::Doit => "doit",
            Self::Falloff => "falloff",
            Self::BreathMark(_) => "breath mark",
            Self::Caesura(_) => "caesura",
            Self::Stress => "stress",
            Self::Unstress => "unstress",
            Self::SoftAccent => "soft accent",
            Self::Other(name) => name,
        }
    }

    /// True for the marks that say where to breathe or break rather than how to attack a note.
    #[must_use]
    pub const fn is_break(&self) -> bool {
        matches!(self, Self::BreathMark(_) | Self::Caesura(_))
    }
}

/// An ornament sign with the small accidentals that stand at it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Ornament {
    /// Which.
    pub kind: OrnamentKind,
    /// Where it is drawn, if said.
    pub side: Option<Side>,
    /// Accidentals at the sign: the standard's name of each and whether above or below.
    pub accidentals: Vec<(String, Side)>,
}

/// The ornaments of MusicXML 4.0, by the trade's names.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
#[expect(missing_docs, reason = "named for the sign; `mark` gives the trade's word")]
pub enum OrnamentKind {
    Trill,
    Turn,
    /// A turn between this note and the next.
    DelayedTurn,
    InvertedTurn,
    DelayedInvertedTurn,
    VerticalTurn,
    InvertedVerticalTurn,
    Shake,
    /// The wavy line alone, over one note or from note to note (also a span).
    WavyLine,
    /// With the stroke through: main note, lower neighbour.
    Mordent {
        long: bool,
    },
    /// The short wavy line: upper neighbour.
    InvertedMordent {
        long: bool,
    },
    Schleifer,
    /// Tremolo strokes through the stem, or between two notes where `between`.
    Tremolo {
        strokes: u8,
        between: bool,
    },
    Haydn,
    Other(String),
}

impl OrnamentKind {
    /// The trade's word for the sign.
    #[must_use]
    pub fn mark(&self) -> &str {
        match self {
            Self::Trill => "trill",
            Self::Turn => "turn",
            Self::DelayedTurn => "delayed turn",
            Self::InvertedTurn => "inverted turn",
            Self::DelayedInvertedTurn => "delayed inverted turn",
            Self::VerticalTurn => "vertical turn",
            Self::InvertedVerticalTurn => "inverted vertical turn",
            Self::Shake => "shake",
            Self::WavyLine => "wavy line",
            Self::Mordent { .. } => "mordent",
            Self::InvertedMordent { .. } => "inverted mordent",
            Self::Schleifer => "schleifer",
            Self::Tremolo { .. } => "tremolo",
            Self::Haydn => "Haydn ornament",
            Self::Other(name) => name,
        }
    }
}

/// A technical mark: the standard's name and what stands in it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Technical {
    /// The name in MusicXML 4.0 (`fingering`, `up-bow`, `string`, `harmonic`, `open-string`, …).
    pub name: String,
    /// The text: the finger's number, the string; empty for a bare sign.
    pub text: String,
    /// Where it is drawn, if said.
    pub side: Option<Side>,
}

/// A fermata.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fermata {
    /// The shape as the standard names it; empty for the usual one.
    pub shape: String,
    /// Drawn below, inverted.
    pub inverted: bool,
}

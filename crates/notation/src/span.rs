//! What reaches from one place to another? Slurs, hairpins, ottavas, voltas … both ends anchored; an open end is legal.

use crate::id::Id;
use crate::marks::Side;
use crate::place::Anchor;

/// Something that reaches over several notes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Span {
    /// Its name.
    pub id: Id,
    /// What it is.
    pub kind: SpanKind,
    /// Where it starts; `None` if the source never says (a finding tells).
    pub start: Option<Anchor>,
    /// Where it ends; `None` if the source never says (a finding tells).
    pub end: Option<Anchor>,
    /// The staff of the part, from 1, if said.
    pub staff: Option<u8>,
    /// Above or below, if said.
    pub side: Option<Side>,
}

/// What a span is.
#[derive(Clone, PartialEq, Eq, Debug)]
#[expect(missing_docs, reason = "named for the sign")]
pub enum SpanKind {
    Slur,
    /// A hairpin that opens.
    Crescendo {
        niente: bool,
    },
    /// A hairpin that closes.
    Diminuendo {
        niente: bool,
    },
    /// Notes are drawn this many octaves away from where they sound: 1 for 8va, −1 for 8vb, 2 for 15ma.
    Ottava {
        octaves: i8,
    },
    /// A tuplet's group.
    Tuplet {
        actual: u16,
        normal: u16,
        bracket: bool,
    },
    TrillLine,
    Glissando,
    Slide,
    Pedal,
    Dashes,
    Bracket,
    /// Tremolo between two notes.
    TremoloPair {
        strokes: u8,
    },
    /// The source's analysis of phrases, principal voice and the like, by its name.
    Other(String),
}

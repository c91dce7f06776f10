//! What is written at one moment in one voice? Notes, chords, rests, with all that is attached to them.

use crate::id::Id;
use crate::marks::{Articulation, Fermata, Ornament, Technical};
use crate::pitch::{Alter, Pitch};
use crate::place::Place;
use crate::rational::{Quarters, Rational};

/// One event of a voice: a chord of one or more heads, a rest, or a space.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Event {
    /// Its name.
    pub id: Id,
    /// Where it starts.
    pub place: Place,
    /// What it is.
    pub kind: EventKind,
    /// How long it lasts in quarter notes; zero for a grace note.
    pub duration: Quarters,
    /// What is printed: note value, dots, tuplets; `None` if the source does not say.
    pub written: Option<Written>,
    /// Set for a grace note: zero time and an order.
    pub grace: Option<Grace>,
    /// A cue: another player's notes, in small print.
    pub cue: bool,
    /// The voice, as an index into [`crate::Part::voices`].
    pub voice: u16,
    /// The staff of the part, from 1 (of its first head for a chord).
    pub staff: u8,
    /// False if the source says that it is not printed.
    pub printed: bool,
    /// Beams, outermost first (level 1 joins eighths).
    pub beams: Vec<Beam>,
    /// Articulation marks in source order.
    pub articulations: Vec<Articulation>,
    /// Ornaments in source order.
    pub ornaments: Vec<Ornament>,
    /// Technical marks that belong to the whole event.
    pub technical: Vec<Technical>,
    /// Fermatas over or under it.
    pub fermatas: Vec<Fermata>,
    /// Dynamic marks attached to the note itself (rather than to a place).
    pub dynamics: Vec<String>,
    /// An arpeggio sign (`up`, `down`, or empty for plain; `not` for a non-arpeggio bracket).
    pub arpeggio: Option<String>,
    /// Lyrics, by line.
    pub lyrics: Vec<Lyric>,
}

/// What an event is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum EventKind {
    /// One head or more, from the first in the source on.
    Chord(Vec<Head>),
    /// A rest.
    Rest {
        /// True for a rest that fills its bar whatever the metre.
        whole_bar: bool,
    },
    /// Time passed over in silence by the source (a forward), nothing printed.
    Space,
}

/// One note head.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Head {
    /// Its name.
    pub id: Id,
    /// What it says.
    pub note: HeadNote,
    /// The staff of the part, from 1.
    pub staff: u8,
    /// The accidental printed before it, if any.
    pub accidental: Option<PrintedAccidental>,
    /// Tied to the next note of the same pitch.
    pub tie_start: bool,
    /// Tied from the note before.
    pub tie_stop: bool,
    /// Laissez vibrer: a tie into nothing, on purpose.
    pub let_ring: bool,
    /// Fingerings, strings and other technical marks that belong to this head.
    pub technical: Vec<Technical>,
    /// The shape of the head where it is not the usual one (`x`, `diamond` …).
    pub shape: Option<String>,
    /// In parentheses.
    pub parentheses: bool,
}

/// What a head says.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum HeadNote {
    /// A pitch as written for the part (transposition not applied; octave clef and ottava applied).
    Pitch(Pitch),
    /// No definite pitch; the place where it is drawn, if said (as if in the treble clef).
    Unpitched(Option<Pitch>),
}

/// A printed accidental.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PrintedAccidental {
    /// The sign by the standard's name: `sharp`, `natural`, `flat-flat` …
    /// Source: MusicXML 4.0, accidental-value.
    pub sign: String,
    /// The alteration it prints, if it is a usual sign.
    pub alter: Option<Alter>,
    /// A courtesy accidental, as the source says.
    pub cautionary: bool,
    /// Added by an editor.
    pub editorial: bool,
    /// Drawn in parentheses or brackets.
    pub parentheses: bool,
}

/// What is printed for a duration.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Written {
    /// The note value.
    pub value: NoteValue,
    /// Augmentation dots.
    pub dots: u8,
    /// The tuplets it stands in, outermost first.
    pub tuplets: Vec<TupletRatio>,
}

impl Written {
    /// The duration that the print adds up to, in quarter notes.
    #[must_use]
    pub fn quarters(&self) -> Quarters {
        let base = self.value.quarters();
        // n dots: base × (2 − 1/2ⁿ).
        let dots = u32::from(self.dots.min(10));
        let dotted = base * (Rational::whole(2) - Rational::new(1, 1 << dots));
        self.tuplets.iter().fold(dotted, |sum, t| {
            sum * Rational::new(i64::from(t.normal), i64::from(t.actual))
        })
    }
}

/// So many notes in the time of so many.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct TupletRatio {
    /// Notes printed.
    pub actual: u16,
    /// Notes of the same value whose time they take.
    pub normal: u16,
}

/// A note value.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
#[expect(missing_docs, reason = "the values are their own names")]
pub enum NoteValue {
    N1024th,
    N512th,
    N256th,
    N128th,
    N64th,
    N32nd,
    N16th,
    Eighth,
    Quarter,
    Half,
    Whole,
    Breve,
    Long,
    Maxima,
}

impl NoteValue {
    /// All values from shortest to longest.
    pub const ALL: [Self; 14] = [
        Self::N1024th,
        Self::N512th,
        Self::N256th,
        Self::N128th,
        Self::N64th,
        Self::N32nd,
        Self::N16th,
        Self::Eighth,
        Self::Quarter,
        Self::Half,
        Self::Whole,
        Self::Breve,
        Self::Long,
        Self::Maxima,
    ];

    /// Length undotted, in quarter notes.
    #[must_use]
    pub fn quarters(self) -> Quarters {
        let power = self as i64 - Self::Quarter as i64;
        if power >= 0 {
            Rational::whole(1 << power)
        } else {
            Rational::new(1, 1 << -power)
        }
    }

    /// The name used in MusicXML (`16th`, `eighth`, `quarter`).
    /// Source: MusicXML 4.0, note-type-value.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::N1024th => "1024th",
            Self::N512th => "512th",
            Self::N256th => "256th",
            Self::N128th => "128th",
            Self::N64th => "64th",
            Self::N32nd => "32nd",
            Self::N16th => "16th",
            Self::Eighth => "eighth",
            Self::Quarter => "quarter",
            Self::Half => "half",
            Self::Whole => "whole",
            Self::Breve => "breve",
            Self::Long => "long",
            Self::Maxima => "maxima",
        }
    }

    /// The value with a MusicXML name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|value| value.name() == name)
    }
}

/// A grace note.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Grace {
    /// With a stroke through the stem.
    pub slash: bool,
    /// Its place in the group before the main note, from 0.
    pub order: u16,
    /// True if the group follows the main note it belongs to (after-grace: nothing follows in the bar).
    pub after: bool,
}

/// One level of beaming at an event.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[expect(missing_docs, reason = "named as in MusicXML 4.0, beam-value")]
pub enum Beam {
    Begin,
    Continue,
    End,
    ForwardHook,
    BackwardHook,
}

/// One syllable under a note.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Lyric {
    /// The line of text, as the source numbers it.
    pub line: String,
    /// The syllable or syllables.
    pub text: String,
    /// `single`, `begin`, `middle`, `end` as in MusicXML; empty if not said.
    pub syllabic: String,
    /// A line holds the syllable over the next notes.
    pub extend: bool,
}

impl Event {
    /// The heads; empty for a rest or space.
    #[must_use]
    pub fn heads(&self) -> &[Head] {
        match &self.kind {
            EventKind::Chord(heads) => heads,
            EventKind::Rest { .. } | EventKind::Space => &[],
        }
    }

    /// True for a note or chord.
    #[must_use]
    pub const fn is_note(&self) -> bool {
        matches!(self.kind, EventKind::Chord(_))
    }

    /// True for a rest (a space is none).
    #[must_use]
    pub const fn is_rest(&self) -> bool {
        matches!(self.kind, EventKind::Rest { .. })
    }

    /// True for a grace note or grace chord.
    #[must_use]
    pub const fn is_grace(&self) -> bool {
        self.grace.is_some()
    }

    /// Where it ends: its offset in the bar plus its duration, in quarter notes.
    #[must_use]
    pub fn end_offset(&self) -> Quarters {
        self.place.offset + self.duration
    }

    /// The pitches of its heads in source order, unpitched heads left out.
    pub fn pitches(&self) -> impl Iterator<Item = Pitch> + '_ {
        self.heads().iter().filter_map(Head::pitch)
    }

    /// The highest pitch: what the ear takes for the line.
    #[must_use]
    pub fn top_pitch(&self) -> Option<Pitch> {
        self.pitches().max()
    }
}

impl Head {
    /// The pitch, unless it has none.
    #[must_use]
    pub const fn pitch(&self) -> Option<Pitch> {
        match self.note {
            HeadNote::Pitch(pitch) => Some(pitch),
            HeadNote::Unpitched(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: MusicXML 4.0 tutorial values: a dotted quarter is 3/2, a triplet eighth 1/3 of a quarter.
    #[test]
    fn printed_values_add_up() {
        let written = |value, dots, tuplets| Written { value, dots, tuplets }.quarters();
        assert_eq!(written(NoteValue::Quarter, 1, vec![]), Rational::new(3, 2));
        assert_eq!(written(NoteValue::Half, 2, vec![]), Rational::new(7, 2));
        let triplet = TupletRatio { actual: 3, normal: 2 };
        let quintuplet = TupletRatio { actual: 5, normal: 4 };
        assert_eq!(written(NoteValue::Eighth, 0, vec![triplet]), Rational::new(1, 3));
        assert_eq!(
            written(NoteValue::N16th, 0, vec![triplet, quintuplet]),
            Rational::new(2, 15)
        );
        assert_eq!(NoteValue::N1024th.quarters(), Rational::new(1, 256));
        assert_eq!(NoteValue::Maxima.quarters(), Rational::whole(32));
    }
}

//! What is printed as words or signs beside the notes? Raw, with its place; what a word means is asked elsewhere.

use crate::event::NoteValue;
use crate::id::Id;
use crate::marks::Side;
use crate::place::Place;
use crate::rational::Rational;

/// Something printed at a place rather than at a note.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Direction {
    /// Its name.
    pub id: Id,
    /// Where it stands.
    pub place: Place,
    /// The staff of the part, from 1, if said.
    pub staff: Option<u8>,
    /// The voice, as the source names it, if said.
    pub voice: Option<String>,
    /// Above or below, if said.
    pub side: Option<Side>,
    /// False if the source says that it is not printed.
    pub printed: bool,
    /// What it is.
    pub kind: DirectionKind,
}

/// What a direction is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum DirectionKind {
    /// Words as printed, unclassified, newlines kept.
    Words(String),
    /// A dynamic mark by its letters (`p`, `sfz`).
    Dynamic(String),
    /// A metronome mark.
    Metronome(Metronome),
    /// A rehearsal mark.
    Rehearsal(String),
    /// The segno sign.
    Segno,
    /// The coda sign.
    Coda,
    /// Any other sign, by the standard's name, with its text.
    Sign {
        /// The standard's name (`damp`, `string-mute`, `eyeglasses` …).
        name: String,
        /// The text in it, if any.
        text: String,
    },
}

/// A metronome mark.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Metronome {
    /// The note that is counted.
    pub beat: NoteValue,
    /// Its dots.
    pub dots: u8,
    /// What it is set to.
    pub value: MetronomeValue,
    /// Printed in parentheses.
    pub parentheses: bool,
}

/// What a metronome mark says about its beat.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum MetronomeValue {
    /// So many a minute, as printed (`120`, `c. 96`, `100-108`).
    PerMinute(String),
    /// As long as another note was (♩ = ♪).
    Equals(NoteValue, u8),
}

impl MetronomeValue {
    /// Beats per minute from the printed text: one number, or two for a range; `None` if it holds no number.
    #[must_use]
    pub fn range(&self) -> Option<(Rational, Rational)> {
        let Self::PerMinute(text) = self else { return None };
        let numbers: Vec<Rational> = text
            .split(|c: char| !(c.is_ascii_digit() || c == '.'))
            .filter_map(|number| Rational::parse(number.trim_matches('.')))
            .filter(|number| number.is_positive())
            .collect();
        match numbers.as_slice() {
            [] => None,
            [one] => Some((*one, *one)),
            [first, second, ..] => Some((*first.min(second), *first.max(second))),
        }
    }
}

/// What the source says about playback at a place (MusicXML `sound`): hints, never proof of what is printed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SoundHint {
    /// Where.
    pub place: Place,
    /// The part that carries it.
    pub part: usize,
    /// Attribute by attribute, as the standard names them (`dacapo`, `tempo`, `time-only` …), in source order.
    pub attributes: Vec<(String, String)>,
}

impl SoundHint {
    /// The value of an attribute.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&str> {
        self.attributes
            .iter()
            .find(|(key, _)| key == name)
            .map(|(_, value)| value.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn metronome_text_is_a_number_or_a_range() {
        let range = |text: &str| MetronomeValue::PerMinute(text.to_owned()).range();
        let whole = |low, high| Some((Rational::whole(low), Rational::whole(high)));
        assert_eq!(range("120"), whole(120, 120));
        assert_eq!(range("c. 96"), whole(96, 96));
        assert_eq!(range("100-108"), whole(100, 108));
        assert_eq!(range("132–126"), whole(126, 132));
        assert_eq!(range("fast"), None);
        assert_eq!(range("0"), None);
    }
}

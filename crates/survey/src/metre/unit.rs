//! What note is the beat? A note value with its dots, by name, by sign and by length.

use notation::{NoteValue, Quarters, Rational};

/// A note that is counted as one beat.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct BeatUnit {
    /// The note value.
    pub value: NoteValue,
    /// Its dots.
    pub dots: u8,
}

impl BeatUnit {
    /// The quarter note.
    pub const QUARTER: Self = Self {
        value: NoteValue::Quarter,
        dots: 0,
    };

    /// An undotted note.
    #[must_use]
    pub const fn plain(value: NoteValue) -> Self {
        Self { value, dots: 0 }
    }

    /// The note, with at most three dots, that lasts so many quarter notes; `None` if there is none.
    #[must_use]
    pub fn of_quarters(length: Quarters) -> Option<Self> {
        (0..=3).find_map(|dots| {
            let value = NoteValue::ALL
                .into_iter()
                .find(|value| Self { value: *value, dots }.quarters() == length)?;
            Some(Self { value, dots })
        })
    }

    /// Its length in quarter notes.
    #[must_use]
    pub fn quarters(self) -> Quarters {
        let dots = u32::from(self.dots.min(10));
        self.value.quarters() * (Rational::whole(2) - Rational::new(1, 1 << dots))
    }

    /// In words: `dotted quarter`, `eighth`.
    #[must_use]
    pub fn name(self) -> String {
        match self.dots {
            0 => value_name(self.value).to_owned(),
            1 => format!("dotted {}", value_name(self.value)),
            2 => format!("double-dotted {}", value_name(self.value)),
            n => format!("{n}-dotted {}", value_name(self.value)),
        }
    }

    /// As it is printed in a metronome mark where there is a plain sign for it (`♩.`, `♪`), else in words.
    #[must_use]
    pub fn sign(self) -> String {
        let sign = match self.value {
            NoteValue::Quarter => "♩",
            NoteValue::Eighth => "♪",
            _ => return self.name(),
        };
        format!("{sign}{}", ".".repeat(usize::from(self.dots)))
    }

    /// The name in JSON: the value as MusicXML names it, with a point for each dot (`quarter.`, `eighth`).
    #[must_use]
    pub fn code(self) -> String {
        format!("{}{}", self.value.name(), ".".repeat(usize::from(self.dots)))
    }
}

/// The trade's word for a note value (`sixteenth`, `half`).
#[must_use]
pub const fn value_name(value: NoteValue) -> &'static str {
    match value {
        NoteValue::N16th => "sixteenth",
        NoteValue::N32nd => "thirty-second",
        NoteValue::N64th => "sixty-fourth",
        other => other.name(),
    }
}

/// Several of them (`sixteenths`, `halves`).
#[must_use]
pub fn value_names(value: NoteValue) -> String {
    match value {
        NoteValue::Half => "halves".to_owned(),
        other => format!("{}s", value_name(other)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_finds_its_note() {
        let unit = |num, den| BeatUnit::of_quarters(Rational::new(num, den)).map(BeatUnit::name);
        assert_eq!(unit(3, 2).as_deref(), Some("dotted quarter"));
        assert_eq!(unit(1, 2).as_deref(), Some("eighth"));
        assert_eq!(unit(7, 2).as_deref(), Some("double-dotted half"));
        assert_eq!(unit(5, 2), None);
        assert_eq!(
            BeatUnit {
                value: NoteValue::Quarter,
                dots: 1
            }
            .sign(),
            "♩."
        );
    }
}

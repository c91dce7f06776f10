//! Which lines of text stand on the pages, and what did the teacher say that they are?

use crate::words::metronome::value_at_start;
use job::SeenWords;
use notation::{Metronome, NoteValue};
use serde::{Deserialize, Serialize};

/// Which line of text.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub struct TextAt {
    /// Its system, from 0, over all pages.
    pub system: u32,
    /// Whether it stands above all systems of its page, or below them; it is then kept with the first of them.
    #[serde(default)]
    pub beyond: bool,
    /// The number that it was read with, or got when it was added.
    pub number: u32,
}

/// What a line of text is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TextKind {
    /// How fast: words, a metronome mark, both.
    Tempo,
    /// Character, technique, anything else that is said of the music.
    Expression,
    /// How loud, in letters or words.
    Dynamic,
    /// A letter or number in a frame.
    Rehearsal,
    /// Words of the road map: D.C., Fine, To Coda.
    Jump,
    /// The number of a bar.
    BarNumber,
    /// The title.
    Title,
    /// A composer, an arranger, an editor.
    Composer,
    /// The part's name.
    Part,
    /// Anything else that stands on the page and is not of the music.
    Other,
}

impl TextKind {
    /// As a musician calls it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tempo => "tempo",
            Self::Expression => "expression",
            Self::Dynamic => "dynamic",
            Self::Rehearsal => "rehearsal mark",
            Self::Jump => "words of the road map",
            Self::BarNumber => "bar number",
            Self::Title => "title",
            Self::Composer => "composer",
            Self::Part => "part",
            Self::Other => "other words",
        }
    }

    /// Whether it stands above its staff when nobody saw where. Source: common practice.
    pub(crate) const fn stands_above(self) -> bool {
        !matches!(self, Self::Expression | Self::Dynamic)
    }

    /// Whether it is said of the whole piece, not of a place in it.
    pub(crate) const fn of_the_head(self) -> bool {
        matches!(self, Self::Title | Self::Composer | Self::Part | Self::Other)
    }
}

/// A metronome mark in plain values.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct MetronomeSaid {
    /// The note, by its number among the note values of the vocabulary.
    pub note: usize,
    /// Its dots.
    pub dots: u8,
    /// What stands after the sign of equality: `96`, `c. 60`, `72–80`.
    pub value: String,
}

/// Note values that a metronome mark has, by their numbers in the vocabulary. Source: common practice.
const BEATS: [(usize, NoteValue); 7] = [
    (1, NoteValue::Breve),
    (2, NoteValue::Whole),
    (3, NoteValue::Half),
    (4, NoteValue::Quarter),
    (5, NoteValue::Eighth),
    (6, NoteValue::N16th),
    (7, NoteValue::N32nd),
];

/// The most letters of one line.
const MOST_LETTERS: usize = 300;

impl MetronomeSaid {
    /// As it stands in a piece; `None` if it is no metronome mark.
    pub(crate) fn mark(&self) -> Option<Metronome> {
        let (_, beat) = BEATS.iter().find(|(number, _)| *number == self.note)?;
        let (value, after) = value_at_start(self.value.trim())?;
        (self.dots <= 2 && after.trim().is_empty()).then_some(Metronome {
            beat: *beat,
            dots: self.dots,
            value,
            parentheses: false,
        })
    }

    pub(crate) fn of(mark: &Metronome) -> Option<Self> {
        let name = |value: NoteValue| BEATS.iter().find(|(_, beat)| *beat == value).map(|(n, _)| *n);
        let value = match &mark.value {
            notation::MetronomeValue::PerMinute(number) => number.clone(),
            notation::MetronomeValue::Equals(beat, dots) => {
                let letter = match beat {
                    NoteValue::Half => '♬',
                    NoteValue::Quarter => '♩',
                    NoteValue::Eighth => '♪',
                    NoteValue::N16th => '♫',
                    _ => return None,
                };
                format!("{letter}{}", ".".repeat(usize::from(*dots)))
            }
        };
        Some(Self {
            note: name(mark.beat)?,
            dots: mark.dots,
            value,
        })
    }

    /// `dotted quarter = 60`.
    pub(crate) fn said(&self) -> String {
        let value = match self.value.trim_end_matches('.') {
            "♬" => "half",
            "♩" => "quarter",
            "♪" => "eighth",
            "♫" => "16th",
            _ => self.value.as_str(),
        };
        format!(
            "{} = {value}",
            crate::said::length(self.note, usize::from(self.dots))
        )
    }
}

/// A line of text as it stands now.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct TextLine {
    /// Its number; see [`TextAt`].
    #[serde(default)]
    pub number: u32,
    /// The left, upper, right and lower edge: in pixels of its system's picture, or of the file for what stands beyond the systems.
    pub bounds: (f32, f32, f32, f32),
    /// What it says; see [`SeenWords::text`].
    pub text: String,
    /// How sure, from 0 to 1.
    pub sure: f32,
    /// Somebody said that it is right, or put it right.
    #[serde(default)]
    pub right: bool,
    /// What somebody said that it is.
    #[serde(default)]
    pub is: Option<TextKind>,
    /// The metronome mark after its words, as somebody put it right.
    #[serde(default)]
    pub mark: Option<MetronomeSaid>,
}

impl TextLine {
    /// Lines as they were read, numbered.
    pub fn all(words: &[SeenWords]) -> Vec<Self> {
        let line = |(number, words): (u32, &SeenWords)| Self {
            number,
            bounds: words.bounds,
            text: words.text.clone(),
            sure: words.sure,
            right: false,
            is: None,
            mark: None,
        };
        (0_u32..).zip(words).map(line).collect()
    }

    /// Whether somebody said what it is, so that nothing is to be guessed.
    pub(crate) const fn is_said(&self) -> bool {
        self.is.is_some() || self.mark.is_some()
    }
}

/// A text as it is kept: one line, not too long; `None` if it is empty or has signs that are no letters.
pub(crate) fn worded(text: &str, empty: bool) -> Option<String> {
    let text = text.trim();
    let fits = text.chars().count() <= MOST_LETTERS && !text.chars().any(char::is_control);
    (fits && (empty || !text.is_empty())).then(|| text.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_metronome_mark_is_what_it_says_or_none() {
        let said = |note, dots, value: &str| MetronomeSaid {
            note,
            dots,
            value: value.to_owned(),
        };
        for good in [
            said(4, 0, "96"),
            said(4, 1, "c. 60"),
            said(5, 0, "72–80"),
            said(3, 0, "♩."),
        ] {
            let mark = good.mark().expect("a mark");
            assert_eq!(MetronomeSaid::of(&mark), Some(good));
        }
        for bad in [
            said(9, 0, "96"),
            said(4, 3, "96"),
            said(4, 0, ""),
            said(4, 0, "fast"),
            said(4, 0, "96 or so"),
        ] {
            assert_eq!(bad.mark(), None, "{bad:?}");
        }
    }
}

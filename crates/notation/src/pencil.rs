//! Plain values that cross floors: pencil marks and key regions.

use crate::event::Written;
use crate::place::{Anchor, BarIndex, Place};

/// A pencil mark on the part: which sign, where, and why it is there.
#[derive(Clone, PartialEq, Debug)]
pub struct PencilMark {
    /// The sign.
    pub sign: PencilSign,
    /// From where: the event (and head) it belongs to, or a place in a bar.
    pub from: Anchor,
    /// To where, for signs that reach; inclusive.
    pub to: Option<Anchor>,
    /// Words, numbers or an accidental written with it.
    pub text: String,
    /// What is written at places of its own, in order: the word of a count under each, a stroke (no word) over each.
    pub at: Vec<(Place, String)>,
    /// A drawing that goes with it (a fingering's diagram).
    pub picture: Option<PencilPicture>,
    /// Small notes that are written with it, in order.
    pub small_notes: Vec<SmallNote>,
    /// Why it is there, a sentence: shown when pointed at, read aloud by a screen reader.
    pub reason: String,
    /// The question of the survey, or of the study, that it comes from (`key`, `accidentals`, `spots` …).
    pub question: String,
    /// What it is about, by the name that a legend gives the matter (`hard-spots`, `two-forms` …).
    pub matter: String,
    /// Which pencil.
    pub pencil: Pencil,
    /// How much it is worth beside other marks, from 0 to 1; where there is no room for all, the greater stays.
    pub worth: f64,
    /// Whether a person set or confirmed it; such a mark is never left out.
    pub kept: bool,
}

/// A small drawing as part of a mark.
#[derive(Clone, PartialEq, Debug)]
pub struct PencilPicture {
    /// An SVG fragment without a size of its own; its upper left corner is at 0, 0.
    pub svg: String,
    /// Width, in the fragment's own units.
    pub width: f64,
    /// Height, in the fragment's own units.
    pub height: f64,
}

/// One of the small notes with which an ornament is written out.
#[derive(Clone, PartialEq, Debug)]
pub enum SmallNote {
    /// A note.
    Note {
        /// Where it stands on the staff: 0 on the bottom line, 8 on the top line.
        position: i32,
        /// The accidental before it, if it needs one.
        accidental: Option<String>,
        /// Its values, tied together; empty where no usual value says its length.
        values: Vec<Written>,
    },
    /// And so on: more of the same.
    AndSoOn,
}

/// The signs a teacher pencils.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum PencilSign {
    /// Square brackets before and after a hard spot.
    SpotBracket,
    /// A hook at the start or end of a repeat, so that it is seen from afar.
    RepeatHook,
    /// A circle around one head or sign that surprises.
    Circle,
    /// Eyeglasses: look up here, something changes.
    Eyeglasses,
    /// Strokes over the beats.
    BeatStrokes,
    /// Counts under a rhythm, one word a note or rest.
    Counts,
    /// An accidental in parentheses before a note.
    Courtesy,
    /// A breath comma that is always taken.
    Breath,
    /// A breath comma for slow practice only.
    SlowBreath,
    /// A fingering above a note, in words or numbers.
    Fingering,
    /// A fingering's diagram above a note.
    FingeringDiagram,
    /// An arrow for a jump, with the bar it goes to.
    JumpArrow,
    /// A small letter for bars that look alike.
    LookAlike,
    /// Words.
    Words,
    /// An ornament written out in small notes.
    SmallNotes,
}

/// Which pencil a mark is drawn with.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub enum Pencil {
    /// Graphite.
    #[default]
    Graphite,
    /// The first coloured pencil of the teacher's legend.
    First,
    /// The second coloured pencil of the teacher's legend.
    Second,
}

impl PencilMark {
    /// A graphite mark at a place; the fields are public for whatever else it has.
    #[must_use]
    pub fn new(sign: PencilSign, from: Anchor, reason: impl Into<String>) -> Self {
        Self {
            sign,
            from,
            to: None,
            text: String::new(),
            at: Vec::new(),
            picture: None,
            small_notes: Vec::new(),
            reason: reason.into(),
            question: String::new(),
            matter: String::new(),
            pencil: Pencil::Graphite,
            worth: 0.5,
            kept: false,
        }
    }

    /// The last place that it reaches.
    #[must_use]
    pub fn end(&self) -> Anchor {
        self.to.unwrap_or(self.from)
    }
}

impl PencilSign {
    /// All of them, in the order in which a legend tells them.
    pub const ALL: [Self; 15] = [
        Self::SpotBracket,
        Self::RepeatHook,
        Self::JumpArrow,
        Self::Eyeglasses,
        Self::Circle,
        Self::Courtesy,
        Self::BeatStrokes,
        Self::Counts,
        Self::Breath,
        Self::SlowBreath,
        Self::Fingering,
        Self::FingeringDiagram,
        Self::LookAlike,
        Self::SmallNotes,
        Self::Words,
    ];

    /// What a teacher calls it; also its name in a legend file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::SpotBracket => "brackets",
            Self::RepeatHook => "hooks",
            Self::Circle => "circle",
            Self::Eyeglasses => "eyeglasses",
            Self::BeatStrokes => "strokes",
            Self::Counts => "counts",
            Self::Courtesy => "accidental",
            Self::Breath => "comma",
            Self::SlowBreath => "light comma",
            Self::Fingering => "fingering",
            Self::FingeringDiagram => "diagram",
            Self::JumpArrow => "arrow",
            Self::LookAlike => "letter",
            Self::Words => "words",
            Self::SmallNotes => "small notes",
        }
    }

    /// The same as part of a class of SVG (`mark-light-comma`).
    #[must_use]
    pub fn class(self) -> String {
        format!("mark-{}", self.name().replace(' ', "-"))
    }
}

/// A colour of a coloured pencil. All are dark enough to be read when a page is printed or copied in grey.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
#[expect(missing_docs, reason = "the colours are their own names")]
pub enum PencilColour {
    Red,
    Blue,
    Green,
    Brown,
    Violet,
}

impl PencilColour {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Red, Self::Blue, Self::Green, Self::Brown, Self::Violet];

    /// Its name in a legend file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Red => "red",
            Self::Blue => "blue",
            Self::Green => "green",
            Self::Brown => "brown",
            Self::Violet => "violet",
        }
    }

    /// Red, green and blue, from 0 to 255.
    #[must_use]
    pub const fn rgb(self) -> (u8, u8, u8) {
        match self {
            Self::Red => (0xa8, 0x2e, 0x24),
            Self::Blue => (0x2b, 0x56, 0x8f),
            Self::Green => (0x2c, 0x66, 0x42),
            Self::Brown => (0x74, 0x48, 0x22),
            Self::Violet => (0x69, 0x3a, 0x80),
        }
    }
}

/// The two coloured pencils of a teacher, beside graphite.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Pencils {
    /// The first, if she has one.
    pub first: Option<ColouredPencil>,
    /// The second, if she has one.
    pub second: Option<ColouredPencil>,
}

/// A coloured pencil.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ColouredPencil {
    /// What she calls it.
    pub name: String,
    /// Its colour.
    pub colour: PencilColour,
    /// What she means by it; may be empty.
    pub meaning: String,
}

impl Pencils {
    /// The coloured pencil that a mark is drawn with; `None` for graphite, also where she has no such pencil.
    #[must_use]
    pub const fn of(&self, pencil: Pencil) -> Option<&ColouredPencil> {
        match pencil {
            Pencil::Graphite => None,
            Pencil::First => self.first.as_ref(),
            Pencil::Second => self.second.as_ref(),
        }
    }
}

/// One line of a legend: a sign and what it means.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PencilMeaning {
    /// The sign; `None` for a line about a coloured pencil itself, and, in graphite, for the heading of the block.
    pub sign: Option<PencilSign>,
    /// The pencil it is drawn with.
    pub pencil: Pencil,
    /// What it means, in the teacher's words.
    pub words: String,
}

/// A stretch of bars in one key.
#[derive(Clone, PartialEq, Debug)]
pub struct KeyRegion {
    /// First bar.
    pub from: BarIndex,
    /// Last bar.
    pub to: BarIndex,
    /// The tonic as written.
    pub tonic: (crate::pitch::Step, i8),
    /// Major, minor or a mode by its name.
    pub mode: String,
    /// Probability from 0 to 1.
    pub certainty: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Web Content Accessibility Guidelines 2.2, success criterion 1.4.3 and "relative luminance": 4.5 to 1 against white.
    #[test]
    fn coloured_pencils_are_dark_enough_to_read_in_grey() {
        let linear = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        for colour in PencilColour::ALL {
            let (r, g, b) = colour.rgb();
            let light = 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
            assert!(1.05 / (light + 0.05) >= 4.5, "{}", colour.name());
        }
    }

    #[test]
    fn every_sign_has_a_name_of_its_own() {
        let mut names: Vec<&str> = PencilSign::ALL.iter().map(|sign| sign.name()).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), PencilSign::ALL.len());
    }
}

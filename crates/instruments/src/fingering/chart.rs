//! Which fingerings does a note have on an instrument, and how sure is that? The chart and its entries.

use super::hand::{Digit, Keys, State};
use super::movement::Touch;
use super::row::{Held, Row};
use crate::facts::Grade;
use notation::{Pitch, Step};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// What a fingering is for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Use {
    /// Anywhere.
    Any,
    /// Trills only: too much out of tune, or too weak, to stand alone.
    Trill,
    /// In the chart for what it is, but not proposed: badly out of tune unless mended by ear.
    Seldom,
}

/// A fingering with keys held down, or put down early, that do not change the note.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Prepared {
    /// What is pressed.
    pub state: State,
    /// In words: `the thumb stays on the B♭ key`.
    pub says: &'static str,
    /// How far to trust it.
    pub grade: Grade,
    /// Where it was read.
    pub source: &'static str,
}

/// How a note or a fingering tends to differ.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Tendency {
    /// In words: `sharp`, `about 14 cents flat`.
    pub says: &'static str,
    /// Where it was read.
    pub source: &'static str,
}

/// A place of the slide.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Position {
    /// Tenths of a position: 10 is first position, 23 a third of the way from second to third.
    pub tenths: u8,
    /// True with the F attachment.
    pub trigger: bool,
}

impl Position {
    /// In words: `4th position`, `with the F attachment, a little beyond 2nd position`.
    #[must_use]
    pub fn words(self) -> String {
        let whole = self.tenths / 10;
        let ordinal = match whole {
            1 => "1st",
            2 => "2nd",
            3 => "3rd",
            4 => "4th",
            5 => "5th",
            6 => "6th",
            _ => "7th",
        };
        let beyond = match self.tenths % 10 {
            0 => "",
            1..=4 => "a little beyond ",
            5..=7 => "more than half a position beyond ",
            _ => "nearly a position beyond ",
        };
        let trigger = if self.trigger {
            "with the F attachment, "
        } else {
            ""
        };
        format!("{trigger}{beyond}{ordinal} position")
    }
}

/// What a fingering is drawn on.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Layout {
    /// Holes and keys of two hands.
    Woodwind,
    /// So many valves.
    Valves(u8),
    /// A slide.
    Slide,
}

/// One fingering of a note.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fingering {
    /// The chart whose key names it uses (`clarinet`); empty for a player's own.
    pub chart: &'static str,
    /// Its name in the trade (`one-and-one`, `fork`, `1-2`, `4`); `plain` where there is only one.
    pub name: Cow<'static, str>,
    /// What is pressed.
    pub state: State,
    /// Keys that may be added without changing the note, in the chart's parentheses.
    pub optional: Option<(Digit, Keys)>,
    /// The harmonic it is blown as; `None` for woodwinds.
    pub harmonic: Option<u8>,
    /// Where the slide is; `None` where there is none.
    pub position: Option<Position>,
    /// What it is drawn on.
    pub layout: Layout,
    /// What it is for.
    pub use_for: Use,
    /// How it tends to be out of tune or otherwise different; `None` if no source says.
    pub tendency: Option<Tendency>,
    /// Why it is worse in sound or tuning than the others of its note, so that it is taken only in need; `None` if no
    /// source says so.
    pub lesser: Option<Tendency>,
    /// A remark, disagreements of the sources included; may be empty.
    pub remark: &'static str,
    /// What the instrument must have for it (`a rear A♭ key`); empty if it is on every one.
    pub needs: &'static str,
    /// The key of the left thumb that is flicked, or held, as the note starts (`A`, `A or C`); empty if none.
    pub flick: &'static str,
    /// How far to trust it.
    pub grade: Grade,
    /// Where it was read.
    pub sources: &'static [&'static str],
    /// The same with keys held.
    pub prepared: Vec<Prepared>,
}

impl Fingering {
    /// A plain fingering; the other fields are filled in by the chart.
    pub(crate) fn new(
        name: impl Into<Cow<'static, str>>,
        state: State,
        grade: Grade,
        sources: &'static [&'static str],
    ) -> Self {
        Self {
            chart: "",
            name: name.into(),
            state,
            optional: None,
            harmonic: None,
            position: None,
            layout: Layout::Woodwind,
            use_for: Use::Any,
            tendency: None,
            lesser: None,
            remark: "",
            needs: "",
            flick: "",
            grade,
            sources,
            prepared: Vec::new(),
        }
    }

    /// A fingering of the player's own, as she names it; nothing else is known of it.
    #[must_use]
    pub fn own(name: &str, state: State) -> Self {
        let mut own = Self::new(name.to_owned(), state, Grade::C, &[]);
        own.remark = "the player's own";
        own
    }

    /// True if a player or teacher means this one by a name: letter case, spaces and hyphens don't count; the notation
    /// itself is a name too.
    #[must_use]
    pub fn is_called(&self, name: &str) -> bool {
        let fold = |text: &str| -> String {
            text.chars()
                .filter(|c| c.is_alphanumeric())
                .flat_map(char::to_lowercase)
                .collect()
        };
        let plain = |text: &str| match fold(text).as_str() {
            "0" => "open".to_owned(),
            "l" => "left".to_owned(),
            "r" => "right".to_owned(),
            other => other
                .replace("one", "1")
                .replace("four", "4")
                .replace("five", "5")
                .replace("and", ""),
        };
        plain(&self.name) == plain(name) || State::parse(name).is_some_and(|state| state == self.state)
    }
}

/// A chart as it is written down.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sheet {
    pub(crate) id: &'static str,
    pub(crate) title: &'static str,
    pub(crate) rows: &'static [Row],
    pub(crate) held: &'static [Held],
    pub(crate) rollers: &'static [(&'static str, &'static str)],
    /// Keys between which a finger rolls, by digit.
    pub(crate) pivots: &'static [(&'static str, &'static str)],
    /// Keys that one finger covers together and can't leave singly without sliding, by digit.
    pub(crate) straddled: &'static [(&'static str, &'static str)],
    /// Lowest and highest note and why nothing is given there.
    pub(crate) unsettled: &'static [(&'static str, &'static str, &'static str)],
    pub(crate) notes: &'static [(&'static str, &'static str)],
    /// Lowest and highest note, how they tend with any fingering, and where that was read; the narrower first.
    pub(crate) tendencies: &'static [(&'static str, &'static str, &'static str, &'static str)],
}

/// The fingerings of an instrument.
#[derive(Clone, PartialEq, Debug)]
pub struct Chart {
    /// A fixed name (`flute`, `trumpet`).
    pub id: &'static str,
    /// What it is for, in words.
    pub title: &'static str,
    /// What a teacher says about the whole, each with its source.
    pub notes: &'static [(&'static str, &'static str)],
    /// What its fingerings are drawn on.
    pub layout: Layout,
    pub(crate) notes_by_key: BTreeMap<i32, Vec<Fingering>>,
    pub(crate) touch: Touch,
    pub(crate) unsettled: Vec<(i32, i32, &'static str)>,
    pub(crate) tendencies: Vec<(i32, i32, Tendency)>,
}

impl Chart {
    /// The chart of a sheet.
    pub(crate) fn of(sheet: &Sheet) -> Self {
        let mut notes_by_key: BTreeMap<i32, Vec<Fingering>> = BTreeMap::new();
        for (key, mut fingering) in sheet.rows.iter().filter_map(|row| row.read(sheet.held)) {
            fingering.chart = sheet.id;
            notes_by_key.entry(key).or_default().push(fingering);
        }
        let key = |name: &str| Pitch::parse(name).map(Pitch::key_number);
        Self {
            id: sheet.id,
            title: sheet.title,
            notes: sheet.notes,
            layout: Layout::Woodwind,
            notes_by_key,
            touch: Touch {
                rollers: by_digit(sheet.rollers),
                pivots: by_digit(sheet.pivots),
                straddled: by_digit(sheet.straddled),
            },
            unsettled: sheet
                .unsettled
                .iter()
                .filter_map(|(low, high, why)| Some((key(low)?, key(high)?, *why)))
                .collect(),
            tendencies: sheet
                .tendencies
                .iter()
                .filter_map(|(low, high, says, source)| {
                    Some((key(low)?, key(high)?, Tendency { says, source }))
                })
                .collect(),
        }
    }

    /// The same shapes for an instrument that reads them so many semitones higher, under another name.
    pub(crate) fn shifted(mut self, semitones: i32, id: &'static str, title: &'static str) -> Self {
        self.id = id;
        self.title = title;
        self.notes_by_key = std::mem::take(&mut self.notes_by_key)
            .into_iter()
            .map(|(key, fingerings)| (key + semitones, fingerings))
            .collect();
        for (low, high, _) in &mut self.unsettled {
            *low += semitones;
            *high += semitones;
        }
        for (low, high, _) in &mut self.tendencies {
            *low += semitones;
            *high += semitones;
        }
        self
    }

    /// The fingerings of a written pitch, the basic one first; empty where none is established, and for microtones.
    #[must_use]
    pub fn fingerings(&self, pitch: Pitch) -> &[Fingering] {
        if pitch.whole_alter().is_none() {
            return &[];
        }
        self.notes_by_key
            .get(&pitch.key_number())
            .map_or(&[], Vec::as_slice)
    }

    /// Why a pitch has no fingering here, in words; `None` if it has one.
    #[must_use]
    pub fn gap(&self, pitch: Pitch) -> Option<String> {
        if !self.fingerings(pitch).is_empty() {
            return None;
        }
        if pitch.whole_alter().is_none() {
            return Some("no fingering for quarter tones is known here".to_owned());
        }
        let key = pitch.key_number();
        let unsettled = self
            .unsettled
            .iter()
            .find(|(low, high, _)| (*low..=*high).contains(&key));
        Some(unsettled.map_or_else(|| self.outside(), |(_, _, why)| (*why).to_owned()))
    }

    /// How a pitch tends on the instrument whatever its fingering, also where none is given; `None` if no source says.
    #[must_use]
    pub fn tendency(&self, pitch: Pitch) -> Option<Tendency> {
        let key = pitch.key_number();
        self.tendencies
            .iter()
            .find(|(low, high, _)| (*low..=*high).contains(&key))
            .map(|(_, _, tendency)| *tendency)
    }

    fn outside(&self) -> String {
        match self.compass() {
            Some((low, high)) => {
                format!(
                    "outside the chart, which goes from {} to {}",
                    low.sign(),
                    high.sign()
                )
            }
            None => "the chart is empty".to_owned(),
        }
    }

    /// The lowest and the highest note with a fingering.
    #[must_use]
    pub fn compass(&self) -> Option<(Pitch, Pitch)> {
        let low = *self.notes_by_key.keys().next()?;
        let high = *self.notes_by_key.keys().next_back()?;
        Some((common_spelling(low), common_spelling(high)))
    }

    /// Every note with its fingerings, from the lowest up, as charts spell it.
    pub fn entries(&self) -> impl Iterator<Item = (Pitch, &[Fingering])> {
        self.notes_by_key
            .iter()
            .map(|(key, fingerings)| (common_spelling(*key), fingerings.as_slice()))
    }

    /// What matters about the keys when a finger goes from one to another.
    #[must_use]
    pub const fn touch(&self) -> &Touch {
        &self.touch
    }
}

fn by_digit(list: &[(&str, &str)]) -> Vec<(Digit, Keys)> {
    list.iter()
        .filter_map(|(digit, keys)| {
            let side = if digit.starts_with('L') {
                format!("{digit}:{keys} |")
            } else {
                format!("| {digit}:{keys}")
            };
            State::parse(&side)?.pressed().next()
        })
        .collect()
}

/// The note as charts spell it: C C♯ D E♭ E F F♯ G G♯ A B♭ B.
pub(crate) fn common_spelling(key: i32) -> Pitch {
    let (step, alter) = match key.rem_euclid(12) {
        0 => (Step::C, 0),
        1 => (Step::C, 1),
        2 => (Step::D, 0),
        3 => (Step::E, -1),
        4 => (Step::E, 0),
        5 => (Step::F, 0),
        6 => (Step::F, 1),
        7 => (Step::G, 0),
        8 => (Step::G, 1),
        9 => (Step::A, 0),
        10 => (Step::B, -1),
        _ => (Step::B, 0),
    };
    Pitch::new(
        step,
        alter,
        i8::try_from(key.div_euclid(12) - 1).unwrap_or(i8::MAX),
    )
}

/// The plain note that an unusual spelling is fingered as: E♯ as F, C♭ as B, F𝄪 as G; `None` for usual spellings.
/// The usual ones are the naturals and the five black keys by either name.
#[must_use]
pub fn fingered_as(pitch: Pitch) -> Option<Pitch> {
    let alter = pitch.whole_alter()?;
    let white = matches!(pitch.key_number().rem_euclid(12), 0 | 2 | 4 | 5 | 7 | 9 | 11);
    let unusual = alter.abs() > 1 || (alter != 0 && white);
    unusual.then(|| common_spelling(pitch.key_number()))
}

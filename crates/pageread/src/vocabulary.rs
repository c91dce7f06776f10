//! Which answers does the reader give, and at which number of its output? Held against the training's own list by a test.

use serde::{Deserialize, Serialize};

/// Staff positions of heads: from this one (bottom line 0) …
pub const LOWEST: i32 = -12;
/// … up to this one.
pub const HIGHEST: i32 = 22;
/// Clefs, by sign and line, `v` an octave lower, `^` higher.
pub const CLEFS: [&str; 14] = [
    "G2", "G2v", "G2^", "G1", "F4", "F4v", "F3", "F5", "C1", "C2", "C3", "C4", "C5", "perc",
];
/// Kinds of bar line.
pub const BARS: [&str; 7] = [
    "single",
    "double",
    "final",
    "rep_start",
    "rep_end",
    "rep_both",
    "dashed",
];
/// Note values, longest first; 0 is none.
pub const VALUES: [&str; 10] = ["-", "breve", "1", "2", "4", "8", "16", "32", "64", "128"];
/// Numbers above in a metre.
pub const NUMERATORS: [&str; 22] = [
    "-", "C", "cut", "1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12", "13", "14", "15", "16",
    "18", "21", "24",
];
/// Numbers below.
pub const DENOMINATORS: [&str; 7] = ["-", "1", "2", "4", "8", "16", "32"];
/// Signs of the line above.
pub const ROADS: [&str; 18] = [
    "blank", "segno", "coda", "8va", "8vb", "15ma", "15mb", "ott_end", "breath", "caesura", "v1", "v2", "v3",
    "v4", "v12", "v123", "v34", "vend",
];
/// Dynamics and the ends of hairpins.
pub const DYNAMICS: [&str; 23] = [
    "blank",
    "pppp",
    "ppp",
    "pp",
    "p",
    "mp",
    "mf",
    "f",
    "ff",
    "fff",
    "ffff",
    "sf",
    "sfz",
    "sffz",
    "sfp",
    "fp",
    "rf",
    "rfz",
    "fz",
    "cresc",
    "cresc_end",
    "dim",
    "dim_end",
];
/// Yes or no, each.
pub const FLAGS: [&str; 23] = [
    "staccato",
    "tenuto",
    "accent",
    "marcato",
    "staccatissimo",
    "fermata",
    "tie",
    "slur_start",
    "slur_end",
    "grace",
    "slash",
    "tup_start",
    "tup_end",
    "chord",
    "voice2",
    "paren",
    "upbow",
    "downbow",
    "harmonic",
    "stopped",
    "trill_line",
    "cancel",
    "arpeggio",
];

/// Answers to the first question: what stands here.
pub const MAIN: usize = 76;
/// Sizes of the further questions about the same thing, in order.
pub const ATTRIBUTES: [usize; 14] = [10, 3, 6, 6, 4, 17, 17, 22, 7, 11, 11, 7, 5, 3];
/// Numbers in one frame of the output.
pub const FRAME: usize = MAIN + 129 + FLAGS.len() + ROADS.len() + DYNAMICS.len();
/// Pixels of one frame.
pub const STRIDE: usize = 4;

/// A further question, named for what is asked.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "each is named for what is asked")]
pub enum Ask {
    Value,
    Dots,
    Accidental,
    Ornament,
    OrnamentAccidental,
    Tuplet,
    InnerTuplet,
    Numerator,
    Denominator,
    Tens,
    Ones,
    Finger,
    Tremolo,
    Head,
}

/// A yes-or-no question, named for what is asked.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "each is named for what is asked")]
pub enum Flag {
    Staccato,
    Tenuto,
    Accent,
    Marcato,
    Staccatissimo,
    Fermata,
    Tie,
    SlurStart,
    SlurEnd,
    Grace,
    Slash,
    TupletStart,
    TupletEnd,
    Chord,
    SecondVoice,
    Parentheses,
    UpBow,
    DownBow,
    Harmonic,
    Stopped,
    TrillLine,
    Cancel,
    Arpeggio,
}

/// What stands on the staff; kept as text by its name in the vocabulary (`n4`, `clef:C3`, `key:-2`).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Main {
    /// A head at a staff position, bottom line 0.
    Note(i32),
    /// A rest.
    Rest,
    /// A rest of several bars.
    BarsRest,
    /// The sign that repeats a bar.
    BarRepeat,
    /// A clef: index into [`CLEFS`].
    Clef(usize),
    /// A key signature: sharps (+) or flats (−).
    Key(i8),
    /// A time signature.
    Metre,
    /// A bar line: index into [`BARS`].
    Bar(usize),
}

/// What an answer to the first question means; `None` for blank.
#[must_use]
pub fn main_of(answer: usize) -> Option<Main> {
    let heads = usize::try_from(HIGHEST - LOWEST + 1).unwrap_or(0);
    let position = |n: usize| i32::try_from(n).map(|n| n + LOWEST);
    let after = answer.checked_sub(1)?;
    if after < heads {
        return position(after).ok().map(Main::Note);
    }
    let after = after - heads;
    match after {
        0 => return Some(Main::Rest),
        1 => return Some(Main::BarsRest),
        2 => return Some(Main::BarRepeat),
        _ => {}
    }
    let after = after - 3;
    if after < CLEFS.len() {
        return Some(Main::Clef(after));
    }
    let after = after - CLEFS.len();
    if after < 15 {
        return i8::try_from(after).ok().map(|n| Main::Key(n - 7));
    }
    match after - 15 {
        0 => Some(Main::Metre),
        n if n - 1 < BARS.len() => Some(Main::Bar(n - 1)),
        _ => None,
    }
}

impl From<Main> for String {
    fn from(main: Main) -> Self {
        match main {
            Main::Note(position) => format!("n{position}"),
            Main::Rest => "rest".to_owned(),
            Main::BarsRest => "mrest".to_owned(),
            Main::BarRepeat => "mrepeat".to_owned(),
            Main::Clef(clef) => format!("clef:{}", CLEFS.get(clef).unwrap_or(&"G2")),
            Main::Key(fifths) => format!("key:{fifths}"),
            Main::Metre => "metre".to_owned(),
            Main::Bar(kind) => format!("bar:{}", BARS.get(kind).unwrap_or(&"single")),
        }
    }
}

impl TryFrom<String> for Main {
    type Error = String;

    fn try_from(name: String) -> Result<Self, Self::Error> {
        (0..MAIN)
            .filter_map(main_of)
            .find(|main| String::from(*main) == name)
            .ok_or_else(|| format!("“{name}” is no sign that is known here"))
    }
}

/// The other questions, in the order of [`ATTRIBUTES`].
pub const ASKS: [Ask; 14] = [
    Ask::Value,
    Ask::Dots,
    Ask::Accidental,
    Ask::Ornament,
    Ask::OrnamentAccidental,
    Ask::Tuplet,
    Ask::InnerTuplet,
    Ask::Numerator,
    Ask::Denominator,
    Ask::Tens,
    Ask::Ones,
    Ask::Finger,
    Ask::Tremolo,
    Ask::Head,
];
/// The yes-or-no questions, in the order of [`FLAGS`].
pub const FLAG_OF: [Flag; 23] = [
    Flag::Staccato,
    Flag::Tenuto,
    Flag::Accent,
    Flag::Marcato,
    Flag::Staccatissimo,
    Flag::Fermata,
    Flag::Tie,
    Flag::SlurStart,
    Flag::SlurEnd,
    Flag::Grace,
    Flag::Slash,
    Flag::TupletStart,
    Flag::TupletEnd,
    Flag::Chord,
    Flag::SecondVoice,
    Flag::Parentheses,
    Flag::UpBow,
    Flag::DownBow,
    Flag::Harmonic,
    Flag::Stopped,
    Flag::TrillLine,
    Flag::Cancel,
    Flag::Arpeggio,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: `train/model/reader.vocabulary.json`, written by the training's own list.
    #[test]
    fn the_answers_are_those_of_the_training() {
        let text = include_str!("../../../train/model/reader.vocabulary.json");
        let told: serde_json::Value = serde_json::from_str(text).unwrap();
        let names = |key: &str| -> Vec<String> {
            told[key]
                .as_array()
                .unwrap()
                .iter()
                .map(|v| v.as_str().unwrap().to_owned())
                .collect()
        };
        assert_eq!(names("flags"), FLAGS);
        assert_eq!(names("roads"), ROADS);
        assert_eq!(names("dynamics"), DYNAMICS);
        let main = names("main");
        assert_eq!(main.len(), MAIN);
        for (answer, name) in main.iter().enumerate() {
            let said = main_of(answer).map_or_else(|| "blank".to_owned(), String::from);
            assert_eq!(&said, name);
            if let Some(main) = main_of(answer) {
                assert_eq!(Main::try_from(said), Ok(main));
            }
        }
        let attributes = told["attributes"].as_array().unwrap();
        let sizes: Vec<usize> = attributes
            .iter()
            .map(|a| a[1].as_array().unwrap().len())
            .collect();
        assert_eq!(sizes, ATTRIBUTES);
        let list = |n: usize| -> Vec<&str> {
            attributes[n][1]
                .as_array()
                .unwrap()
                .iter()
                .map(|v| v.as_str().unwrap())
                .collect()
        };
        assert_eq!(list(Ask::Value as usize), VALUES);
        assert_eq!(list(Ask::Numerator as usize), NUMERATORS);
        assert_eq!(list(Ask::Denominator as usize), DENOMINATORS);
        assert_eq!((LOWEST, HIGHEST), (-12, 22));
        assert_eq!(FRAME, 269);
    }
}

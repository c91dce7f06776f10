//! What is a sign that was read? What it was taken for, where, how sure, and what else it may be.

use crate::vocabulary::{Ask, DYNAMICS, Flag, Main, ROADS};
use serde::{Deserialize, Deserializer, Serialize};

/// One way in which a sign can be another than it was taken for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Change {
    /// Something else stands here.
    Becomes(Main),
    /// Nothing stands here.
    Nothing,
    /// Another answer to a further question, by its number in the vocabulary.
    Answer(Ask, usize),
    /// Yes instead of no, or the reverse.
    Flag(Flag, bool),
    /// Another note value (by its number in the vocabulary) and so many dots.
    Value(usize, usize),
}

/// A likely other reading.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct Other {
    /// What would be different.
    pub change: Change,
    /// How likely it is, from 0 to 1.
    pub sure: f32,
}

/// Other readings of a sign that are kept.
pub(crate) const MOST_OTHERS: usize = 8;
/// Less likely ones are not.
pub(crate) const LIKELY: f32 = 0.01;
/// Of a metre's figures, less likely ones are kept too: bars can tell them (`assemble/metres.rs`). Judgement.
pub(crate) const POSSIBLE_FIGURE: f32 = 5e-5;
/// Logarithms of probabilities are kept from here up.
pub(crate) const LEAST_LOG: f32 = -60.0;

/// One thing on the staff.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Sign {
    /// Its number among the signs of its system as they were read; it stays when others go.
    pub number: u32,
    /// Where, in pixels of the system's picture.
    pub x: f32,
    /// What.
    pub main: Main,
    /// The likeliest answer to each further question.
    pub answers: [usize; 14],
    /// Yes or no to each of the flags.
    pub flags: [bool; 23],
    /// Natural logarithm of the probability that every answer is right.
    pub log: f32,
    /// Log-probabilities of the note values and of the dots, for bars that don't add up.
    pub values: [f32; 10],
    /// Of none, one and two dots.
    pub dots: [f32; 3],
    /// What else it may be, the likeliest first.
    pub others: Vec<Other>,
}

impl Sign {
    /// A sign of which nothing more is known than what and where.
    #[must_use]
    pub const fn plain(number: u32, x: f32, main: Main) -> Self {
        Self {
            number,
            x,
            main,
            answers: [0; 14],
            flags: [false; 23],
            log: 0.0,
            values: [0.0; 10],
            dots: [0.0; 3],
            others: Vec::new(),
        }
    }

    /// The answer to a further question.
    #[must_use]
    pub const fn answer(&self, ask: Ask) -> usize {
        self.answers[ask as usize]
    }

    /// Yes or no.
    #[must_use]
    pub const fn is(&self, flag: Flag) -> bool {
        self.flags[flag as usize]
    }

    /// How sure it is, from 0 to 1.
    #[must_use]
    pub fn sure(&self) -> f32 {
        self.log.exp()
    }
}

/// A sign of the line above or below: what (by its name), where, how sure.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Beside {
    /// Its number among those of its line as they were read; it stays when others go.
    pub number: u32,
    /// Where, in pixels of the system's picture.
    pub x: f32,
    /// What, by the name in the vocabulary.
    pub name: &'static str,
    /// From 0 to 1.
    pub sure: f32,
    /// Somebody looked at it and said what it is: nothing is held against it any more.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub right: bool,
}

/// The same as it is kept.
#[derive(Deserialize)]
struct KeptBeside {
    #[serde(default)]
    number: u32,
    x: f32,
    name: String,
    sure: f32,
    #[serde(default)]
    right: bool,
}

impl<'de> Deserialize<'de> for Beside {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let kept = KeptBeside::deserialize(from)?;
        let name = beside_name(&kept.name)
            .ok_or_else(|| serde::de::Error::custom(format!("“{}” is no known sign", kept.name)))?;
        Ok(Self {
            number: kept.number,
            x: kept.x,
            name,
            sure: kept.sure,
            right: kept.right,
        })
    }
}

/// The name in the vocabulary of a sign of the lines above and below.
#[must_use]
pub fn beside_name(name: &str) -> Option<&'static str> {
    ROADS[1..]
        .iter()
        .chain(&DYNAMICS[1..])
        .copied()
        .find(|known| *known == name)
}

/// What the reader saw of one system.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
pub struct Seen {
    /// On the staff.
    pub signs: Vec<Sign>,
    /// Segno, coda, endings, ottavas, breath marks.
    pub roads: Vec<Beside>,
    /// Dynamics and ends of hairpins.
    pub dynamics: Vec<Beside>,
}

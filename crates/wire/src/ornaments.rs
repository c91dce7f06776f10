//! Question 12 as JSON.

use crate::at::{At, Places};
use crate::say::pitch_name;
use notation::Pitch;
use schemars::JsonSchema;
use serde::Serialize;
use survey::ornaments::OrnamentsAnswer;

/// An ornament or a group of grace notes.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Ornament {
    /// The trade's word: `trill`, `turn`, `mordent`, `acciaccatura` …
    pub mark: String,
    /// The written note that carries it; null for a grace group without one.
    pub main: Option<String>,
    /// The notes it uses, as written, in playing order (a trill's two notes once).
    pub notes: Vec<String>,
    /// Why these notes.
    pub why: String,
    /// Accidentals printed above the sign.
    pub above: Vec<String>,
    /// Accidentals printed below the sign.
    pub below: Vec<String>,
    /// Other readings of the page.
    pub alternatives: Vec<Alternative>,
    /// How it begins by custom, where customs differ.
    pub starts: Vec<Start>,
    /// In words.
    pub text: String,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// Another reading.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Alternative {
    /// The notes in playing order.
    pub notes: Vec<String>,
    /// Why they may be meant.
    pub why: String,
}

/// How an ornament begins in a custom.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Start {
    /// Whose custom, with its source.
    pub custom: String,
    /// The first notes.
    pub notes: Vec<String>,
}

fn names(notes: &[Pitch]) -> Vec<String> {
    notes.iter().map(|note| pitch_name(*note)).collect()
}

pub(crate) fn ornaments(answer: &OrnamentsAnswer, places: Places) -> Vec<Ornament> {
    let signs = answer.ornaments.iter().map(|o| {
        let ornament = Ornament {
            mark: o.realised.mark.clone(),
            main: Some(pitch_name(o.main)),
            notes: names(&o.realised.notes),
            why: o.realised.why.clone(),
            above: o.above.clone(),
            below: o.below.clone(),
            alternatives: o
                .realised
                .alternatives
                .iter()
                .map(|a| Alternative {
                    notes: names(&a.notes),
                    why: a.why.clone(),
                })
                .collect(),
            starts: o
                .realised
                .starts
                .iter()
                .map(|s| Start {
                    custom: s.custom.to_owned(),
                    notes: names(&s.notes),
                })
                .collect(),
            text: o.says(),
            at: places.at(o.place, Some(o.element)),
        };
        (o.place, ornament)
    });
    let graces = answer.graces.iter().map(|g| {
        let ornament = Ornament {
            mark: g.sort.word().to_owned(),
            main: None,
            notes: names(&g.notes),
            why: String::new(),
            above: Vec::new(),
            below: Vec::new(),
            alternatives: Vec::new(),
            starts: Vec::new(),
            text: g.says.clone(),
            at: places.at(g.place, g.elements.first().copied()),
        };
        (g.place, ornament)
    });
    let mut all: Vec<_> = signs.chain(graces).collect();
    all.sort_by_key(|(place, _)| *place);
    all.into_iter().map(|(_, ornament)| ornament).collect()
}

//! Question 5 as JSON.

use crate::at::{At, Places};
use schemars::JsonSchema;
use serde::Serialize;
use survey::terms::TermsAnswer;

/// A word or phrase on the page, each once.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Term {
    /// As first printed.
    pub text: String,
    /// Its meaning in plain English; null if no word of it is known.
    pub meaning: Option<String>,
    /// Its main kind: `tempo`, `change of tempo`, `dynamic`, `character`, `technique` or `road map`; null if unknown.
    pub kind: Option<String>,
    /// The same, finer (`change of dynamic`, `articulation`, `form` …).
    pub fine_kind: Option<String>,
    /// How often.
    pub count: usize,
    /// Labels of the bars, each once.
    pub bars: Vec<String>,
    /// The same bars counted from 0.
    pub bar_indices: Vec<u32>,
    /// Words spelled unlike the dictionary.
    pub misspelt: Vec<Misspelt>,
    /// Words in it that are not known.
    pub unknown: Vec<String>,
    /// Advice for the player.
    pub advice: Vec<String>,
    /// Where readers go wrong with it.
    pub traps: Vec<String>,
    /// Where first.
    #[serde(flatten)]
    pub at: At,
}

/// A word spelled unlike the dictionary.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Misspelt {
    /// As printed.
    pub printed: String,
    /// What is meant.
    pub meant: String,
}

pub(crate) fn terms(answer: &TermsAnswer, places: Places) -> Vec<Term> {
    answer
        .terms
        .iter()
        .map(|t| Term {
            text: t.text.clone(),
            meaning: t.meaning.clone(),
            kind: t.kind.map(|kind| kind.survey_name().to_owned()),
            fine_kind: t.kind.map(|kind| kind.name().to_owned()),
            count: t.count,
            bars: t.bars.iter().map(|bar| places.label(*bar)).collect(),
            bar_indices: t.bars.iter().map(|bar| bar.0).collect(),
            misspelt: t
                .misspelt
                .iter()
                .map(|(printed, meant)| Misspelt {
                    printed: printed.clone(),
                    meant: meant.clone(),
                })
                .collect(),
            unknown: t.unknown.clone(),
            advice: t.advice.iter().map(|s| (*s).to_owned()).collect(),
            traps: t.traps.iter().map(|s| (*s).to_owned()).collect(),
            at: places.at(t.place, Some(t.element)),
        })
        .collect()
}

//! How are pitches, intervals of time and findings spelled in JSON?

use notation::{Finding, Pitch, Step, alter_ascii};
use schemars::JsonSchema;
use serde::Serialize;

/// `Bb1`, `E#2`, `F##4`.
pub(crate) fn pitch_name(pitch: Pitch) -> String {
    pitch.to_string()
}

/// `Bb`, `F#`.
pub(crate) fn tonic_name(step: Step, alter: i8) -> String {
    format!(
        "{}{}",
        step.letter(),
        alter_ascii(notation::Rational::whole(i64::from(alter)))
    )
}

/// A probability to three decimals: more would be pretence.
pub(crate) fn share(probability: f64) -> f64 {
    (probability * 1000.0).round() / 1000.0
}

/// One thing found while reading the file or the page.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct FindingSaid {
    /// `note`, `caution` or `problem`.
    pub severity: String,
    /// The kind of finding, a fixed name.
    pub kind: String,
    /// The part's name, if it concerns one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The bar's printed label.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bar: Option<String>,
    /// The bar counted from 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bar_index: Option<u32>,
    /// Quarter notes from the start of the bar.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub offset: Option<f64>,
    /// The element's id.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub element: Option<String>,
    /// What is wrong or remarkable.
    pub text: String,
    /// What to do about it; empty if nothing.
    pub advice: String,
}

pub(crate) fn findings(findings: &[Finding]) -> Vec<FindingSaid> {
    findings
        .iter()
        .map(|finding| FindingSaid {
            severity: finding.severity.word().to_owned(),
            kind: finding.kind.to_owned(),
            part: finding.part.clone(),
            bar: finding.bar_label.clone(),
            bar_index: finding.bar.map(|bar| bar.0),
            offset: finding.offset.map(notation::Rational::to_f64),
            element: finding.element.map(|id| id.to_string()),
            text: finding.what.clone(),
            advice: finding.advice.clone(),
        })
        .collect()
}

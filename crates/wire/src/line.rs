//! What does one line of a folder's JSON say? The survey of one part, and which file, tune and part it is.
//!
//! A line with a survey fits `docs/survey.schema.json`: it has three members more.

use crate::{SurveyJson, Written, survey_json};
use serde::Serialize;

/// Where one answer about a folder or a tunebook came from.
#[derive(Clone, Copy, Debug)]
pub struct LineOf<'a> {
    /// The file, as it was found in the folder.
    pub file: &'a str,
    /// Its number in the tunebook, if the file is one.
    pub tune: Option<&'a str>,
    /// The part's number, from 1; `None` where no part was reached.
    pub part: Option<usize>,
}

/// One line of a folder's JSON: a survey, or why there is none.
#[derive(Clone, Debug, Serialize)]
#[serde(untagged)]
pub enum LineJson {
    /// A survey.
    Survey(Box<SurveyLine>),
    /// A file or a tune that could not be surveyed.
    Failed(FailedLine),
}

/// The survey of one part, with where it came from.
#[derive(Clone, Debug, Serialize)]
pub struct SurveyLine {
    /// The file, as it was found in the folder.
    pub file: String,
    /// Its number in the tunebook; null if the file is none.
    pub tune: Option<String>,
    /// The part's number, from 1.
    pub part: usize,
    /// The survey, as `--as json` gives it.
    #[serde(flatten)]
    pub survey: SurveyJson,
}

/// What could not be surveyed, and why.
#[derive(Clone, Debug, Serialize)]
pub struct FailedLine {
    /// The file, as it was found in the folder.
    pub file: String,
    /// Its number in the tunebook; null if the file is none, or none was reached.
    pub tune: Option<String>,
    /// The part's number, from 1; null if none was reached.
    pub part: Option<usize>,
    /// What is wrong and what to do.
    pub error: String,
}

/// A survey as one line of JSON, ending in a line break.
#[must_use]
pub fn survey_line(of: LineOf, what: &Written) -> String {
    written(&LineJson::Survey(Box::new(SurveyLine {
        file: of.file.to_owned(),
        tune: of.tune.map(str::to_owned),
        part: what.part + 1,
        survey: survey_json(what),
    })))
}

/// A failure as one line of JSON, ending in a line break.
#[must_use]
pub fn failed_line(of: LineOf, error: &str) -> String {
    written(&LineJson::Failed(FailedLine {
        file: of.file.to_owned(),
        tune: of.tune.map(str::to_owned),
        part: of.part,
        error: error.to_owned(),
    }))
}

fn written(line: &LineJson) -> String {
    // Plain data with text keys: writing it into memory cannot fail.
    let mut text = serde_json::to_string(line).unwrap_or_default();
    text.push('\n');
    text
}

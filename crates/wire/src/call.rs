//! What does a call ask for, as JSON? Pieces, cuts with their places and durations, scales, errata, changes.

use crate::VERSION;
use crate::say::{self, FindingSaid};
use chrono::NaiveDate;
use notation::{Finding, Piece};
use practice::call::find::Found;
use practice::call::tempo::Asked;
use practice::call::{Call, Cut};
use schemars::JsonSchema;
use serde::Serialize;

/// An audition's requirements.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(title = "Foreread call")]
pub struct CallJson {
    /// The version of this contract, that of the survey's.
    pub version: String,
    /// What it is for.
    pub name: String,
    /// The day, `2027-02-13`.
    pub date: Option<String>,
    /// Days from today to it; negative when it is over.
    pub days_left: Option<i64>,
    /// What else it says.
    pub notes: String,
    /// The pieces, in its order.
    pub pieces: Vec<CallPieceSaid>,
    /// Scales and exercises.
    pub scales: Vec<CallScaleSaid>,
    /// What is said about sight-reading, if it is asked for.
    pub sight_reading: Option<String>,
    /// What was changed since the day asked about, oldest first; empty if no day was given.
    pub changed: Vec<ChangedSaid>,
}

/// A piece.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct CallPieceSaid {
    /// Its title.
    pub title: String,
    /// Its file, as the call names it.
    pub file: String,
    /// The edition that the call means.
    pub edition: String,
    /// From memory.
    pub memorised: bool,
    /// The passages asked for.
    pub cuts: Vec<CutSaid>,
    /// What the call corrects.
    pub errata: Vec<ErratumSaid>,
    /// What could not be opened or applied.
    pub findings: Vec<FindingSaid>,
}

/// A passage.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct CutSaid {
    /// Its name.
    pub name: String,
    /// As the call says it.
    pub said: String,
    /// From where through where; null if it was not found.
    pub found: Option<String>,
    /// Label of the first bar.
    pub from_bar: Option<String>,
    /// That bar counted from 0.
    pub from_bar_index: Option<u32>,
    /// Quarter notes from the start of that bar to the first note.
    pub from_offset: Option<f64>,
    /// Label of the last bar.
    pub to_bar: Option<String>,
    /// That bar counted from 0.
    pub to_bar_index: Option<u32>,
    /// Quarter notes from the start of that bar to the end of the last note: nothing sounds or counts from there on.
    pub to_offset: Option<f64>,
    /// Whether repeats inside are taken.
    pub repeats: bool,
    /// The tempo asked for, in words.
    pub tempo: Option<String>,
    /// Seconds at the slowest tempo asked for.
    pub seconds_slowest: Option<f64>,
    /// Seconds at the fastest.
    pub seconds_fastest: Option<f64>,
    /// What else is said about it.
    pub notes: String,
    /// What was assumed, or why it was not found.
    pub findings: Vec<FindingSaid>,
}

/// A scale or exercise.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct CallScaleSaid {
    /// As the call says it.
    pub says: String,
    /// The tempo asked for, in words.
    pub tempo: Option<String>,
    /// From memory.
    pub memorised: bool,
}

/// A correction.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ErratumSaid {
    /// When it was announced.
    pub date: Option<String>,
    /// What it says.
    pub says: String,
}

/// Something changed.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ChangedSaid {
    /// When.
    pub date: String,
    /// The piece it concerns, counted from 1 in the call's order; null for the whole call.
    pub piece: Option<usize>,
    /// What.
    pub says: String,
}

/// A piece as it was opened.
#[derive(Clone, Debug)]
pub struct CallPieceWritten<'a> {
    /// Its title.
    pub title: &'a str,
    /// The piece, for its bars' labels; `None` if it can't be opened.
    pub piece: Option<&'a Piece>,
    /// Its cuts.
    pub cuts: Vec<CutWritten<'a>>,
    /// What could not be opened or applied.
    pub findings: &'a [Finding],
}

/// A cut as it was found.
#[derive(Clone, Copy, Debug)]
pub struct CutWritten<'a> {
    /// As the call says it.
    pub cut: &'a Cut,
    /// Where it is.
    pub found: Option<&'a Found>,
    /// Seconds at the slowest and the fastest tempo.
    pub seconds: Option<(f64, f64)>,
    /// What was assumed, or why it was not found.
    pub findings: &'a [Finding],
}

/// The call as JSON; `pieces` in the call's order.
#[must_use]
pub fn call_json(
    call: &Call,
    pieces: &[CallPieceWritten],
    today: NaiveDate,
    since: Option<NaiveDate>,
) -> String {
    let said = CallJson {
        version: VERSION.to_owned(),
        name: call.name.clone(),
        date: call.date.map(|date| date.to_string()),
        days_left: call.days_left(today),
        notes: call.notes.clone(),
        pieces: call
            .pieces
            .iter()
            .zip(pieces)
            .map(|(listed, piece)| piece_said(listed, piece))
            .collect(),
        scales: call
            .scales
            .iter()
            .map(|scale| CallScaleSaid {
                says: scale.says.clone(),
                tempo: scale.tempo.as_ref().map(Asked::in_words),
                memorised: scale.memorised,
            })
            .collect(),
        sight_reading: call.sight_reading.clone(),
        changed: since.map_or_else(Vec::new, |since| {
            call.changed_since(since)
                .into_iter()
                .map(|(date, piece, says)| ChangedSaid {
                    date: date.to_string(),
                    piece: piece.map(|at| at + 1),
                    says,
                })
                .collect()
        }),
    };
    let mut text = serde_json::to_string_pretty(&said).unwrap_or_default();
    text.push('\n');
    text
}

fn piece_said(listed: &practice::call::CallPiece, piece: &CallPieceWritten) -> CallPieceSaid {
    CallPieceSaid {
        title: piece.title.to_owned(),
        file: listed.file.clone(),
        edition: listed.edition.clone(),
        memorised: listed.memorised,
        cuts: piece.cuts.iter().map(|cut| cut_said(cut, piece.piece)).collect(),
        errata: listed
            .errata
            .iter()
            .map(|erratum| ErratumSaid {
                date: erratum.date.map(|date| date.to_string()),
                says: erratum.in_words(),
            })
            .collect(),
        findings: say::findings(piece.findings),
    }
}

fn cut_said(cut: &CutWritten, piece: Option<&Piece>) -> CutSaid {
    let found = cut.found;
    let label = |bar| piece.map(|piece| piece.label(bar).to_owned());
    CutSaid {
        name: cut.cut.name.clone(),
        said: cut.cut.range.said.clone(),
        found: found.map(|found| found.says.clone()),
        from_bar: found.and_then(|found| label(found.from.bar)),
        from_bar_index: found.map(|found| found.from.bar.0),
        from_offset: found.map(|found| found.from.offset.to_f64()),
        to_bar: found.and_then(|found| label(found.until.bar)),
        to_bar_index: found.map(|found| found.until.bar.0),
        to_offset: found.map(|found| found.until.offset.to_f64()),
        repeats: found.is_some_and(|found| found.repeats),
        tempo: cut.cut.tempo.as_ref().map(Asked::in_words),
        seconds_slowest: cut.seconds.map(|(slow, _)| round(slow)),
        seconds_fastest: cut.seconds.map(|(_, fast)| round(fast)),
        notes: cut.cut.notes.clone(),
        findings: say::findings(cut.findings),
    }
}

/// To milliseconds.
fn round(seconds: f64) -> f64 {
    (seconds * 1000.0).round() / 1000.0
}

//! What does a call ask to be ready? Its pieces with their errata, each cut at its own tempo, until its date.

use super::call::{CallOpened, CallPieceOpened, CutFound};
use super::plan::{Bars, PlanAsked, Planned, Wanted, plan_of};
use super::when::{self, wrong};
use crate::DeskError;
use notation::Finding;
use practice::call::CallPiece;
use practice::call::tempo::Asked as TempoAsked;

/// Plans what a call asks for. Without another date it is the call's own.
///
/// # Errors
/// As [`super::plan::plan`]; if the call names no date and none was given, or nothing of it was found.
pub fn plan_call(call: &CallOpened, asked: &PlanAsked) -> Result<Planned, DeskError> {
    let until = if asked.until.is_empty() {
        call.call.date.ok_or_else(|| {
            wrong(
                "the call names no day".to_owned(),
                "give the day with --until, or write it into the call",
            )
        })?
    } else {
        when::date("--until", &asked.until)?
    };
    let mut findings = Vec::new();
    let mut wanted = Vec::new();
    for (number, (listed, piece)) in call.call.pieces.iter().zip(&call.pieces).enumerate() {
        findings.extend(piece.findings.iter().cloned());
        findings.extend(piece.cuts.iter().flat_map(|cut| cut.findings.iter().cloned()));
        wanted.extend(of_piece(number, listed, piece));
    }
    if wanted.is_empty() {
        let first = findings.first().map(Finding::to_string).unwrap_or_default();
        return Err(wrong(
            format!("nothing of what the call asks for was found: {first}"),
            "look at it with foreread call",
        ));
    }
    // What the call asks for is warmed up on, whichever piece comes first.
    if let Some(first) = wanted.first_mut() {
        first.scales = call.call.scales.iter().map(|scale| scale.says.clone()).collect();
    }
    plan_of(&wanted, until, asked, findings)
}

/// Cuts with a tempo of their own stand alone, the others together.
fn of_piece<'a>(number: usize, listed: &CallPiece, piece: &'a CallPieceOpened) -> Vec<Wanted<'a>> {
    let Some(opened) = &piece.corrected else {
        return Vec::new();
    };
    let found = || piece.cuts.iter().filter(|cut| cut.found.is_some());
    let wanted = |cuts: Vec<&CutFound>, name: Option<String>, tempo: Option<&TempoAsked>| Wanted {
        opened,
        number,
        part: None,
        bars: Bars::Found(
            cuts.iter()
                .filter_map(|cut| cut.found.as_ref())
                .map(|found| found.bars)
                .collect(),
        ),
        name,
        tempo: tempo.map(middle),
        from_memory: listed.memorised,
        scales: Vec::new(),
    };
    let timed = found().filter(|cut| cut.cut.tempo.is_some()).map(|cut| {
        wanted(
            vec![cut],
            Some(format!("cut {}", cut.cut.name)),
            cut.cut.tempo.as_ref(),
        )
    });
    let mut all: Vec<Wanted> = timed.collect();
    let untimed: Vec<&CutFound> = found().filter(|cut| cut.cut.tempo.is_none()).collect();
    if !untimed.is_empty() {
        all.push(wanted(untimed, None, None));
    }
    all
}

/// The middle of a range: a few beats more or less cost nothing (a regional judge's rule).
fn middle(tempo: &TempoAsked) -> (Option<f64>, f64) {
    let bpm = f64::midpoint(tempo.slowest.to_f64(), tempo.fastest.to_f64());
    (tempo.note.map(notation::Rational::to_f64), bpm)
}

//! What does a player see before she plays? The questions of a copy, and what her answers come to, as it is kept.

use crate::print::{Made, PrepAsked, sheet_paper, study_alone};
use crate::{Copy, DeskError, Opened, Shown};
use ::practice::look_first::{Answer, Ask, Compared, Looked, Time, asks, compare};
use notation::Piece;
use printer::Printer;
use sheet::LookPage;
use survey::Context;
use wire::{LookFirstJson, look_first_json};

/// What a player answered.
#[derive(Clone, PartialEq, Debug)]
pub struct LookAnswers {
    /// How long there was.
    pub time: Time,
    /// By what the choices were drawn: the same as when they were shown.
    pub seed: u64,
    /// How long she looked, in seconds.
    pub used_seconds: f64,
    /// Her answers.
    pub answers: Vec<Answer>,
}

/// The questions of a part.
///
/// # Errors
/// If the copy holds no part.
pub fn look_first(opened: &Opened, copy: &Copy, time: Time, seed: u64) -> Result<Vec<Ask>, DeskError> {
    asks_of(opened, &copy.piece, &copy.shown, time, seed)
}

fn asks_of(
    opened: &Opened,
    piece: &Piece,
    shown: &Shown,
    time: Time,
    seed: u64,
) -> Result<Vec<Ask>, DeskError> {
    let ctx = Context::new(piece, 0).ok_or_else(|| DeskError::NoParts {
        path: opened.path.clone(),
    })?;
    let looked = Looked {
        ctx: &ctx,
        survey: &shown.survey,
        study: shown.study.as_ref(),
    };
    Ok(asks(&looked, time, seed))
}

/// What answers come to, and how that is kept.
///
/// # Errors
/// If the copy holds no part.
pub fn look_kept(
    opened: &Opened,
    copy: &Copy,
    given: &LookAnswers,
) -> Result<(Vec<Compared>, LookFirstJson), DeskError> {
    let asked = look_first(opened, copy, given.time, given.seed)?;
    let compared = compare(&asked, &given.answers);
    let kept = look_first_json(
        &copy.piece,
        given.time,
        given.used_seconds,
        &asked,
        &given.answers,
        &compared,
    );
    Ok((compared, kept))
}

/// How the questions are wanted on paper.
#[derive(Clone, Debug, Default)]
pub struct LookAsked {
    /// The part, the player, the paper and her word for a bar.
    pub prep: PrepAsked,
    /// How long there is.
    pub time: Time,
    /// By what the choices are drawn; another number draws others.
    pub seed: u64,
}

/// The questions in words, and under a line what there is to see; no press is needed.
///
/// # Errors
/// If there is no such part or a file of hers can't be understood.
pub fn look_text(opened: &Opened, asked: &LookAsked) -> Result<Made<String>, DeskError> {
    with_page(opened, asked, |page| Ok(sheet::look_text(page)))
}

/// The questions as a page to print, and what there is to see on the next.
///
/// # Errors
/// If there is no such part, a file of hers can't be understood, or the press fails.
pub fn look_pdf(
    opened: &Opened,
    asked: &LookAsked,
    printer: &mut Printer,
) -> Result<Made<Vec<u8>>, DeskError> {
    let paper = sheet_paper(&asked.prep.copy);
    with_page(opened, asked, |page| {
        let source = sheet::look_typst(page, paper);
        let (pdf, _) = printer.typeset(&source.source, &source.files)?;
        Ok(pdf)
    })
}

fn with_page<T>(
    opened: &Opened,
    asked: &LookAsked,
    make: impl FnOnce(&LookPage) -> Result<T, DeskError>,
) -> Result<Made<T>, DeskError> {
    let studied = study_alone(opened, &asked.prep.copy)?;
    let piece = &studied.alone.piece;
    let asks = asks_of(opened, piece, &studied.shown, asked.time, asked.seed)?;
    let title = crate::print::title(piece, opened);
    let document = make(&LookPage {
        title: &title,
        handed: &asked.prep.handed,
        piece,
        time: asked.time,
        asks: &asks,
        bar_word: asked.prep.bar_word,
    })?;
    Ok(Made {
        document,
        findings: studied.findings(),
    })
}

//! What does a person want surveyed, and how shown? The part chosen, the questions, the outcome as text.

use crate::player::PlayerAsked;
use crate::section::Section;
use crate::study::{Studied, StudyAsked, study_part};
use crate::{DeskError, Opened};
use load::Study;
use notation::{Finding, Piece, Severity};
use survey::{Options, Question, Survey};

/// What was asked.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    /// The part, by its number from 1 or by its name; `None` leaves the choice to us.
    pub part: Option<String>,
    /// The questions; empty for all.
    pub questions: Vec<String>,
    /// How the survey goes about it.
    pub options: Options,
    /// For which player; if none is named, for anybody.
    pub player: PlayerAsked,
    /// What is wished for beside the player.
    pub study: StudyAsked,
}

/// The part that was taken and why.
#[derive(Debug)]
pub struct PartChoice {
    /// Index into the piece's parts.
    pub index: usize,
    /// Said when there was a choice.
    pub finding: Option<Finding>,
}

/// A survey and the questions it is to be shown with.
#[derive(Debug)]
pub struct Shown {
    /// The survey of the part.
    pub survey: Survey,
    /// What to show, in order.
    pub questions: Vec<Question>,
    /// Findings of the reader, the choice of the part and the road map.
    pub findings: Vec<Finding>,
    /// Index of the part.
    pub part: usize,
    /// What the page asks of the player, if one was named.
    pub study: Option<Study>,
}

impl Shown {
    /// What the JSON is made of.
    #[must_use]
    pub fn written<'a>(&'a self, opened: &'a Opened) -> wire::Written<'a> {
        wire::Written {
            piece: &opened.piece,
            tune: opened.tune.as_ref().map(|tune| tune.number.as_str()),
            part: self.part,
            survey: &self.survey,
            study: self.study.as_ref(),
            questions: &self.questions,
            findings: &self.findings,
        }
    }
}

/// Surveys one part of an opened piece.
///
/// # Errors
/// If the part or a question does not exist, or nothing is in the piece.
pub fn survey_piece(opened: &Opened, asked: &Asked) -> Result<Shown, DeskError> {
    let questions = questions(&asked.questions)?;
    let choice = choose_part(opened, asked.part.as_deref())?;
    survey_part(opened, choice.index, choice.finding, &questions, asked)
}

/// What the page asks of the player. Apart from [`survey_part`], and on the heap, so that a survey for anybody needs no stack for it.
#[inline(never)]
fn studied(opened: &Opened, index: usize, asked: &Asked) -> Result<Box<Studied>, DeskError> {
    study_part(opened, index, &asked.player, &asked.study, &asked.options).map(Box::new)
}

/// Surveys the part with an index; `choice` is what is to be said of the choice.
pub(crate) fn survey_part(
    opened: &Opened,
    index: usize,
    choice: Option<Finding>,
    questions: &[Question],
    asked: &Asked,
) -> Result<Shown, DeskError> {
    let mut studied = if asked.study.for_anybody || asked.player.names_a_player() {
        Some(studied(opened, index, asked)?)
    } else {
        None
    };
    let whole = questions.len() == Question::ALL.len();
    let survey = match studied.as_mut().filter(|_| whole) {
        Some(studied) => std::mem::take(&mut studied.survey),
        None => survey::survey(&opened.piece, index, questions, &asked.options).ok_or_else(|| {
            DeskError::NoParts {
                path: opened.path.clone(),
            }
        })?,
    };
    let name = part_name(&opened.piece, index);
    let concerns = |finding: &&Finding| finding.part.as_ref().is_none_or(|part| *part == name);
    let mut findings: Vec<Finding> = choice.into_iter().collect();
    findings.extend(opened.findings.iter().filter(concerns).cloned());
    findings.extend(survey.findings.iter().cloned());
    findings.extend(
        studied
            .iter()
            .flat_map(|studied| studied.findings.iter().cloned()),
    );
    Ok(Shown {
        survey,
        questions: questions.to_vec(),
        findings,
        part: index,
        study: studied.map(|studied| studied.study),
    })
}

/// The parts to survey where every part is wanted: those asked for, or all that have something to play.
pub(crate) fn parts_asked(opened: &Opened, asked: Option<&str>) -> Result<Vec<usize>, DeskError> {
    let piece = &opened.piece;
    let Some(asked) = asked else {
        let parts: Vec<usize> = with_events(piece);
        return if parts.is_empty() {
            Err(DeskError::NoParts {
                path: opened.path.clone(),
            })
        } else {
            Ok(parts)
        };
    };
    let parts = numbered(piece, asked).map_or_else(|| by_name(piece, asked), |index| vec![index]);
    if parts.is_empty() {
        return Err(no_such_part(opened, asked));
    }
    Ok(parts)
}

fn with_events(piece: &Piece) -> Vec<usize> {
    (0..piece.parts.len())
        .filter(|index| !piece.parts[*index].events.is_empty())
        .collect()
}

/// The part with a number from 1.
fn numbered(piece: &Piece, asked: &str) -> Option<usize> {
    let index = asked.trim().parse::<usize>().ok()?.checked_sub(1)?;
    (index < piece.parts.len()).then_some(index)
}

fn no_such_part(opened: &Opened, asked: &str) -> DeskError {
    DeskError::NoSuchPart {
        path: opened.path.clone(),
        asked: asked.to_owned(),
        parts: listed(&opened.piece),
    }
}

/// The questions by their names, in reading order; all if none is named.
pub(crate) fn questions(asked: &[String]) -> Result<Vec<Question>, DeskError> {
    if asked.is_empty() {
        return Ok(Question::ALL.to_vec());
    }
    let mut chosen = Vec::new();
    for name in asked {
        let question = Question::from_name(name).ok_or_else(|| DeskError::NoSuchQuestion {
            asked: name.clone(),
            known: Question::ALL
                .iter()
                .map(|q| q.id())
                .collect::<Vec<_>>()
                .join(", "),
        })?;
        if !chosen.contains(&question) {
            chosen.push(question);
        }
    }
    // Reading order, whatever the order in which they were asked.
    chosen.sort();
    Ok(chosen)
}

/// Chooses the part to survey.
///
/// # Errors
/// If no part or several fit what was asked.
pub fn choose_part(opened: &Opened, asked: Option<&str>) -> Result<PartChoice, DeskError> {
    let piece = &opened.piece;
    let path = || opened.path.clone();
    let candidates = with_events(piece);
    let Some(asked) = asked else {
        return match candidates.as_slice() {
            [] => Err(DeskError::NoParts { path: path() }),
            [only] => Ok(PartChoice {
                index: *only,
                finding: None,
            }),
            [first, ..] => Ok(PartChoice {
                index: *first,
                finding: Some(several(piece, *first)),
            }),
        };
    };
    if let Some(index) = numbered(piece, asked) {
        return Ok(PartChoice { index, finding: None });
    }
    let fits = by_name(piece, asked);
    match fits.as_slice() {
        [index] => Ok(PartChoice {
            index: *index,
            finding: None,
        }),
        [] => Err(no_such_part(opened, asked)),
        several => Err(DeskError::SeveralParts {
            path: path(),
            asked: asked.to_owned(),
            parts: several
                .iter()
                .map(|i| said(piece, *i))
                .collect::<Vec<_>>()
                .join(", "),
        }),
    }
}

/// Parts whose name is the one asked for, else those that begin with it, else those that contain it.
fn by_name(piece: &Piece, asked: &str) -> Vec<usize> {
    let asked = asked.trim().to_lowercase();
    let fits = |test: &dyn Fn(&str) -> bool| -> Vec<usize> {
        (0..piece.parts.len())
            .filter(|i| {
                let part = &piece.parts[*i];
                [&part.name, &part.abbreviation]
                    .into_iter()
                    .chain(part.instrument_name.as_ref())
                    .any(|name| test(&name.trim().to_lowercase()))
            })
            .collect()
    };
    let exact = fits(&|name| name == asked);
    if !exact.is_empty() || asked.is_empty() {
        return exact;
    }
    let begins = fits(&|name| name.starts_with(&asked));
    if begins.is_empty() {
        fits(&|name| name.contains(&asked))
    } else {
        begins
    }
}

pub(crate) fn part_name(piece: &Piece, index: usize) -> String {
    let name = piece.parts.get(index).map_or("", |part| part.name.trim());
    if name.is_empty() {
        format!("part {}", index + 1)
    } else {
        name.to_owned()
    }
}

fn said(piece: &Piece, index: usize) -> String {
    format!("{} {}", index + 1, part_name(piece, index))
}

fn listed(piece: &Piece) -> String {
    (0..piece.parts.len())
        .map(|i| said(piece, i))
        .collect::<Vec<_>>()
        .join(", ")
}

fn several(piece: &Piece, taken: usize) -> Finding {
    Finding::new(
        Severity::Note,
        "several-parts",
        format!(
            "the score has {} parts: {}; part {} was taken",
            piece.parts.len(),
            listed(piece),
            said(piece, taken)
        ),
        "ask for another with --part and its number or name",
    )
}

/// The survey as JSON text.
#[must_use]
pub fn survey_json(opened: &Opened, shown: &Shown) -> String {
    wire::survey_text(&shown.written(opened))
}

/// Writes the survey as JSON text, a little at a time: of a very long piece it is longer than the piece.
///
/// # Errors
/// What the writer says.
pub fn write_survey_json(opened: &Opened, shown: &Shown, out: impl std::io::Write) -> std::io::Result<()> {
    wire::write_survey(&shown.written(opened), out)
}

/// The survey as a sheet, to be shown in a terminal or as a page.
#[must_use]
pub fn survey_sheet(opened: &Opened, shown: &Shown) -> sheet::Sheet {
    composed(opened, shown, sheet::compose)
}

/// One answer of the study as a sheet of its own.
#[must_use]
pub fn section_sheet(opened: &Opened, shown: &Shown, section: Section) -> sheet::Sheet {
    composed(
        opened,
        shown,
        match section {
            Section::Spots => sheet::spots,
            Section::Fingers => sheet::fingers,
            Section::Ladder => sheet::ladder,
        },
    )
}

fn composed(opened: &Opened, shown: &Shown, compose: fn(&sheet::Composed) -> sheet::Sheet) -> sheet::Sheet {
    compose(&composed_of(opened, shown))
}

/// What every sheet is made of.
pub(crate) fn composed_of<'a>(opened: &'a Opened, shown: &'a Shown) -> sheet::Composed<'a> {
    let name = opened.path.file_stem().and_then(std::ffi::OsStr::to_str);
    sheet::Composed {
        piece: &opened.piece,
        part: shown.part,
        survey: &shown.survey,
        questions: &shown.questions,
        findings: &shown.findings,
        fallback_title: name.unwrap_or_default(),
        study: shown.study.as_ref(),
    }
}

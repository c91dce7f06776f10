//! How does a cut of a call, or a part with its errata, get into a file? Notation, sound or pages, by the ending.

use super::call::{CallOpened, CallPieceOpened, CutFound};
use super::call_errata::{errata_lines, in_excerpt};
use crate::listen::{ListenAsked, SoundForm, listen, to_file};
use crate::print::{CopyAsked, Form, copy, write_copy};
use crate::{ConvertAsked, DeskError, Opened, Target, WholeFile, convert};
use engrave::{Edition, Paper};
use notation::Finding;
use practice::call::excerpt::with_tempo;
use practice::call::find::Found;
use practice::call::tempo::Asked as TempoAsked;
use printer::Printer;
use std::path::{Path, PathBuf};

/// How a cut or a part is written.
#[derive(Clone, Debug, Default)]
pub struct CallTo {
    /// The paper.
    pub paper: Paper,
    /// Dots an inch of a picture.
    pub dots_per_inch: f64,
    /// The tempo to hear it at; `None` for the slowest asked for.
    pub tempo: Option<String>,
}

impl CallOpened {
    /// The cut of a name (`1`; of several pieces `2.1` for the first cut of the second piece, or its own name).
    ///
    /// # Errors
    /// If there is none of that name, several, or it was not found in its piece.
    pub fn cut(&self, name: &str) -> Result<(&CallPieceOpened, &CutFound, &Found), DeskError> {
        let all = self
            .pieces
            .iter()
            .enumerate()
            .flat_map(|(at, piece)| piece.cuts.iter().map(move |cut| (at, piece, cut)));
        let wanted = name.trim();
        let matching: Vec<_> = all
            .filter(|(at, _, cut)| {
                cut.cut.name.eq_ignore_ascii_case(wanted)
                    || format!("{}.{}", at + 1, cut.cut.name).eq_ignore_ascii_case(wanted)
            })
            .collect();
        let names = || {
            let all = self.pieces.iter().enumerate();
            let all = all.flat_map(|(at, piece)| {
                piece
                    .cuts
                    .iter()
                    .map(move |cut| format!("{}.{}", at + 1, cut.cut.name))
            });
            all.collect::<Vec<_>>().join(", ")
        };
        let wrong = |what: String| DeskError::Player {
            what,
            advice: format!("there are {}", names()),
        };
        match matching.as_slice() {
            [] => Err(wrong(format!("the call has no cut {wanted}"))),
            [(_, piece, cut)] => match &cut.found {
                Some(found) => Ok((piece, cut, found)),
                None => Err(wrong(format!("cut {wanted} was not found in its piece"))),
            },
            _ => Err(wrong(format!("several pieces have a cut {wanted}"))),
        }
    }

    /// Writes a cut, errata in it and nothing after its end: notation, sound or pages, by the ending.
    ///
    /// # Errors
    /// As [`Self::cut`], or if it can't be written.
    pub fn write_cut(
        &self,
        name: &str,
        to: &Path,
        how: &CallTo,
    ) -> Result<(Vec<PathBuf>, Vec<Finding>), DeskError> {
        let (piece, cut, found) = self.cut(name)?;
        let Some(whole) = &piece.corrected else {
            return Err(DeskError::NotFound {
                path: self.path.clone(),
            });
        };
        let sound = SoundForm::of(to).is_ok();
        let tempo = cut.cut.tempo.clone().map(|asked| TempoAsked {
            // What is heard has one tempo: the slowest.
            fastest: if sound { asked.slowest } else { asked.fastest },
            ..asked
        });
        let mut alone = Opened {
            path: whole.path.clone(),
            tune: None,
            piece: with_tempo(&whole.piece, found, tempo.as_ref()),
            findings: Vec::new(),
        };
        alone.piece.credits.title = Some(format!("{}, cut {}", piece.title, cut.cut.name));
        alone.piece.credits.movement = None;
        if sound {
            let heard = listen(
                &alone,
                &ListenAsked {
                    straight: !found.repeats,
                    tempo: how.tempo.clone(),
                    ..ListenAsked::default()
                },
            )?;
            to_file(&heard, to)?;
            return Ok((vec![to.to_path_buf()], heard.findings));
        }
        if Form::of(to).is_ok() {
            let marks = in_excerpt(&piece.marks, &alone.piece, found.bars.from);
            let asked = CopyAsked {
                edition: Edition::Clean,
                paper: how.paper,
                foot: errata_lines(&marks),
                added: marks,
                ..CopyAsked::default()
            };
            return write_pages(&alone, &asked, to, how.dots_per_inch);
        }
        let target = notated(to)?;
        let converted = convert(&alone, target, &ConvertAsked::default())?;
        WholeFile::write(to, &converted.bytes)?;
        Ok((vec![to.to_path_buf()], converted.findings))
    }

    /// Writes the part of a piece (from 1) with its errata and where its cuts begin and end, pencilled beside the usual marks.
    ///
    /// # Errors
    /// If there is no such piece, or it can't be printed.
    pub fn write_part(
        &self,
        number: usize,
        to: &Path,
        how: &CallTo,
    ) -> Result<(Vec<PathBuf>, Vec<Finding>), DeskError> {
        let piece = number.checked_sub(1).and_then(|at| self.pieces.get(at));
        let piece = piece.ok_or_else(|| DeskError::Player {
            what: format!("the call has no piece {number}"),
            advice: format!("give a number from 1 to {}", self.pieces.len().max(1)),
        })?;
        let Some(whole) = &piece.corrected else {
            return Err(DeskError::NotFound {
                path: self.path.clone(),
            });
        };
        if Form::of(to).is_err() {
            let converted = convert(whole, notated(to)?, &ConvertAsked::default())?;
            WholeFile::write(to, &converted.bytes)?;
            return Ok((vec![to.to_path_buf()], converted.findings));
        }
        let asked = CopyAsked {
            paper: how.paper,
            foot: errata_lines(&piece.marks),
            added: piece.marks.clone(),
            ..CopyAsked::default()
        };
        write_pages(whole, &asked, to, how.dots_per_inch)
    }
}

fn notated(to: &Path) -> Result<Target, DeskError> {
    Target::of(to).map_err(|error| match error {
        DeskError::NotWritten { path, ending, .. } => DeskError::NotWritten {
            path,
            ending,
            known: ".musicxml, .xml, .mxl, .mei, .mid, .wav, .flac, .pdf, .svg, .png".to_owned(),
        },
        other => other,
    })
}

fn write_pages(
    opened: &Opened,
    asked: &CopyAsked,
    to: &Path,
    dpi: f64,
) -> Result<(Vec<PathBuf>, Vec<Finding>), DeskError> {
    let mut printer = Printer::find()?;
    let copy = copy(opened, asked, &mut printer)?;
    let written = write_copy(&copy, to, dpi, &mut printer)?;
    Ok((written.files, copy.findings))
}

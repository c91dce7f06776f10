//! How do drills become a file? Notation by its standards, sound at their tempo, pages with the words over each drill.

use super::{Drills, FOOTER, with_source};
use crate::listen::{ListenAsked, SoundForm, listen, to_file};
use crate::print::{Form, write_pages};
use crate::{ConvertAsked, DeskError, Opened, Target, WholeFile, convert};
use engrave::{Edition, Look, Paper, StripItem};
use notation::Finding;
use practice::drill::{self, Booklet, Drill, Offer};
use printer::Printer;
use std::path::{Path, PathBuf};

/// What can be written of drills.
enum Goal {
    Notation(Target),
    Sound,
    Pages,
}

fn target(to: &Path) -> Result<Goal, DeskError> {
    // Sound comes before notation: a MIDI file of a drill is to be heard at its tempo.
    if SoundForm::of(to).is_ok() {
        return Ok(Goal::Sound);
    }
    if Form::of(to).is_ok() {
        return Ok(Goal::Pages);
    }
    match Target::of(to) {
        Ok(target) => Ok(Goal::Notation(target)),
        Err(DeskError::NotWritten { path, ending, .. }) => Err(DeskError::NotWritten {
            path,
            ending,
            known: ".musicxml, .xml, .mxl, .mei, .mid, .wav, .flac, .pdf, .svg, .png".to_owned(),
        }),
        Err(other) => Err(other),
    }
}

/// How pages are to be.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct DrillPages {
    /// The paper.
    pub paper: Paper,
    /// Height of a staff in millimetres; `None` as usual.
    pub staff_mm: Option<f64>,
    /// Dots an inch of a picture.
    pub dots_per_inch: f64,
}

/// Whether a file's ending is one that drills are written in.
///
/// # Errors
/// If it isn't; the message names those that are.
pub fn drill_form(to: &Path) -> Result<(), DeskError> {
    target(to).map(|_| ())
}

/// Writes all drills to a file; a printed one may become several.
///
/// # Errors
/// If nothing can be made, or the file can't be written.
pub fn write_drills(
    drills: &Drills,
    to: &Path,
    pages: &DrillPages,
) -> Result<(Vec<PathBuf>, Vec<Finding>), DeskError> {
    let target = target(to)?;
    let headed = matches!(target, Goal::Notation(_));
    let (booklet, mut findings) = bound(drills, headed)?;
    let files = match target {
        Goal::Notation(target) => {
            let opened = opened(drills, booklet);
            let converted = convert(&opened, target, &ConvertAsked::default())?;
            findings.extend(converted.findings);
            WholeFile::write(to, &converted.bytes)?;
            vec![to.to_path_buf()]
        }
        Goal::Sound => {
            let heard = listen(&opened(drills, booklet), &ListenAsked::default())?;
            findings.extend(heard.findings.iter().cloned());
            to_file(&heard, to)?;
            vec![to.to_path_buf()]
        }
        Goal::Pages => {
            let mut printer = Printer::find()?;
            let laid = laid(&booklet, pages, &mut printer)?;
            findings.extend(laid.findings.iter().cloned());
            let title = booklet.piece.credits.title.clone().unwrap_or_default();
            write_pages(&laid, &title, "", to, pages.dots_per_inch, &mut printer)?.files
        }
    };
    Ok((files, findings))
}

pub(super) fn opened(drills: &Drills, booklet: Booklet) -> Opened {
    Opened {
        path: drills.alone.path.clone(),
        tune: None,
        piece: booklet.piece,
        findings: Vec::new(),
    }
}

/// All drills as one piece.
pub(super) fn bound(drills: &Drills, headed: bool) -> Result<(Booklet, Vec<Finding>), DeskError> {
    with_source(&drills.alone, &drills.shown, |source| {
        let mut findings: Vec<Finding> = Vec::new();
        let mut made: Vec<Drill> = Vec::new();
        for offer in &drills.offers {
            match drill::make(source, offer) {
                Ok(drill) => {
                    for finding in &drill.findings {
                        // What holds of the whole part is said once.
                        let whole = finding.kind == drill::ONE_VOICE;
                        if !findings
                            .iter()
                            .any(|said| said == finding || whole && said.kind == finding.kind)
                        {
                            let mut said = finding.clone();
                            if whole {
                                (said.bar, said.bar_label) = (None, None);
                            }
                            findings.push(said);
                        }
                    }
                    made.push(drill);
                }
                Err(finding) => findings.push(*finding),
            }
        }
        if made.is_empty() {
            return Err(DeskError::Player {
                what: "there is nothing to drill here".to_owned(),
                advice: "choose other bars with --bars, or scales with --scales".to_owned(),
            });
        }
        findings.sort_by_key(|finding| finding.bar);
        let title = title(drills, &made);
        Ok((drill::booklet(source, &made, &title, headed), findings))
    })?
}

/// One drill is called by its own title, several by the piece's, or by its file's name.
fn title(drills: &Drills, made: &[Drill]) -> String {
    let stem = || {
        drills
            .alone
            .path
            .file_stem()
            .map(|stem| stem.to_string_lossy().into_owned())
    };
    match (made, drills.alone.piece.credits.name().or_else(stem)) {
        ([one], _) => one.offer.title.clone(),
        (_, Some(name)) => format!("Drills for {name}"),
        (_, None) => "Drills".to_owned(),
    }
}

/// The drills on pages, each with its title and words over it.
fn laid(booklet: &Booklet, pages: &DrillPages, printer: &mut Printer) -> Result<engrave::Laid, DeskError> {
    let mut look = Look::of(Edition::Strip);
    look.hand = false;
    look.bar_numbers = false;
    look.paper = pages.paper;
    look.staff_height_mm = pages.staff_mm.unwrap_or(STAFF_MM);
    look.footer = FOOTER.to_owned();
    look.strip = booklet
        .drills
        .iter()
        .map(|(span, offer, findings)| StripItem {
            from: span.from,
            to: span.to,
            heading: Some(offer.title.clone()),
            reason: said(offer, findings),
        })
        .collect();
    let printable = engrave::to_job(&booklet.piece, &look);
    let (engraved, svgs) = printer.engrave(&printable.mei, printable.ask.clone())?;
    Ok(engrave::lay_out(
        &booklet.piece,
        &look,
        &printable,
        &engraved,
        &svgs,
        &[],
    ))
}

/// Drills are read from close by and have many short passages: staves a little lower than a part's.
const STAFF_MM: f64 = 6.5;

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// The words over a drill.
pub(super) fn said(offer: &Offer, findings: &[Finding]) -> String {
    let times = match offer.at_most {
        1 => "Once a sitting".to_owned(),
        n => format!("At most {n} times a sitting"),
    };
    // What the footer says already isn't said again.
    let cautions: Vec<&str> = offer
        .cautions
        .iter()
        .copied()
        .filter(|caution| !caution.starts_with("Stop at once"))
        .collect();
    let mut words = format!("{}\n{} {times}.", offer.what_for, offer.when_to_stop);
    if !cautions.is_empty() {
        words.push(' ');
        words.push_str(&cautions.join(" "));
    }
    // What was changed of the notes must not be found out by ear.
    for finding in findings
        .iter()
        .filter(|finding| finding.kind == "out-of-range" || finding.kind == "keys-left-out")
    {
        words.push_str(&format!("\n{}: {}.", capital(&finding.what), finding.advice));
    }
    words
}

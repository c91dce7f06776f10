//! How do drills reach a screen? Each engraved by itself with its words over it; all of them as notation or sound, in no file.

use super::write::{bound, opened, said};
use super::{Drills, with_source};
use crate::listen::{Heard, ListenAsked, listen};
use crate::{ConvertAsked, Converted, DeskError, Target, convert};
use engrave::{Edition, Look, Picture};
use notation::{BarIndex, Finding};
use practice::drill::{self, Offer};
use printer::Printer;

/// A drill, engraved.
#[derive(Debug)]
pub struct DrillShown {
    /// What it is.
    pub offer: Offer,
    /// What it is for, when to stop, and how often; lines.
    pub words: String,
    /// Its notes.
    pub picture: Picture,
    /// What was changed or left out, and why.
    pub findings: Vec<Finding>,
}

/// Engraves each drill by itself, on lines of a width.
///
/// # Errors
/// If the press fails. What can't be made of the bars is left out.
pub fn drill_pictures(
    drills: &Drills,
    width_mm: f64,
    staff_mm: f64,
    printer: &mut Printer,
) -> Result<Vec<DrillShown>, DeskError> {
    let made = with_source(&drills.alone, &drills.shown, |source| {
        let made = drills
            .offers
            .iter()
            .filter_map(|offer| drill::make(source, offer).ok());
        made.collect::<Vec<_>>()
    })?;
    let mut look = Look::of(Edition::Clean);
    look.staff_height_mm = staff_mm;
    look.bar_numbers = false;
    let mut shown = Vec::new();
    for drill in made {
        let last = BarIndex::from_usize(drill.piece.bars.len().saturating_sub(1));
        let printable = engrave::excerpt(&drill.piece, BarIndex(0), last, &look, Some(width_mm));
        let (engraved, svgs) = printer.engrave(&printable.mei, printable.ask.clone())?;
        shown.push(DrillShown {
            words: said(&drill.offer, &drill.findings),
            picture: engrave::excerpt_svg(&drill.piece, &look, &printable, &engraved, &svgs, &[]),
            offer: drill.offer,
            findings: drill.findings,
        });
    }
    Ok(shown)
}

/// All drills as the bytes of a standard.
///
/// # Errors
/// If nothing can be made of the bars.
pub fn drill_notation(drills: &Drills, target: Target) -> Result<Converted, DeskError> {
    let (booklet, mut findings) = bound(drills, true)?;
    let mut converted = convert(&opened(drills, booklet), target, &ConvertAsked::default())?;
    findings.append(&mut converted.findings);
    converted.findings = findings;
    Ok(converted)
}

/// All drills as they sound at their tempo.
///
/// # Errors
/// If nothing can be made of the bars, or nothing sounds.
pub fn drill_heard(drills: &Drills) -> Result<Heard, DeskError> {
    let (booklet, _) = bound(drills, false)?;
    listen(&opened(drills, booklet), &ListenAsked::default())
}

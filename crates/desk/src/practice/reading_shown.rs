//! How does a reading piece look and sound by itself? Engraved for a screen, as notation, and opened like any piece.

use super::Readings;
use crate::{DeskError, Opened, Printer};
use engrave::{Edition, Look, Picture};
use notation::BarIndex;
use practice::reading::Reading;
use std::path::PathBuf;

/// A reading piece opened, as if it were a file.
#[must_use]
pub fn reading_opened(reading: &Reading) -> Opened {
    Opened {
        path: PathBuf::from(&reading.title),
        tune: None,
        piece: reading.piece.clone(),
        findings: Vec::new(),
    }
}

/// All of it engraved, line under line on a width, in millimetres.
///
/// # Errors
/// If the press fails.
pub fn reading_picture(
    reading: &Reading,
    width_mm: f64,
    staff_mm: f64,
    printer: &mut Printer,
) -> Result<Picture, DeskError> {
    let mut look = Look::of(Edition::Clean);
    look.staff_height_mm = staff_mm;
    look.bar_numbers = false;
    let last = BarIndex::from_usize(reading.piece.bars.len().saturating_sub(1));
    let printable = engrave::excerpt(&reading.piece, BarIndex(0), last, &look, Some(width_mm));
    let (engraved, svgs) = printer.engrave(&printable.mei, printable.ask.clone())?;
    Ok(engrave::excerpt_svg(
        &reading.piece,
        &look,
        &printable,
        &engraved,
        &svgs,
        &[],
    ))
}

/// What a piece is, in a line: `8 bars in G major, 4/4, Andante (72 beats a minute)`.
#[must_use]
pub fn reading_said(reading: &Reading) -> String {
    format!(
        "{} bars in {}, {}, {} ({} beats a minute)",
        reading.bars,
        reading.key.name(),
        reading.measure.name(),
        reading.words,
        reading.bpm
    )
}

impl Readings {
    /// The first piece; a request that was answered has one.
    #[must_use]
    pub fn first(&self) -> Option<&Reading> {
        self.pieces.first()
    }
}

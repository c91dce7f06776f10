//! How does a piece begin? Its first bars as a small picture, for a list of pieces.

use super::copy::alone_for;
use crate::{DeskError, For, Opened};
use engrave::{Edition, Look, Picture};
use notation::BarIndex;
use printer::Printer;

/// The first bars of a part, as many as there is room for on one line of a width, without marks.
///
/// # Errors
/// If there is no such part, or the press fails.
pub fn opening(
    opened: &Opened,
    part: Option<&str>,
    width_mm: f64,
    staff_mm: f64,
    printer: &mut Printer,
) -> Result<Picture, DeskError> {
    let alone = alone_for(opened, part, &For::Itself)?;
    let mut look = Look::of(Edition::Clean);
    look.staff_height_mm = staff_mm;
    look.bar_numbers = false;
    let mut bars = MOST_BARS.min(alone.piece.bars.len().max(1));
    loop {
        let last = BarIndex::from_usize(bars - 1);
        let printable = engrave::excerpt(&alone.piece, BarIndex(0), last, &look, Some(width_mm));
        let (engraved, svgs) = printer.engrave(&printable.mei, printable.ask.clone())?;
        if engraved.systems.len() <= 1 || bars == 1 {
            return Ok(engrave::excerpt_svg(
                &alone.piece,
                &look,
                &printable,
                &engraved,
                &svgs,
                &[],
            ));
        }
        bars -= 1;
    }
}

/// More bars are not tried: they would never fit.
const MOST_BARS: usize = 4;

//! Which small pictures does a sheet want? Each slot engraved, with the marks that belong on it.

use super::copy::Studied;
use crate::DeskError;
use engrave::{Edition, Look};
use notation::PencilMark;
use pencil::Legend;
use printer::Printer;
use sheet::{Excerpt, Excerpts, Slot};

/// What the pictures are of.
pub(super) struct Wanted<'a> {
    pub studied: &'a Studied,
    pub legend: &'a Legend,
}

/// Engraves slots of a studied part.
///
/// # Errors
/// If the press fails.
pub(crate) fn pictures_of(
    studied: &Studied,
    legend: &Legend,
    slots: &[&Slot],
    printer: &mut Printer,
) -> Result<Excerpts, DeskError> {
    excerpts(&Wanted { studied, legend }, slots, printer)
}

/// Engraves the slots.
///
/// # Errors
/// If the press fails.
pub(super) fn excerpts(
    wanted: &Wanted,
    slots: &[&Slot],
    printer: &mut Printer,
) -> Result<Excerpts, DeskError> {
    let studied = wanted.studied;
    let marks = studied.marks(wanted.legend)?;
    let mut done = Excerpts::new();
    for slot in slots {
        let mut look = Look::of(Edition::Practice);
        look.staff_height_mm = slot.staff_mm;
        look.pencils = wanted.legend.pencils.clone();
        let piece = &studied.alone.piece;
        let printable = engrave::excerpt(piece, slot.from, slot.to, &look, Some(slot.room_mm));
        let (engraved, svgs) = printer.engrave(&printable.mei, printable.ask.clone())?;
        let here = |mark: &&PencilMark| {
            slot.marks.contains(&mark.sign)
                && mark.from.place.bar <= slot.to
                && mark.end().place.bar >= slot.from
        };
        let marks: Vec<PencilMark> = marks.iter().filter(here).cloned().collect();
        let picture = engrave::excerpt_svg(piece, &look, &printable, &engraved, &svgs, &marks);
        if !picture.svg.is_empty() {
            done.insert(
                slot.id.clone(),
                Excerpt {
                    svg: picture.svg,
                    width_mm: picture.width_mm,
                },
            );
        }
    }
    Ok(done)
}

//! How is a correction shown? The piece with its errata in it, a pencil sign at each place, and the old reading with its date at the foot.

use crate::print::{For, alone_for};
use crate::{DeskError, Opened};
use notation::{Anchor, BarIndex, Finding, Pencil, PencilMark, PencilMeaning, Piece, Place};
use practice::call::errata::{Corrected, Erratum, apply};
use practice::call::find::Page;
use survey::metre::BeatGrid;
use survey::{Context, Question};

/// The matter of a mark that shows an erratum.
pub const ERRATA: &str = "errata";

/// A part with its errata.
#[derive(Debug)]
pub struct WithErrata {
    /// The part alone, corrected. What was imported is not touched: this is another.
    pub opened: Opened,
    /// A pencil mark at each correction.
    pub marks: Vec<PencilMark>,
    /// Those that could not be applied, and why.
    pub findings: Vec<Finding>,
}

/// Puts errata into one part of a score.
///
/// # Errors
/// If there is no such part.
pub fn with_errata(whole: &Opened, part: Option<&str>, errata: &[Erratum]) -> Result<WithErrata, DeskError> {
    let alone = alone_for(whole, part, &For::Itself)?;
    let applied = on_part(&alone, |page| apply(page, errata))?;
    let Corrected {
        piece,
        marks,
        findings,
    } = applied;
    Ok(WithErrata {
        opened: Opened { piece, ..alone },
        marks,
        findings,
    })
}

/// Does something on the page of a part alone, by which the places of a list are found.
///
/// # Errors
/// If nothing is in the part.
pub(super) fn on_part<T>(alone: &Opened, work: impl FnOnce(&Page) -> T) -> Result<T, DeskError> {
    let none = || DeskError::NoParts {
        path: alone.path.clone(),
    };
    let survey =
        survey::survey(&alone.piece, 0, &[Question::Metre], &survey::Options::default()).ok_or_else(none)?;
    let grids: Vec<BeatGrid> = survey.metre.map(|metre| metre.grids).unwrap_or_default();
    let ctx = Context::new(&alone.piece, 0).ok_or_else(none)?;
    let phrases = survey::phrases::answer(&ctx, None);
    Ok(work(&Page {
        ctx: &ctx,
        grids: &grids,
        phrases: &phrases,
    }))
}

/// The lines at the foot of a printed part: each sign, with what it corrects, what was printed, and when it was announced.
#[must_use]
pub fn errata_lines(marks: &[PencilMark]) -> Vec<PencilMeaning> {
    let of_errata = marks.iter().filter(|mark| mark.matter == ERRATA);
    let mut lines: Vec<PencilMeaning> = of_errata
        .map(|mark| PencilMeaning {
            sign: Some(mark.sign),
            pencil: mark.pencil,
            words: said(&mark.reason),
        })
        .collect();
    if !lines.is_empty() {
        let heading = PencilMeaning {
            sign: None,
            pencil: Pencil::Graphite,
            words: "Corrected by the call".to_owned(),
        };
        lines.insert(0, heading);
    }
    lines
}

/// `of 2026-12-01: beat 1 of 21: mf; printed: f — As in the score`.
fn said(reason: &str) -> String {
    let words = reason.trim_start_matches("Erratum").trim_end_matches('.');
    words
        .trim_start_matches(':')
        .trim()
        .trim_start_matches("of ")
        .to_owned()
}

/// The marks of a part that stand in an excerpt of it from a bar on, at the places that its notes have there.
pub(super) fn in_excerpt(marks: &[PencilMark], excerpt: &Piece, from: BarIndex) -> Vec<PencilMark> {
    let events = excerpt.parts.first().map_or(&[][..], |part| &part.events);
    let there = |at: &Anchor| match at.element {
        Some(element) => events
            .iter()
            .find(|event| event.id == element)
            .map(|event| event.place),
        None => {
            let bar = BarIndex(at.place.bar.0.checked_sub(from.0)?);
            excerpt.bars.get(bar.get()).map(|_| Place { bar, ..at.place })
        }
    };
    let of_errata = marks.iter().filter(|mark| mark.matter == ERRATA);
    of_errata
        .filter_map(|mark| {
            let place = there(&mark.from)?;
            let mut mark = mark.clone();
            mark.from.place = place;
            Some(mark)
        })
        .collect()
}

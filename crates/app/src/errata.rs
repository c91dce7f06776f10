//! What do calls correct in a piece? The errata of every call that is not over yet, put into the part and told with their dates.

use crate::error::AppError;
use crate::state::App;
use crate::today::open_nothing;
use crate::{days, pieces};
use desk::{Opened, WithErrata};
use practice::call::errata::Erratum;
use store::{CallRow, PieceRow};

/// What a call corrects in a piece.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct OfCall {
    /// The call.
    pub call: CallRow,
    /// What it calls the piece.
    pub file: String,
}

/// A part with what was corrected in it.
#[derive(Debug)]
pub(crate) struct Corrected {
    /// The part alone, corrected.
    pub opened: Opened,
    /// A mark at each place.
    pub marks: Vec<notation::PencilMark>,
    /// What could not be applied, and why.
    pub findings: Vec<notation::Finding>,
}

/// The calls that correct something in a piece; those whose day is past no more.
///
/// # Errors
/// If what is kept can't be reached.
pub(crate) fn of(app: &App, piece: &PieceRow) -> Result<Vec<OfCall>, AppError> {
    let today = app.today();
    let mut all = Vec::new();
    for call in app.store.calls()? {
        if call
            .date
            .as_deref()
            .and_then(days::read)
            .is_some_and(|day| day < today)
        {
            continue;
        }
        let named = app.store.call_pieces(call.id)?;
        let files = named
            .into_iter()
            .filter(|(_, id)| *id == piece.id)
            .map(|(file, _)| file);
        for file in files {
            let of = OfCall {
                call: call.clone(),
                file,
            };
            if !of.errata().is_empty() {
                all.push(of);
            }
        }
    }
    Ok(all)
}

impl OfCall {
    /// What it corrects.
    pub fn errata(&self) -> Vec<Erratum> {
        let call = desk::open_call_text(&self.call.text, &mut open_nothing);
        let pieces = call.map_or_else(|_| Vec::new(), |opened| opened.call.pieces);
        pieces
            .into_iter()
            .filter(|piece| piece.file == self.file)
            .flat_map(|piece| piece.errata)
            .collect()
    }
}

/// The piece as it is written with all of them; `None` where nothing is corrected.
///
/// # Errors
/// If there is no such part.
pub(crate) fn corrected(
    opened: &Opened,
    part: Option<&str>,
    calls: &[OfCall],
) -> Result<Option<Corrected>, AppError> {
    let mut errata: Vec<Erratum> = Vec::new();
    for erratum in calls.iter().flat_map(OfCall::errata) {
        // Two calls for the same day send out the same list.
        if !errata.contains(&erratum) {
            errata.push(erratum);
        }
    }
    if errata.is_empty() {
        return Ok(None);
    }
    let WithErrata {
        opened,
        marks,
        findings,
    } = desk::with_errata(opened, part, &errata)?;
    Ok(Some(Corrected {
        opened,
        marks,
        findings,
    }))
}

/// The piece as it is played for a call or without: opened, and corrected where something is.
///
/// # Errors
/// If its file can't be read.
pub(crate) fn open_corrected(app: &App, row: &PieceRow) -> Result<(Opened, Option<String>), AppError> {
    let opened = pieces::open(app, row)?;
    match corrected(&opened, row.part.as_deref(), &of(app, row)?)? {
        // The part is alone then.
        Some(corrected) => Ok((corrected.opened, None)),
        None => Ok((opened, row.part.clone())),
    }
}

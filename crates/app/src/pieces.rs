//! Which piece is meant, and what is in its file? From what is kept to what the desk opens.

use crate::error::AppError;
use crate::state::App;
use desk::Opened;
use std::path::Path;
use store::{PieceId, PieceRow};

/// A piece by the number in an address.
///
/// # Errors
/// If there is no such piece.
pub(crate) fn row(app: &App, id: i64) -> Result<PieceRow, AppError> {
    Ok(app.store.piece(PieceId(id))?)
}

/// The piece as it is written.
///
/// # Errors
/// If its file is missing or is no notation we know.
pub(crate) fn open(app: &App, row: &PieceRow) -> Result<Opened, AppError> {
    let bytes = app.store.piece_file(row.id)?;
    Ok(desk::open_bytes_tune(
        Path::new(&row.file_name),
        &bytes,
        row.tune.as_deref(),
    )?)
}

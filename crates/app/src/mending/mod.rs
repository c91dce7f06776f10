//! What was read from paper is held against the page and put right: scan and engraving one under the other, doubtful places first.

mod act;
mod drawn;
mod said;
#[cfg(test)]
mod tests;
mod view;

use crate::error::AppError;
use crate::state::App;
use axum::Router;
use axum::routing::{get, post};
use desk::{PutRight, Reading};
use pageread::Edit;
use std::sync::Arc;
use store::{PaperRow, PieceId, PieceRow};

/// All addresses of pages that were read.
pub(crate) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/paper/{id}", get(view::screen))
        .route("/paper/{id}/reading", get(act::reading))
        .route("/paper/{id}/line/{number}", get(drawn::line))
        .route("/paper/{id}/page/{number}", get(drawn::page))
        .route("/paper/{id}/bars/{first}/{last}", get(drawn::bars))
        .route("/paper/{id}/edits", post(act::put_right))
        .route("/paper/{id}/undo", post(act::undo))
        .route("/paper/{id}/test-page", post(act::test_page))
}

/// The reading of a piece as it stands.
struct Stand {
    row: PieceRow,
    paper: PaperRow,
    reading: Reading,
    /// Gestures that count, each with its edits.
    gestures: Vec<Vec<Edit>>,
    now: PutRight,
}

impl Stand {
    /// All edits in order.
    fn edits(&self) -> Vec<Edit> {
        self.gestures.concat()
    }
}

/// Looks up what is kept of a piece's pages.
fn stand(app: &App, id: i64) -> Result<Stand, AppError> {
    let row = crate::pieces::row(app, id)?;
    let paper = app.store.paper(PieceId(id))?.ok_or_else(not_from_paper)?;
    let reading = Reading::open(&paper.document).ok_or_else(|| {
        AppError::Asked(
            "what was read from this page is kept in a form that this program does not know — bring the page into the folder again"
                .to_owned(),
        )
    })?;
    let mut gestures = Vec::new();
    for kept in app.store.paper_edits(row.id)? {
        if kept.undone.is_none() {
            gestures.push(serde_json::from_str::<Vec<Edit>>(&kept.edits).unwrap_or_default());
        }
    }
    let now = reading.with(&gestures.concat());
    Ok(Stand {
        row,
        paper,
        reading,
        gestures,
        now,
    })
}

fn not_from_paper() -> AppError {
    AppError::Asked("this piece did not come from paper — there is no page to hold it against".to_owned())
}

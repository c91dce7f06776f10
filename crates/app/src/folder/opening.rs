//! How does each piece begin? Its opening bars, engraved once for each file; and the folder made ready behind what is looked at.

use crate::error::AppError;
use crate::folder::summary;
use crate::prepared::{Choices, prepared};
use crate::state::App;
use crate::workshop::Urgency;
use crate::{drawing, pieces};
use axum::extract::{Path, State};
use axum::response::Html;
use desk::Printer;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use store::{PieceRow, PieceSearch};

/// Openings that were engraved, by file, tune and part.
#[derive(Default)]
pub(crate) struct Openings {
    made: Mutex<BTreeMap<String, Arc<str>>>,
}

/// Openings kept.
const MOST: usize = 2_000;
/// The width of a line, in millimetres, and the height of its staff.
const WIDTH_MM: f64 = 105.0;
const STAFF_MM: f64 = 5.0;
/// Parts made ready before anybody asks.
const READY: usize = 24;

impl Openings {
    /// The opening of a piece, if it was engraved already.
    pub fn known(&self, row: &PieceRow) -> Option<Arc<str>> {
        self.get(&key(row))
    }

    fn get(&self, key: &str) -> Option<Arc<str>> {
        self.made
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .get(key)
            .cloned()
    }

    fn put(&self, key: String, svg: &str) {
        let mut made = self.made.lock().unwrap_or_else(PoisonError::into_inner);
        if made.len() >= MOST {
            made.clear();
        }
        made.insert(key, svg.into());
    }
}

/// The opening bars of a piece.
pub(crate) async fn opening(
    State(app): State<Arc<App>>,
    Path(id): Path<i64>,
) -> Result<Html<String>, AppError> {
    let row = app.aside(move |app| pieces::row(app, id)).await?;
    if let Some(found) = app.openings.get(&key(&row)) {
        return Ok(Html(found.to_string()));
    }
    let made = app
        .on_press(Urgency::Awaited, move |app, printer| make(app, &row, printer))
        .await?;
    Ok(Html(made.to_string()))
}

fn make(app: &App, row: &PieceRow, printer: &mut Printer) -> Result<Arc<str>, AppError> {
    if let Some(found) = app.openings.get(&key(row)) {
        return Ok(found);
    }
    let opened = pieces::open(app, row)?;
    let picture = desk::opening(&opened, row.part.as_deref(), WIDTH_MM, STAFF_MM, printer)?;
    let svg = drawing::for_page(&picture.svg, &format!("o{}-", row.id), "").unwrap_or_default();
    app.openings.put(key(row), &svg);
    Ok(svg.into())
}

fn key(row: &PieceRow) -> String {
    format!("{} {:?} {:?}", row.file, row.tune, row.part)
}

/// Makes the folder ready while nobody waits: summaries, openings, then the parts themselves.
pub(crate) async fn begin(app: Arc<App>) {
    let search = PieceSearch::default();
    let Ok(rows) = app.aside(move |app| Ok(app.store.pieces(&search)?)).await else {
        return;
    };
    for row in rows.clone() {
        // A file that can't be read is said so where it is shown.
        let _ = app.aside(move |app| summary::of(app, &row).map(|_| ())).await;
    }
    for row in rows.clone() {
        let _ = app
            .on_press(Urgency::ForLater, move |app, printer| {
                make(app, &row, printer).map(|_| ())
            })
            .await;
    }
    for row in rows.iter().take(READY) {
        let _ = prepared(&app, row.id.0, Choices::default(), Urgency::ForLater).await;
    }
}

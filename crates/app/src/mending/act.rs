//! What does she put right? Each gesture is kept at once, the piece is made again of it, and her marks go along with their notes.

use super::said::{Said, said};
use super::{Stand, stand};
use crate::error::AppError;
use crate::folder::{piece_bars, summary_of};
use crate::state::App;
use axum::Json;
use axum::extract::{Path, State};
use pageread::Edit;
use serde::Deserialize;
use std::sync::Arc;
use store::{NewFile, PieceId, Summary};

/// So many edits are one gesture at most.
const MOST_AT_ONCE: usize = 200;

/// One gesture.
#[derive(Debug, Deserialize)]
pub(crate) struct Gesture {
    edits: Vec<Edit>,
}

/// The reading as it stands.
pub(super) async fn reading(
    State(app): State<Arc<App>>,
    Path(id): Path<i64>,
) -> Result<Json<Said>, AppError> {
    app.aside(move |app| Ok(Json(said(&stand(app, id)?)))).await
}

/// Keeps a gesture and makes the piece again.
pub(super) async fn put_right(
    State(app): State<Arc<App>>,
    Path(id): Path<i64>,
    Json(gesture): Json<Gesture>,
) -> Result<Json<Said>, AppError> {
    app.aside(move |app| kept(app, id, &gesture.edits).map(Json))
        .await
}

/// Takes the last gesture back.
pub(super) async fn undo(State(app): State<Arc<App>>, Path(id): Path<i64>) -> Result<Json<Said>, AppError> {
    app.aside(move |app| undone(app, id).map(Json)).await
}

/// Keeps edits as one gesture, with those that go along.
///
/// # Errors
/// If one of them is about nothing that is there.
pub(super) fn kept(app: &App, id: i64, edits: &[Edit]) -> Result<Said, AppError> {
    let before = stand(app, id)?;
    let edits: Vec<Edit> = edits
        .iter()
        .flat_map(|edit| before.reading.along(&before.now, edit))
        .collect();
    if edits.is_empty() || edits.len() > MOST_AT_ONCE {
        return Err(AppError::Asked(
            "nothing is put right by that — choose a sign first".to_owned(),
        ));
    }
    let mut all = before.edits();
    let known = all.len();
    all.extend_from_slice(&edits);
    let now = before.reading.with(&all);
    if now.mended.idle.iter().any(|at| *at >= known) {
        return Err(AppError::Asked(
            "that sign is not there any more — load the page again".to_owned(),
        ));
    }
    let text = serde_json::to_string(&edits).map_err(|error| AppError::Asked(error.to_string()))?;
    app.store.add_paper_edit(PieceId(id), &text)?;
    after(app, &before)
}

/// Takes the last gesture that counts back.
///
/// # Errors
/// If the piece was not read from paper.
pub(super) fn undone(app: &App, id: i64) -> Result<Said, AppError> {
    let before = stand(app, id)?;
    app.store.undo_paper_edit(PieceId(id))?;
    after(app, &before)
}

/// Whether the page is one of her own test pages.
#[derive(Debug, Deserialize)]
pub(crate) struct TestPage {
    keep: bool,
}

/// Keeps a page as one of her own test pages, or no longer.
pub(super) async fn test_page(
    State(app): State<Arc<App>>,
    Path(id): Path<i64>,
    Json(asked): Json<TestPage>,
) -> Result<Json<Said>, AppError> {
    app.aside(move |app| {
        stand(app, id)?;
        app.store.set_test_page(PieceId(id), asked.keep)?;
        Ok(Json(said(&stand(app, id)?)))
    })
    .await
}

/// Makes the piece of what stands now, and says what is different in its survey.
fn after(app: &App, before: &Stand) -> Result<Said, AppError> {
    let id = before.row.id;
    let earlier = summary_of(app, &before.row)?;
    let now = stand(app, id.0)?;
    let (text, _) = desk::musicxml(&now.now.read.piece);
    let mut out = said(&now);
    if app.store.piece_file(id)? != text.as_bytes() {
        let path = std::path::PathBuf::from(&now.row.file_name);
        let new = desk::open_bytes_tune(&path, text.as_bytes(), None)?;
        let old = crate::pieces::open(app, &now.row)?;
        let file = NewFile {
            file_name: now.row.file_name.clone(),
            bytes: text.into_bytes(),
        };
        // The folder calls it by the title on its page, unless she named it herself.
        let title = |stand: &Stand| stand.now.read.piece.credits.title.clone();
        let (was, is) = (title(before), title(&now));
        let stem = std::path::Path::new(&before.paper.file_name).file_stem();
        let by_file = stem.is_some_and(|stem| stem.to_string_lossy() == before.row.title);
        if was.map_or(by_file, |was| was == before.row.title)
            && let Some(is) = is.filter(|is| *is != before.row.title)
        {
            // Before the file: mendings that follow on this one are one with it.
            app.store.set_title(id, &is)?;
            out.changed.push(format!("The piece is called “{is}” now."));
        }
        let replaced = app.store.mend_file(
            id,
            &file,
            &piece_bars(&old, &now.row)?,
            &piece_bars(&new, &now.row)?,
        )?;
        let lost: Vec<&str> = replaced.unplaced().map(|row| row.old_bar()).collect();
        if !lost.is_empty() {
            out.changed.push(format!(
                "No place was found for what the teacher wrote at bar {}: it is kept, and listed in the margin.",
                lost.join(", ")
            ));
        }
        let later = summary_of(app, &replaced.piece)?;
        out.changed.extend(different(&earlier, &later));
    }
    let (was, is) = (before.now.read.bars_off, now.now.read.bars_off);
    if was != is {
        out.changed.push(match is {
            0 => "All bars add up now.".to_owned(),
            1 => "1 bar does not add up now.".to_owned(),
            many => format!("{many} bars do not add up now."),
        });
    }
    Ok(out)
}

/// What the survey says differently.
fn different(before: &Summary, now: &Summary) -> Vec<String> {
    let mut out = Vec::new();
    if before.key_name != now.key_name {
        let key = now.key_name.as_deref().unwrap_or("not to be told");
        out.push(format!("Key now {key}."));
    }
    if before.metres != now.metres {
        out.push(format!("Metre now {}.", now.metres.join(", ")));
    }
    if (&before.lowest, &before.highest) != (&now.lowest, &now.highest)
        && let (Some(lowest), Some(highest)) = (&now.lowest, &now.highest)
    {
        out.push(format!("Range now {lowest} to {highest}."));
    }
    if before.bars != now.bars
        && let Some(bars) = now.bars
    {
        out.push(format!("{bars} bars now."));
    }
    out
}

//! What is changed in the folder? A file comes in, a purpose is written, a piece is put away.

use crate::error::AppError;
use crate::folder::summary;
use crate::pieces;
use crate::screen::capital;
use crate::state::App;
use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use desk::Opened;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use store::{Bars, NewFile, NewPiece, PieceId, PieceRow};

/// The most that a file may hold, in bytes: as at the desk.
#[expect(
    clippy::cast_possible_truncation,
    reason = "64 MiB fit into every usize that is served from"
)]
pub(crate) const MOST_BYTES: usize = desk::MOST_BYTES as usize;
/// The longest name of a file, and the longest purpose, in letters.
const LONGEST_NAME: usize = 200;
const LONGEST_PURPOSE: usize = 4_000;

/// A file's name.
#[derive(Debug, Deserialize)]
pub(crate) struct Named {
    name: String,
}

/// What came of a file.
#[derive(Debug, Serialize)]
pub(crate) struct Added {
    id: i64,
    title: String,
    /// What the reader found, and whether it was there already; may be empty.
    said: String,
}

/// Takes a file into the folder.
pub(crate) async fn add(
    State(app): State<Arc<App>>,
    Query(named): Query<Named>,
    bytes: Bytes,
) -> Result<Json<Added>, AppError> {
    let app_then = Arc::clone(&app);
    let added = app
        .aside(move |app| keep(app, &file_name(&named.name), &bytes))
        .await?;
    // Its opening is engraved when it is looked at; the part itself while nobody waits.
    let id = added.id;
    tokio::spawn(async move {
        let choices = crate::prepared::Choices::default();
        let _ = crate::prepared::prepared(&app_then, id, choices, crate::workshop::Urgency::ForLater).await;
    });
    Ok(Json(added))
}

/// The name alone, without folders or signs that no file's name holds.
fn file_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain: String = last
        .chars()
        .filter(|c| !c.is_control())
        .take(LONGEST_NAME)
        .collect();
    if plain.trim().is_empty() {
        "piece".to_owned()
    } else {
        plain
    }
}

fn keep(app: &App, name: &str, bytes: &[u8]) -> Result<Added, AppError> {
    if let Some(known) = app.store.pieces_with_file(bytes)?.into_iter().next() {
        if known.put_away.is_some() {
            app.store.put_piece_away(known.id, false)?;
        }
        return Ok(Added {
            id: known.id.0,
            title: known.title,
            said: "It is in the folder already.".to_owned(),
        });
    }
    // Only what can be read gets in.
    let opened = desk::open_bytes(std::path::Path::new(name), bytes)?;
    let stem = std::path::Path::new(name)
        .file_stem()
        .map(|stem| stem.to_string_lossy().into_owned());
    let title = opened.piece.credits.name().or(stem).unwrap_or_default();
    let row = app.store.add_piece(&NewPiece {
        title: title.clone(),
        file_name: name.to_owned(),
        bytes: bytes.to_vec(),
        tune: opened.tune.as_ref().map(|tune| tune.number.clone()),
        ..NewPiece::default()
    })?;
    summary::of(app, &row)?;
    let said: Vec<String> = opened
        .findings
        .iter()
        .take(3)
        .map(|finding| capital(&finding.to_string()))
        .collect();
    Ok(Added {
        id: row.id.0,
        title,
        said: said.join(". "),
    })
}

/// Takes a corrected file of a piece: her marks and choices go along with their notes, and what finds no place is said.
pub(crate) async fn correct(
    State(app): State<Arc<App>>,
    Path(id): Path<i64>,
    Query(named): Query<Named>,
    bytes: Bytes,
) -> Result<Json<Added>, AppError> {
    app.aside(move |app| {
        let row = pieces::row(app, id)?;
        let name = file_name(&named.name);
        let new = desk::open_bytes_tune(std::path::Path::new(&name), &bytes, row.tune.as_deref())?;
        let (old, new) = (bars(&pieces::open(app, &row)?, &row)?, bars(&new, &row)?);
        let file = NewFile {
            file_name: name,
            bytes: bytes.to_vec(),
        };
        let replaced = app.store.replace_file(row.id, &file, &old, &new)?;
        summary::of(app, &replaced.piece)?;
        let lost: Vec<String> = replaced
            .unplaced()
            .map(|row| format!("bar {}", row.old_bar()))
            .collect();
        let went = replaced.rows.len() - lost.len();
        let mut said = format!(
            "The corrected file is in its place; {went} of the teacher’s marks and choices went along."
        );
        if !lost.is_empty() {
            said.push_str(&format!(
                " No place was found for what stood at {}: it is kept, and listed in the margin.",
                lost.join(", ")
            ));
        }
        Ok(Json(Added {
            id,
            title: replaced.piece.title,
            said,
        }))
    })
    .await
}

/// The bars of the part that her marks hold on to.
fn bars(opened: &Opened, row: &PieceRow) -> Result<Bars, AppError> {
    let part = desk::choose_part(opened, row.part.as_deref())?.index;
    let alone = desk::part_of(&opened.piece, part);
    Ok(alone.map_or_else(|| Bars::of(&opened.piece, part), |alone| Bars::of(&alone, 0)))
}

/// What a piece is for, in the teacher's words.
#[derive(Debug, Deserialize)]
pub(crate) struct Purpose {
    words: String,
}

/// Writes a purpose.
pub(crate) async fn purpose(
    State(app): State<Arc<App>>,
    Path(id): Path<i64>,
    Json(purpose): Json<Purpose>,
) -> Result<Json<String>, AppError> {
    if purpose.words.chars().count() > LONGEST_PURPOSE {
        return Err(AppError::Asked(
            "a purpose of more than 4000 letters is not kept — say it shorter".to_owned(),
        ));
    }
    let row = app
        .aside(move |app| Ok(app.store.set_purpose(PieceId(id), purpose.words.trim())?))
        .await?;
    Ok(Json(row.purpose))
}

/// Whether a piece is put away.
#[derive(Debug, Deserialize)]
pub(crate) struct Away {
    away: bool,
}

/// Puts a piece away, or brings it out again.
pub(crate) async fn away(
    State(app): State<Arc<App>>,
    Path(id): Path<i64>,
    Json(away): Json<Away>,
) -> Result<Json<bool>, AppError> {
    app.aside(move |app| {
        pieces::row(app, id)?;
        app.store.put_piece_away(PieceId(id), away.away)?;
        Ok(Json(away.away))
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::file_name;

    #[test]
    fn a_name_is_a_name_alone() {
        assert_eq!(file_name("../../etc/x.abc"), "x.abc");
        assert_eq!(file_name("C:\\a\\b.mid"), "b.mid");
        assert_eq!(file_name("a\u{0}\nb"), "ab");
        assert_eq!(file_name(""), "piece");
        assert_eq!(file_name(&"x".repeat(900)).len(), 200);
    }
}

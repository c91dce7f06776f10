//! What is changed in the folder? A file comes in, a purpose is written, a piece is put away.

use crate::error::AppError;
use crate::folder::{pages as printed, summary};
use crate::pieces;
use crate::screen::capital;
use crate::state::App;
use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use desk::{Book, Opened, TuneOffered};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::sync::Arc;
use store::{Bars, NewFile, NewPiece, PieceId, PieceRow};

/// The most that a file may hold, in bytes: as at the desk.
#[expect(
    clippy::cast_possible_truncation,
    reason = "64 MiB fit into every usize that is served from"
)]
pub(crate) const MOST_BYTES: usize = desk::MOST_BYTES as usize;
/// So many tunes of a book are taken at once.
const MOST_AT_ONCE: usize = 500;
/// The longest name of a file, and the longest purpose, in letters.
const LONGEST_NAME: usize = 200;
const LONGEST_PURPOSE: usize = 4_000;

/// A file's name.
#[derive(Debug, Deserialize)]
pub(crate) struct Named {
    name: String,
}

/// What comes in: its name, and of a book the tunes that are taken.
#[derive(Debug, Deserialize)]
pub(crate) struct Coming {
    name: String,
    /// `all`, or the names of tunes one to a line; nothing asks what there is.
    tunes: Option<String>,
}

/// What came of a file.
#[derive(Clone, Debug, Default, Serialize)]
pub(crate) struct Added {
    pub(super) id: i64,
    title: String,
    /// What the reader found, and whether it was there already; may be empty.
    pub(super) said: String,
    /// Whether it was read from paper, and can be held against its page.
    pub(super) paper: bool,
}

/// What came of a file that is dropped in: the first piece, and all of them; or, of a book, what can be taken.
#[derive(Debug, Default, Serialize)]
pub(crate) struct Came {
    #[serde(flatten)]
    first: Added,
    pieces: Vec<Added>,
    /// Nothing is kept yet where there are any.
    tunes: Vec<Offered>,
}

impl Added {
    /// A page that is there already.
    pub(super) fn known(id: i64, title: String) -> Self {
        Self {
            id,
            title,
            said: "It is in the folder already.".to_owned(),
            paper: true,
        }
    }
}

impl Came {
    pub(super) fn added(pieces: Vec<Added>) -> Self {
        Self {
            first: pieces.first().cloned().unwrap_or_default(),
            pieces,
            tunes: Vec::new(),
        }
    }
}

/// A tune to be taken.
#[derive(Debug, Serialize)]
pub(crate) struct Offered {
    name: String,
    title: String,
    facts: String,
}

/// Takes a file into the folder; of a book it says first which tunes there are.
pub(crate) async fn add(
    State(app): State<Arc<App>>,
    Query(coming): Query<Coming>,
    bytes: Bytes,
) -> Result<Json<Came>, AppError> {
    let app_then = Arc::clone(&app);
    let name = file_name(&coming.name);
    let came = if desk::are_pages(&bytes) {
        printed::read(&app, name, bytes).await?
    } else {
        app.aside(move |app| take(app, &name, &bytes, coming.tunes.as_deref()))
            .await?
    };
    // Its opening is engraved when it is looked at; the part itself while nobody waits.
    if let [one] = came.pieces.as_slice() {
        let id = one.id;
        tokio::spawn(async move {
            let choices = crate::prepared::Choices::default();
            let _ =
                crate::prepared::prepared(&app_then, id, choices, crate::workshop::Urgency::ForLater).await;
        });
    }
    Ok(Json(came))
}

fn take(app: &App, name: &str, bytes: &[u8], wanted: Option<&str>) -> Result<Came, AppError> {
    let path = std::path::Path::new(name);
    let Some(book) = Book::open(path, bytes)? else {
        let opened = || Ok(desk::open_bytes(path, bytes)?);
        return Ok(Came::added(vec![keep(app, name, bytes, None, opened)?]));
    };
    let Some(wanted) = wanted else {
        let offered = |tune: TuneOffered| Offered {
            name: tune.name,
            title: tune.title,
            facts: tune.facts,
        };
        return Ok(Came {
            tunes: book.offered().into_iter().map(offered).collect(),
            ..Came::default()
        });
    };
    let all = wanted.trim() == "all";
    let asked: BTreeSet<&str> = wanted.lines().map(str::trim).collect();
    let tunes = book.names().iter().enumerate();
    let taken: Vec<(usize, &String)> = tunes
        .filter(|(_, name)| all || asked.contains(name.as_str()))
        .collect();
    if taken.is_empty() {
        return Err(AppError::Asked(
            "no tune of the book is ticked — tick those that you want".to_owned(),
        ));
    }
    if taken.len() > MOST_AT_ONCE {
        return Err(AppError::Asked(format!(
            "{} tunes are more than the folder takes at once — tick up to {MOST_AT_ONCE} that you want",
            taken.len()
        )));
    }
    let mut pieces = Vec::new();
    for (index, tune) in taken {
        // One tune that can't be read keeps no other away.
        let kept = keep(app, name, bytes, Some(tune), || Ok(book.read(index)?));
        let kept = kept.or_else(|error| match error {
            AppError::Desk(error) => Ok(Added {
                id: 0,
                title: book.title(index),
                said: capital(&error.to_string()),
                paper: false,
            }),
            other => Err(other),
        });
        pieces.push(kept?);
    }
    Ok(Came::added(pieces))
}

/// The name alone, without folders or signs that no file's name holds.
fn file_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain: String = last
        .chars()
        .filter(|c| !c.is_control() && !notation::steers(*c))
        .take(LONGEST_NAME)
        .collect();
    if plain.trim().is_empty() {
        "piece".to_owned()
    } else {
        plain
    }
}

pub(super) fn keep(
    app: &App,
    name: &str,
    bytes: &[u8],
    tune: Option<&str>,
    open: impl FnOnce() -> Result<Opened, AppError>,
) -> Result<Added, AppError> {
    let known = app.store.pieces_with_file(bytes)?.into_iter();
    let same = |known: &PieceRow| tune.is_none_or(|tune| known.tune.as_deref() == Some(tune));
    if let Some(known) = known.into_iter().find(same) {
        if known.put_away.is_some() {
            app.store.put_piece_away(known.id, false)?;
        }
        return Ok(Added {
            id: known.id.0,
            title: known.title,
            said: "It is in the folder already.".to_owned(),
            paper: false,
        });
    }
    // Only what can be read gets in.
    let opened = open()?;
    let stem = std::path::Path::new(name)
        .file_stem()
        .map(|stem| stem.to_string_lossy().into_owned());
    let number = tune.map(|tune| format!("{}, {tune}", stem.as_deref().unwrap_or("tune")));
    let title = opened
        .piece
        .credits
        .name()
        .or(number)
        .or(stem)
        .unwrap_or_default();
    let row = app.store.add_piece(&NewPiece {
        title: title.clone(),
        file_name: name.to_owned(),
        bytes: bytes.to_vec(),
        tune: tune
            .map(str::to_owned)
            .or_else(|| opened.tune.as_ref().map(|tune| tune.number.clone())),
        ..NewPiece::default()
    })?;
    if tune.is_none() {
        // Of a book's tunes the folder finds out when it shows them.
        summary::of(app, &row)?;
    }
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
        paper: false,
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
            paper: false,
        }))
    })
    .await
}

/// The bars of the part that her marks hold on to.
///
/// # Errors
/// If there is no such part.
pub(crate) fn bars(opened: &Opened, row: &PieceRow) -> Result<Bars, AppError> {
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
        assert_eq!(file_name("a\u{0}\nb\u{202e}gpj.abc"), "abgpj.abc");
        assert_eq!(file_name(""), "piece");
        assert_eq!(file_name(&"x".repeat(900)).len(), 200);
    }
}

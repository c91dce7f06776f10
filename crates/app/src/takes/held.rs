//! What was heard of a take? Heard once, told and pencilled on the part, and held while somebody looks at it.

use crate::error::AppError;
use crate::hers::Hers;
use crate::pieces;
use crate::prepared::{Choices, Prepared};
use crate::recent::Recent;
use crate::state::App;
use crate::workshop::Urgency;
use desk::{Asked, Opened, Printer, TakeAsked, Taken};
use std::ops::Deref;
use std::sync::Arc;
use store::{PieceRow, TakeId, TakeRow};

/// A take, heard and pencilled on the part.
pub(crate) struct Shown {
    /// What was heard.
    pub taken: Taken,
    /// The clean part with what was heard on it.
    pub part: Prepared,
}

impl Deref for Shown {
    type Target = Prepared;

    fn deref(&self) -> &Prepared {
        &self.part
    }
}

/// A take, and its piece as it was heard against.
pub(crate) type Key = (TakeId, PieceRow);

/// The last takes that were looked at, each as of one file of its piece: one, and those that it is compared with.
pub(crate) type Held = Recent<Key, Shown, 6>;

/// A take and its piece.
///
/// # Errors
/// If one of them is gone.
pub(super) fn rows(app: &App, id: i64) -> Result<(TakeRow, PieceRow), AppError> {
    let take = app.store.take(TakeId(id))?;
    let piece = pieces::row(app, take.piece.0)?;
    Ok((take, piece))
}

/// How takes of a piece are heard.
pub(super) fn asked(piece: &PieceRow) -> TakeAsked {
    TakeAsked {
        asked: Asked {
            part: piece.part.clone(),
            ..Asked::default()
        },
        ..TakeAsked::default()
    }
}

/// Hears a sound against its piece.
///
/// # Errors
/// If the sound is none that can be read, or the piece can't be.
pub(super) fn hear(app: &App, piece: &PieceRow, file_name: &str, bytes: &[u8]) -> Result<Taken, AppError> {
    let opened = pieces::open(app, piece)?;
    Ok(desk::take_bytes(&opened, file_name, bytes, &asked(piece))?)
}

/// A take as it is shown, from what is held or heard now.
///
/// # Errors
/// If it or its piece is gone, or the press fails.
pub(super) async fn shown(app: &Arc<App>, id: i64) -> Result<(Arc<Shown>, TakeRow), AppError> {
    let (take, piece) = app.aside(move |app| rows(app, id)).await?;
    let key = (take.id, piece);
    if let Some(found) = app.takes.get(&key) {
        return Ok((found, take));
    }
    let row = take.clone();
    let piece = key.1.clone();
    let taken = app
        .aside(move |app| {
            let bytes = app.store.file(&row.file)?;
            hear(app, &piece, &row.file_name, &bytes)
        })
        .await?;
    let shown = pencilled(app, key, taken).await?;
    Ok((shown, take))
}

/// Pencils what was heard on the part, and holds it.
async fn pencilled(app: &Arc<App>, key: Key, taken: Taken) -> Result<Arc<Shown>, AppError> {
    app.on_press(Urgency::Awaited, move |app, printer| {
        if let Some(found) = app.takes.get(&key) {
            return Ok(found);
        }
        let shown = Arc::new(drawn(app, &key.1, taken, printer)?);
        app.takes.put(key, Arc::clone(&shown));
        Ok(shown)
    })
    .await
}

/// The same for a take that was just heard.
///
/// # Errors
/// If the press fails.
pub(super) async fn hold(app: &Arc<App>, id: TakeId, piece: PieceRow, taken: Taken) -> Result<(), AppError> {
    pencilled(app, (id, piece), taken).await.map(drop)
}

fn drawn(app: &App, piece: &PieceRow, taken: Taken, printer: &mut Printer) -> Result<Shown, AppError> {
    let opened = pieces::open(app, piece)?;
    let asked = asked(piece);
    let copy = desk::copy(&opened, &taken.copy_asked(&asked), printer)?;
    let alone = Opened {
        path: opened.path.clone(),
        tune: opened.tune.clone(),
        piece: copy.piece.clone(),
        findings: Vec::new(),
    };
    let sheet = desk::survey_sheet(&alone, &copy.shown);
    let part = Prepared {
        row: piece.clone(),
        choices: Choices::default(),
        asked: asked.asked,
        opened,
        copy,
        sheet,
        hers: Hers::default(),
        ours: 0,
        calls: Vec::new(),
    };
    Ok(Shown { taken, part })
}

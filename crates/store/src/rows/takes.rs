//! Which recordings are there? Each with its sound as it came and what was heard; deleting one deletes its sound.

use super::pieces::bare_name;
use super::{Kept, PieceRow, list, one, remove};
use crate::ids::{PieceId, PlayerId, TakeId};
use crate::store::is_json;
use crate::{Store, StoreError, now};
use rusqlite::{Row, params};
use serde::{Deserialize, Serialize};

/// A recording of a player.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct TakeRow {
    /// Its number.
    pub id: TakeId,
    /// Of which piece.
    pub piece: PieceId,
    /// Who plays.
    pub player: Option<PlayerId>,
    /// Which of the piece's files it was.
    pub version: i64,
    /// What the sound file was called.
    pub file_name: String,
    /// The sound, for [`Store::file`].
    pub file: String,
    /// How long it is, in seconds.
    pub seconds: Option<f64>,
    /// What is to be remembered.
    pub note: String,
    /// What was heard, as JSON text; `{}` until somebody listened.
    pub document: String,
    /// When it was recorded, or came.
    pub recorded: String,
}

/// A recording to be kept.
#[derive(Clone, PartialEq, Debug)]
pub struct NewTake {
    /// Of which piece.
    pub piece: PieceId,
    /// Who plays.
    pub player: Option<PlayerId>,
    /// What the sound file is called.
    pub file_name: String,
    /// The sound, as it came.
    pub bytes: Vec<u8>,
    /// How long it is, in seconds.
    pub seconds: Option<f64>,
}

impl Kept for TakeRow {
    const WHAT: &'static str = "take";
    const TABLE: &'static str = "take";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            piece: row.get("piece")?,
            player: row.get("player")?,
            version: row.get("version")?,
            file_name: row.get("file_name")?,
            file: row.get("file")?,
            seconds: row.get("seconds")?,
            note: row.get("note")?,
            document: row.get("document")?,
            recorded: row.get("recorded")?,
        })
    }
}

impl Store {
    /// Keeps a take.
    ///
    /// # Errors
    /// If it can't be written, or piece or player are gone.
    pub fn add_take(&self, new: &NewTake) -> Result<TakeRow, StoreError> {
        self.write_with_file(&new.bytes, |transaction, hash| {
            let piece: PieceRow = one(transaction, new.piece.0)?;
            transaction.execute(
                "INSERT INTO take (piece, player, version, file_name, file, seconds, recorded)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                params![
                    new.piece,
                    new.player,
                    piece.version,
                    bare_name(&new.file_name),
                    hash,
                    new.seconds,
                    now()
                ],
            )?;
            one(transaction, transaction.last_insert_rowid())
        })
    }

    /// A take.
    ///
    /// # Errors
    /// If it is gone.
    pub fn take(&self, id: TakeId) -> Result<TakeRow, StoreError> {
        self.read(|connection| one(connection, id.0))
    }

    /// Takes, the newest first: of a piece, by a player, or both.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn takes(
        &self,
        piece: Option<PieceId>,
        player: Option<PlayerId>,
    ) -> Result<Vec<TakeRow>, StoreError> {
        self.read(|connection| {
            list(
                connection,
                "WHERE (?1 IS NULL OR piece = ?1) AND (?2 IS NULL OR player = ?2) ORDER BY id DESC",
                params![piece, player],
            )
        })
    }

    /// Writes down what was heard in a take, and how long it is.
    ///
    /// # Errors
    /// If it is gone, or the document is no JSON.
    pub fn set_heard(&self, id: TakeId, seconds: Option<f64>, document: &str) -> Result<TakeRow, StoreError> {
        is_json(document)?;
        self.write(|transaction| {
            transaction.execute(
                "UPDATE take SET document = ?2, seconds = COALESCE(?3, seconds) WHERE id = ?1",
                params![id, document, seconds],
            )?;
            one(transaction, id.0)
        })
    }

    /// What is to be remembered of a take.
    ///
    /// # Errors
    /// If it is gone.
    pub fn set_take_note(&self, id: TakeId, note: &str) -> Result<TakeRow, StoreError> {
        self.write(|transaction| {
            transaction.execute("UPDATE take SET note = ?2 WHERE id = ?1", params![id, note])?;
            one(transaction, id.0)
        })
    }

    /// Deletes a take and its sound. It can't be brought back.
    ///
    /// # Errors
    /// If it is gone already.
    pub fn remove_take(&self, id: TakeId) -> Result<(), StoreError> {
        self.write_and_release(|transaction| remove::<TakeRow>(transaction, id.0))
    }
}

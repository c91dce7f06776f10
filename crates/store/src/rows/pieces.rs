//! Which pieces are in the folder? Each with its file as it came, its earlier files, and its purpose in the teacher's words.

use super::{Kept, list, one, remove};
use crate::ids::PieceId;
use crate::steps::Change;
use crate::{Edit, Store, StoreError, now};
use rusqlite::{Connection, Row, Transaction, params};
use serde::{Deserialize, Serialize};

/// A piece of the folder.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct PieceRow {
    /// Its number.
    pub id: PieceId,
    /// What it is called.
    pub title: String,
    /// What its file was called.
    pub file_name: String,
    /// Its file, for [`Store::file`].
    pub file: String,
    /// The tune of a tunebook, by its number.
    pub tune: Option<String>,
    /// The part of a score, by its name or number.
    pub part: Option<String>,
    /// What it is for, in the teacher's words.
    pub purpose: String,
    /// Which of its files it is, from 1.
    pub version: i64,
    /// Laid in with the demo studio.
    pub demo: bool,
    /// When it came.
    pub added: String,
    /// When it was put away; it can be brought out again.
    pub put_away: Option<String>,
}

/// A piece to be kept.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct NewPiece {
    /// What it is called.
    pub title: String,
    /// What the file is called, without folders.
    pub file_name: String,
    /// The file, as it came.
    pub bytes: Vec<u8>,
    /// The tune of a tunebook, by its number.
    pub tune: Option<String>,
    /// The part of a score, by its name or number.
    pub part: Option<String>,
    /// What it is for, in the teacher's words.
    pub purpose: String,
}

/// A corrected file of a piece.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct NewFile {
    /// What the file is called, without folders.
    pub file_name: String,
    /// The file, as it came.
    pub bytes: Vec<u8>,
}

/// One of the files that a piece has had.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct VersionRow {
    /// Of which piece.
    pub piece: PieceId,
    /// Which, from 1.
    pub version: i64,
    /// What the file was called.
    pub file_name: String,
    /// The file, for [`Store::file`].
    pub file: String,
    /// When it came.
    pub added: String,
}

impl Kept for PieceRow {
    const WHAT: &'static str = "piece";
    const TABLE: &'static str = "piece";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            title: row.get("title")?,
            file_name: row.get("file_name")?,
            file: row.get("file")?,
            tune: row.get("tune")?,
            part: row.get("part")?,
            purpose: row.get("purpose")?,
            version: row.get("version")?,
            demo: row.get("demo")?,
            added: row.get("added")?,
            put_away: row.get("put_away")?,
        })
    }
}

impl Kept for VersionRow {
    const WHAT: &'static str = "earlier file";
    const TABLE: &'static str = "piece_version";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            piece: row.get("piece")?,
            version: row.get("version")?,
            file_name: row.get("file_name")?,
            file: row.get("file")?,
            added: row.get("added")?,
        })
    }
}

/// The name of a file without folders, whoever's system it comes from.
pub(crate) fn bare_name(name: &str) -> &str {
    name.rsplit(['/', '\\']).next().unwrap_or(name)
}

/// Writes a new piece; its file is kept already.
pub(crate) fn insert_piece(
    transaction: &Transaction<'_>,
    new: &NewPiece,
    hash: &str,
    demo: bool,
) -> Result<PieceRow, StoreError> {
    let (now, file_name) = (now(), bare_name(&new.file_name));
    transaction.execute(
        "INSERT INTO piece (title, file_name, file, tune, part, purpose, demo, added)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        params![
            new.title,
            file_name,
            hash,
            new.tune,
            new.part,
            new.purpose,
            demo,
            now
        ],
    )?;
    let id = transaction.last_insert_rowid();
    insert_version(transaction, PieceId(id), 1, file_name, hash)?;
    one(transaction, id)
}

pub(crate) fn insert_version(
    transaction: &Transaction<'_>,
    piece: PieceId,
    version: i64,
    file_name: &str,
    hash: &str,
) -> Result<(), StoreError> {
    transaction.execute(
        "INSERT INTO piece_version (piece, version, file_name, file, added) VALUES (?1, ?2, ?3, ?4, ?5)",
        params![piece, version, file_name, hash, now()],
    )?;
    Ok(())
}

/// Writes a piece that is there as it is now.
pub(crate) fn put_piece(connection: &Connection, row: &PieceRow) -> Result<(), StoreError> {
    connection.execute(
        "UPDATE piece SET title = ?2, file_name = ?3, file = ?4, tune = ?5, part = ?6, purpose = ?7, version = ?8,
         put_away = ?9 WHERE id = ?1",
        params![
            row.id, row.title, row.file_name, row.file, row.tune, row.part, row.purpose, row.version, row.put_away
        ],
    )?;
    Ok(())
}

impl Store {
    /// Keeps a piece.
    ///
    /// # Errors
    /// If it can't be written.
    pub fn add_piece(&self, new: &NewPiece) -> Result<PieceRow, StoreError> {
        self.write_with_file(&new.bytes, |transaction, hash| {
            insert_piece(transaction, new, hash, false)
        })
    }

    /// A piece.
    ///
    /// # Errors
    /// If there is none.
    pub fn piece(&self, id: PieceId) -> Result<PieceRow, StoreError> {
        self.read(|connection| one(connection, id.0))
    }

    /// The piece's file as it came.
    ///
    /// # Errors
    /// If there is no such piece, or its file is missing or was changed from outside.
    pub fn piece_file(&self, id: PieceId) -> Result<Vec<u8>, StoreError> {
        self.file(&self.piece(id)?.file)
    }

    /// Pieces that have this very file, those put away included: for saying that it is there already.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn pieces_with_file(&self, bytes: &[u8]) -> Result<Vec<PieceRow>, StoreError> {
        let hash = crate::files::hash(bytes);
        self.read(|connection| list(connection, "WHERE file = ?1 ORDER BY id", [hash]))
    }

    /// Every file that the piece has had, the first first.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn versions(&self, id: PieceId) -> Result<Vec<VersionRow>, StoreError> {
        self.read(|connection| list(connection, "WHERE piece = ?1 ORDER BY version", [id]))
    }

    /// What it is for, in the teacher's words. Can be undone.
    ///
    /// # Errors
    /// If there is no such piece.
    pub fn set_purpose(&self, id: PieceId, words: &str) -> Result<PieceRow, StoreError> {
        self.edit(id, "purpose", |edit| {
            edit.change_piece(|piece| words.clone_into(&mut piece.purpose))
        })
    }

    /// What it is called. Can be undone.
    ///
    /// # Errors
    /// If there is no such piece.
    pub fn set_title(&self, id: PieceId, title: &str) -> Result<PieceRow, StoreError> {
        self.edit(id, "title", |edit| {
            edit.change_piece(|piece| title.clone_into(&mut piece.title))
        })
    }

    /// Which part of the score it is. Can be undone. Her marks hold on to bars of a part: choose it before marking.
    ///
    /// # Errors
    /// If there is no such piece.
    pub fn set_part(&self, id: PieceId, part: Option<&str>) -> Result<PieceRow, StoreError> {
        self.edit(id, "part", |edit| {
            edit.change_piece(|piece| piece.part = part.map(str::to_owned))
        })
    }

    /// Puts a piece away, or brings it out again: it is kept with all that belongs to it, and not in the folder.
    ///
    /// # Errors
    /// If there is no such piece.
    pub fn put_piece_away(&self, id: PieceId, away: bool) -> Result<PieceRow, StoreError> {
        self.write(|transaction| {
            let mut row: PieceRow = one(transaction, id.0)?;
            row.put_away = away.then(now);
            put_piece(transaction, &row)?;
            Ok(row)
        })
    }

    /// Removes a piece that was put away, with its files, marks, visits and takes. It can't be brought back.
    ///
    /// # Errors
    /// If there is no such piece, or it was not put away before.
    pub fn remove_piece(&self, id: PieceId) -> Result<(), StoreError> {
        self.write_and_release(|transaction| {
            let row: PieceRow = one(transaction, id.0)?;
            if row.put_away.is_none() {
                return Err(StoreError::refused(
                    format!("“{}” is still in the folder", row.title),
                    "put it away first; removing it takes its marks, visits and takes with it",
                ));
            }
            remove::<PieceRow>(transaction, id.0)
        })
    }
}

impl Edit<'_, '_> {
    /// Changes what is said about the piece.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn change_piece(&mut self, change: impl FnOnce(&mut PieceRow)) -> Result<PieceRow, StoreError> {
        let before: PieceRow = one(self.transaction, self.piece.0)?;
        let mut after = before.clone();
        change(&mut after);
        // What a piece is stays what it is.
        (after.id, after.demo) = (before.id, before.demo);
        after.added.clone_from(&before.added);
        put_piece(self.transaction, &after)?;
        self.note(Change::Piece {
            before: Box::new(before),
            after: Box::new(after.clone()),
        });
        Ok(after)
    }
}

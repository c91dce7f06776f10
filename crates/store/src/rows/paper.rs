//! Which pieces were read from printed pages? Each with its file as it came, its systems as pictures, what was read, and what was put
//! right since.

use super::pieces::bare_name;
use super::{PieceRow, list, one};
use crate::ids::PieceId;
use crate::store::is_json;
use crate::{Store, StoreError, now};
use rusqlite::{OptionalExtension, Row, params};
use serde::{Deserialize, Serialize};

/// What is kept of the pages of a piece.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct PaperRow {
    /// Which piece.
    pub piece: PieceId,
    /// What the file of pages was called.
    pub file_name: String,
    /// The pages as they came, for [`Store::file`].
    pub file: String,
    /// What was read, as JSON text.
    pub document: String,
    /// Whether it is one of the teacher's own test pages.
    pub test_page: bool,
    /// When it was read.
    pub made: String,
}

/// What was put right in one gesture.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct PaperEditRow {
    /// Its number, rising.
    pub id: i64,
    /// The edits, as JSON text.
    pub edits: String,
    /// When it was undone, if it was.
    pub undone: Option<String>,
    /// When.
    pub made: String,
}

/// Pages to be kept.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NewPaper {
    /// Of which piece.
    pub piece: PieceId,
    /// What the file is called.
    pub file_name: String,
    /// The file as it came.
    pub bytes: Vec<u8>,
    /// What was read, as JSON text.
    pub document: String,
    /// Each system as a picture.
    pub strips: Vec<Vec<u8>>,
}

fn paper(row: &Row<'_>) -> rusqlite::Result<PaperRow> {
    Ok(PaperRow {
        piece: row.get("piece")?,
        file_name: row.get("file_name")?,
        file: row.get("file")?,
        document: row.get("document")?,
        test_page: row.get("test_page")?,
        made: row.get("made")?,
    })
}

fn edit(row: &Row<'_>) -> rusqlite::Result<PaperEditRow> {
    Ok(PaperEditRow {
        id: row.get("id")?,
        edits: row.get("edits")?,
        undone: row.get("undone")?,
        made: row.get("made")?,
    })
}

impl Store {
    /// Keeps the pages that a piece was read from. They go with the piece.
    ///
    /// # Errors
    /// If there is no such piece, the document is no JSON, or it can't be written.
    pub fn add_paper(&self, new: &NewPaper) -> Result<(), StoreError> {
        is_json(&new.document)?;
        for (system, strip) in (0_i64..).zip(&new.strips) {
            self.write_with_file(strip, |transaction, hash| {
                one::<PieceRow>(transaction, new.piece.0)?;
                transaction.execute(
                    "INSERT INTO paper_strip (piece, system, file) VALUES (?1, ?2, ?3)
                     ON CONFLICT (piece, system) DO UPDATE SET file = excluded.file",
                    params![new.piece, system, hash],
                )?;
                Ok(())
            })?;
        }
        // The row that says that there are pages comes last: whoever finds it finds all of them.
        self.write_with_file(&new.bytes, |transaction, hash| {
            one::<PieceRow>(transaction, new.piece.0)?;
            transaction.execute(
                "INSERT INTO paper (piece, file_name, file, document, made) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![new.piece, bare_name(&new.file_name), hash, new.document, now()],
            )?;
            Ok(())
        })
    }

    /// The pages that a piece was read from; `None` if it came as notation.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn paper(&self, piece: PieceId) -> Result<Option<PaperRow>, StoreError> {
        self.read(|connection| {
            let mut found = connection.prepare_cached("SELECT * FROM paper WHERE piece = ?1")?;
            Ok(found.query_row([piece], paper).optional()?)
        })
    }

    /// Whether a piece was read from pages.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn has_paper(&self, piece: PieceId) -> Result<bool, StoreError> {
        self.read(|connection| {
            let mut found = connection.prepare_cached("SELECT 1 FROM paper WHERE piece = ?1")?;
            Ok(found.exists([piece])?)
        })
    }

    /// The piece that was read from this very file of pages, if one was.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn piece_with_paper(&self, bytes: &[u8]) -> Result<Option<PieceRow>, StoreError> {
        let hash = crate::files::hash(bytes);
        self.read(|connection| {
            let mut rows = list(
                connection,
                "JOIN paper ON paper.piece = piece.id WHERE paper.file = ?1 ORDER BY piece.id LIMIT 1",
                [hash],
            )?;
            Ok(rows.pop())
        })
    }

    /// All pieces that were read from pages.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn papers(&self) -> Result<Vec<PaperRow>, StoreError> {
        self.read(|connection| {
            let mut rows = connection.prepare_cached("SELECT * FROM paper ORDER BY piece")?;
            let rows = rows.query_map([], paper)?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// The picture of one system of a piece that was read.
    ///
    /// # Errors
    /// If there is none, or it is missing or was changed from outside.
    pub fn paper_strip(&self, piece: PieceId, system: u32) -> Result<Vec<u8>, StoreError> {
        let hash: Option<String> = self.read(|connection| {
            let sql = "SELECT file FROM paper_strip WHERE piece = ?1 AND system = ?2";
            let mut found = connection.prepare_cached(sql)?;
            Ok(found
                .query_row(params![piece, system], |row| row.get(0))
                .optional()?)
        })?;
        let hash = hash.ok_or(StoreError::Gone {
            what: "picture of the page",
            id: i64::from(system),
        })?;
        self.file(&hash)
    }

    /// What was put right in the reading of a piece, in order, undone gestures included.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn paper_edits(&self, piece: PieceId) -> Result<Vec<PaperEditRow>, StoreError> {
        self.read(|connection| {
            let mut rows =
                connection.prepare_cached("SELECT * FROM paper_edit WHERE piece = ?1 ORDER BY id")?;
            let rows = rows.query_map([piece], edit)?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// Writes down what was put right in one gesture.
    ///
    /// # Errors
    /// If the piece was not read from pages, or the edits are no JSON.
    pub fn add_paper_edit(&self, piece: PieceId, edits: &str) -> Result<i64, StoreError> {
        is_json(edits)?;
        self.write(|transaction| {
            let read = transaction
                .query_row("SELECT 1 FROM paper WHERE piece = ?1", [piece], |_| Ok(()))
                .optional()?;
            read.ok_or(StoreError::Gone {
                what: "reading of pages",
                id: piece.0,
            })?;
            transaction.execute(
                "INSERT INTO paper_edit (piece, edits, made) VALUES (?1, ?2, ?3)",
                params![piece, edits, now()],
            )?;
            Ok(transaction.last_insert_rowid())
        })
    }

    /// Takes back the last gesture that counts; `None` if there is none.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn undo_paper_edit(&self, piece: PieceId) -> Result<Option<PaperEditRow>, StoreError> {
        self.write(|transaction| {
            let last =
                "SELECT * FROM paper_edit WHERE piece = ?1 AND undone IS NULL ORDER BY id DESC LIMIT 1";
            let Some(row) = transaction.query_row(last, [piece], edit).optional()? else {
                return Ok(None);
            };
            transaction.execute(
                "UPDATE paper_edit SET undone = ?2 WHERE id = ?1",
                params![row.id, now()],
            )?;
            Ok(Some(row))
        })
    }

    /// Says whether the pages of a piece are one of the teacher's own test pages.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn set_test_page(&self, piece: PieceId, is_one: bool) -> Result<(), StoreError> {
        self.write(|transaction| {
            transaction.execute(
                "UPDATE paper SET test_page = ?2 WHERE piece = ?1",
                params![piece, is_one],
            )?;
            Ok(())
        })
    }
}

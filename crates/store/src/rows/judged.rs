//! By what is playing judged? The teacher's own rubrics and published ones, and what was judged by each.

use super::{Kept, list, one, remove};
use crate::ids::{JudgementId, PieceId, PlayerId, RubricId, TakeId};
use crate::store::is_json;
use crate::{Store, StoreError, now};
use rusqlite::{Row, params};
use serde::{Deserialize, Serialize};

/// A rubric.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct RubricRow {
    /// Its number.
    pub id: RubricId,
    /// What it is called.
    pub name: String,
    /// Where it was published; empty for her own.
    pub source: String,
    /// Its lines and marks, as JSON text.
    pub document: String,
    /// When it was made.
    pub made: String,
    /// When it was last changed.
    pub changed: String,
}

/// What was judged, never without its rubric.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct JudgementRow {
    /// Its number.
    pub id: JudgementId,
    /// By which rubric.
    pub rubric: RubricId,
    /// Of which piece.
    pub piece: PieceId,
    /// Whose playing.
    pub player: Option<PlayerId>,
    /// Heard in which take; `None` if heard in the room, or the take was deleted.
    pub take: Option<TakeId>,
    /// Marks and words by the rubric's lines, as JSON text.
    pub document: String,
    /// When.
    pub made: String,
}

impl Kept for RubricRow {
    const WHAT: &'static str = "rubric";
    const TABLE: &'static str = "rubric";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            name: row.get("name")?,
            source: row.get("source")?,
            document: row.get("document")?,
            made: row.get("made")?,
            changed: row.get("changed")?,
        })
    }
}

impl Kept for JudgementRow {
    const WHAT: &'static str = "judgement";
    const TABLE: &'static str = "judgement";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            rubric: row.get("rubric")?,
            piece: row.get("piece")?,
            player: row.get("player")?,
            take: row.get("take")?,
            document: row.get("document")?,
            made: row.get("made")?,
        })
    }
}

impl Store {
    /// Keeps a rubric: its name, where it was published (empty for her own), its lines as JSON text.
    ///
    /// # Errors
    /// If the document is no JSON.
    pub fn add_rubric(&self, name: &str, source: &str, document: &str) -> Result<RubricRow, StoreError> {
        is_json(document)?;
        self.write(|transaction| {
            transaction.execute(
                "INSERT INTO rubric (name, source, document, made, changed) VALUES (?1, ?2, ?3, ?4, ?4)",
                params![name, source, document, now()],
            )?;
            one(transaction, transaction.last_insert_rowid())
        })
    }

    /// All rubrics, by name.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn rubrics(&self) -> Result<Vec<RubricRow>, StoreError> {
        self.read(|connection| list(connection, "ORDER BY name COLLATE NOCASE, id", []))
    }

    /// Writes a rubric anew.
    ///
    /// # Errors
    /// If it is gone, or the document is no JSON.
    pub fn change_rubric(&self, row: &RubricRow) -> Result<RubricRow, StoreError> {
        is_json(&row.document)?;
        self.write(|transaction| {
            transaction.execute(
                "UPDATE rubric SET name = ?2, source = ?3, document = ?4, changed = ?5 WHERE id = ?1",
                params![row.id, row.name, row.source, row.document, now()],
            )?;
            one(transaction, row.id.0)
        })
    }

    /// Removes a rubric by which nothing was judged.
    ///
    /// # Errors
    /// If it is gone, or something was judged by it.
    pub fn remove_rubric(&self, id: RubricId) -> Result<(), StoreError> {
        self.write(|transaction| {
            let judged: i64 =
                transaction.query_row("SELECT COUNT(*) FROM judgement WHERE rubric = ?1", [id], |row| {
                    row.get(0)
                })?;
            if judged > 0 {
                return Err(StoreError::refused(
                    format!("{judged} performances were judged by this rubric"),
                    "keep it, or remove those first",
                ));
            }
            remove::<RubricRow>(transaction, id.0)
        })
    }

    /// Keeps what was judged.
    ///
    /// # Errors
    /// If the document is no JSON, or rubric, piece, player or take are gone.
    pub fn judge(
        &self,
        rubric: RubricId,
        piece: PieceId,
        player: Option<PlayerId>,
        take: Option<TakeId>,
        document: &str,
    ) -> Result<JudgementRow, StoreError> {
        is_json(document)?;
        self.write(|transaction| {
            transaction.execute(
                "INSERT INTO judgement (rubric, piece, player, take, document, made) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                params![rubric, piece, player, take, document, now()],
            )?;
            one(transaction, transaction.last_insert_rowid())
        })
    }

    /// What was judged, the newest first: of a piece, of a player, or both.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn judgements(
        &self,
        piece: Option<PieceId>,
        player: Option<PlayerId>,
    ) -> Result<Vec<JudgementRow>, StoreError> {
        self.read(|connection| {
            list(
                connection,
                "WHERE (?1 IS NULL OR piece = ?1) AND (?2 IS NULL OR player = ?2) ORDER BY id DESC",
                params![piece, player],
            )
        })
    }

    /// Removes what was judged.
    ///
    /// # Errors
    /// If it is gone.
    pub fn remove_judgement(&self, id: JudgementId) -> Result<(), StoreError> {
        self.write(|transaction| remove::<JudgementRow>(transaction, id.0))
    }
}

//! What was seen before playing, and what was missed? Answers of looking first, and what a player keeps missing.

use super::{Kept, PieceRow, list, one};
use crate::ids::{LookFirstId, PieceId, PlayerId};
use crate::store::is_json;
use crate::{Store, StoreError, now};
use rusqlite::{Row, params};
use serde::{Deserialize, Serialize};

/// One time of looking first.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct LookFirstRow {
    /// Its number.
    pub id: LookFirstId,
    /// Which piece.
    pub piece: PieceId,
    /// Who looked.
    pub player: Option<PlayerId>,
    /// Which of the piece's files it was.
    pub version: i64,
    /// How long the study clock ran, in seconds; `None` if it did not.
    pub seconds: Option<f64>,
    /// The answers and what was found, as JSON text.
    pub document: String,
    /// When it was.
    pub made: String,
}

/// One time of looking first, to be kept.
#[derive(Clone, PartialEq, Debug)]
pub struct NewLookFirst {
    /// Which piece.
    pub piece: PieceId,
    /// Who looked.
    pub player: Option<PlayerId>,
    /// How long the study clock ran, in seconds.
    pub seconds: Option<f64>,
    /// The answers and what was found, as JSON text.
    pub document: String,
    /// What was missed.
    pub missed: Vec<Miss>,
}

/// Something that was missed.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Miss {
    /// The question, by its name (`key`, `metre`).
    pub question: String,
    /// The bar's label.
    pub bar: String,
    /// What there was to see.
    pub what: String,
}

/// What a player keeps missing.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Missed {
    /// The question.
    pub question: String,
    /// In how many times of looking.
    pub looks: i64,
    /// How often in all.
    pub times: i64,
    /// When last.
    pub last: String,
}

impl Kept for LookFirstRow {
    const WHAT: &'static str = "look";
    const TABLE: &'static str = "look_first";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            piece: row.get("piece")?,
            player: row.get("player")?,
            version: row.get("version")?,
            seconds: row.get("seconds")?,
            document: row.get("document")?,
            made: row.get("made")?,
        })
    }
}

impl Store {
    /// Keeps one time of looking first.
    ///
    /// # Errors
    /// If the document is no JSON, or piece or player are gone.
    pub fn add_look_first(&self, new: &NewLookFirst) -> Result<LookFirstRow, StoreError> {
        is_json(&new.document)?;
        self.write(|transaction| {
            let piece: PieceRow = one(transaction, new.piece.0)?;
            transaction.execute(
                "INSERT INTO look_first (piece, player, version, seconds, document, made) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                params![new.piece, new.player, piece.version, new.seconds, new.document, now()],
            )?;
            let id = transaction.last_insert_rowid();
            for (at, miss) in (0_i64..).zip(&new.missed) {
                transaction.execute(
                    "INSERT INTO look_first_miss (look, at, question, bar, what) VALUES (?1, ?2, ?3, ?4, ?5)",
                    params![id, at, miss.question, miss.bar, miss.what],
                )?;
            }
            one(transaction, id)
        })
    }

    /// Times of looking first, the newest first: at a piece, by a player, or both.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn look_firsts(
        &self,
        piece: Option<PieceId>,
        player: Option<PlayerId>,
    ) -> Result<Vec<LookFirstRow>, StoreError> {
        self.read(|connection| {
            list(
                connection,
                "WHERE (?1 IS NULL OR piece = ?1) AND (?2 IS NULL OR player = ?2) ORDER BY id DESC",
                params![piece, player],
            )
        })
    }

    /// What was missed at one time.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn misses(&self, id: LookFirstId) -> Result<Vec<Miss>, StoreError> {
        self.read(|connection| {
            let mut rows = connection.prepare_cached(
                "SELECT question, bar, what FROM look_first_miss WHERE look = ?1 ORDER BY at",
            )?;
            let rows = rows.query_map([id], |row| {
                Ok(Miss {
                    question: row.get(0)?,
                    bar: row.get(1)?,
                    what: row.get(2)?,
                })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// What a player keeps missing, most often first; since a day if one is given.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn keeps_missing(&self, player: PlayerId, since: Option<&str>) -> Result<Vec<Missed>, StoreError> {
        self.read(|connection| {
            let mut rows = connection.prepare_cached(
                "SELECT m.question, COUNT(DISTINCT l.id), COUNT(*), MAX(l.made) FROM look_first_miss m
                 JOIN look_first l ON l.id = m.look WHERE l.player = ?1 AND (?2 IS NULL OR l.made >= ?2)
                 GROUP BY m.question ORDER BY 2 DESC, 3 DESC, 1",
            )?;
            let rows = rows.query_map(params![player, since], |row| {
                Ok(Missed {
                    question: row.get(0)?,
                    looks: row.get(1)?,
                    times: row.get(2)?,
                    last: row.get(3)?,
                })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }
}

//! What does the survey say of a piece, as far as a folder is searched by it? A summary, made again when file or program change.

use super::{PieceRow, list, one};
use crate::ids::PieceId;
use crate::{Store, StoreError};
use rusqlite::{Connection, OptionalExtension, Transaction, params};
use serde::{Deserialize, Serialize};

/// What a folder shows of a piece, and is searched by.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
pub struct Summary {
    /// Which survey made it (the program's version): another one makes it again.
    pub made_by: String,
    /// Who wrote it.
    pub composer: Option<String>,
    /// The instrument by its fixed name (`clarinet-bb`).
    pub instrument: Option<String>,
    /// The instrument in words.
    pub instrument_name: Option<String>,
    /// The key in words (`F minor`).
    pub key_name: Option<String>,
    /// The most flats of any key signature in it, as written; 0 for none.
    pub most_flats: Option<i64>,
    /// The most sharps of any key signature in it, as written; 0 for none.
    pub most_sharps: Option<i64>,
    /// Its metres in order (`6/8`).
    pub metres: Vec<String>,
    /// Lowest written note (`Bb3`).
    pub lowest: Option<String>,
    /// Highest written note.
    pub highest: Option<String>,
    /// The lowest by key number (middle C is 60).
    pub lowest_key: Option<i64>,
    /// The highest by key number.
    pub highest_key: Option<i64>,
    /// Written bars.
    pub bars: Option<i64>,
    /// How long it lasts as played, in seconds.
    pub seconds: Option<f64>,
    /// Reading load of a beat on average.
    pub load: Option<f64>,
    /// Its level by each table that says one.
    pub levels: Vec<Level>,
    /// What is in it, by fixed names that a search asks for (`crosses-break`, `dotted-rhythms`, `tenor-clef`).
    pub features: Vec<String>,
    /// Whatever else the folder shows, as JSON text; `{}` for nothing.
    pub document: String,
}

/// A level by a named table.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Level {
    /// The table, by its fixed name.
    pub table: String,
    /// What the table calls the level.
    pub level: String,
    /// Its place in the table's order, so that levels can be compared.
    pub rank: f64,
}

/// The summary of a piece, if there is one and it is of the file of now.
pub(crate) fn summary_of(connection: &Connection, piece: PieceId) -> Result<Option<Summary>, StoreError> {
    let mut found = connection.prepare_cached(
        "SELECT summary.* FROM summary JOIN piece ON piece.id = summary.piece AND piece.version = summary.version
         WHERE summary.piece = ?1",
    )?;
    let summary = found
        .query_row([piece], |row| {
            Ok(Summary {
                made_by: row.get("made_by")?,
                composer: row.get("composer")?,
                instrument: row.get("instrument")?,
                instrument_name: row.get("instrument_name")?,
                key_name: row.get("key_name")?,
                most_flats: row.get("most_flats")?,
                most_sharps: row.get("most_sharps")?,
                lowest: row.get("lowest")?,
                highest: row.get("highest")?,
                lowest_key: row.get("lowest_key")?,
                highest_key: row.get("highest_key")?,
                bars: row.get("bars")?,
                seconds: row.get("seconds")?,
                load: row.get("load")?,
                document: row.get("document")?,
                ..Summary::default()
            })
        })
        .optional()?;
    let Some(mut summary) = summary else {
        return Ok(None);
    };
    let texts = |sql: &str| -> Result<Vec<String>, StoreError> {
        let mut rows = connection.prepare_cached(sql)?;
        let rows = rows.query_map([piece], |row| row.get(0))?;
        Ok(rows.collect::<Result<_, _>>()?)
    };
    summary.metres = texts("SELECT metre FROM summary_metre WHERE piece = ?1 ORDER BY at")?;
    summary.features = texts("SELECT feature FROM summary_feature WHERE piece = ?1 ORDER BY feature")?;
    let mut rows = connection.prepare_cached(
        "SELECT table_name, level, rank FROM summary_level WHERE piece = ?1 ORDER BY table_name",
    )?;
    let levels = rows.query_map([piece], |row| {
        Ok(Level {
            table: row.get(0)?,
            level: row.get(1)?,
            rank: row.get(2)?,
        })
    })?;
    summary.levels = levels.collect::<Result<_, _>>()?;
    Ok(Some(summary))
}

fn put_summary(transaction: &Transaction<'_>, piece: &PieceRow, of: &Summary) -> Result<(), StoreError> {
    transaction.execute("DELETE FROM summary WHERE piece = ?1", [piece.id])?;
    transaction.execute(
        "INSERT INTO summary (piece, version, made_by, composer, instrument, instrument_name, key_name, most_flats,
         most_sharps, lowest, highest, lowest_key, highest_key, bars, seconds, load, document)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17)",
        params![
            piece.id, piece.version, of.made_by, of.composer, of.instrument, of.instrument_name, of.key_name,
            of.most_flats, of.most_sharps, of.lowest, of.highest, of.lowest_key, of.highest_key, of.bars, of.seconds,
            of.load, of.document
        ],
    )?;
    for (at, metre) in (0_i64..).zip(&of.metres) {
        transaction.execute(
            "INSERT INTO summary_metre (piece, at, metre) VALUES (?1, ?2, ?3)",
            params![piece.id, at, metre],
        )?;
    }
    for level in &of.levels {
        transaction.execute(
            "INSERT OR REPLACE INTO summary_level (piece, table_name, level, rank) VALUES (?1, ?2, ?3, ?4)",
            params![piece.id, level.table, level.level, level.rank],
        )?;
    }
    for feature in &of.features {
        transaction.execute(
            "INSERT OR IGNORE INTO summary_feature (piece, feature) VALUES (?1, ?2)",
            params![piece.id, feature],
        )?;
    }
    Ok(())
}

impl Store {
    /// The summary of a piece; `None` until one is set, and after its file was replaced.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn summary(&self, piece: PieceId) -> Result<Option<Summary>, StoreError> {
        self.read(|connection| summary_of(connection, piece))
    }

    /// Sets the summary of a piece, made of its file of now (`version` as the row said when the file was read: if the file was
    /// replaced meanwhile, nothing is set and this says false).
    ///
    /// # Errors
    /// If there is no such piece, or the document is no JSON.
    pub fn set_summary(&self, piece: PieceId, version: i64, summary: &Summary) -> Result<bool, StoreError> {
        crate::store::is_json(&summary.document)?;
        self.write(|transaction| {
            let row: PieceRow = one(transaction, piece.0)?;
            if row.version != version {
                return Ok(false);
            }
            put_summary(transaction, &row, summary)?;
            Ok(true)
        })
    }

    /// Pieces whose summary is missing, of an earlier file, or made by another survey: those to be surveyed.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn pieces_to_survey(&self, made_by: &str) -> Result<Vec<PieceRow>, StoreError> {
        self.read(|connection| {
            list(
                connection,
                "LEFT JOIN summary ON summary.piece = piece.id AND summary.version = piece.version AND
                 summary.made_by = ?1 WHERE summary.piece IS NULL AND piece.put_away IS NULL ORDER BY piece.id",
                [made_by],
            )
        })
    }
}

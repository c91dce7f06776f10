//! What was practised? Lines of the practice log, as `foreread log` writes them, kept with their piece and player.

use super::{Kept, day, list, one, remove};
use crate::ids::{PieceId, PlayerId, VisitId};
use crate::{Store, StoreError, now};
use rusqlite::{Connection, Row, Transaction, params};
use serde::{Deserialize, Serialize};

/// A visit to some bars.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct VisitRow {
    /// Its number.
    pub id: VisitId,
    /// Which piece.
    pub piece: PieceId,
    /// Whose visit; `None` where nobody was named.
    pub player: Option<PlayerId>,
    /// The day.
    pub date: String,
    /// The line of the log (JSON) for the file of now: its bars by the labels of now.
    pub line: String,
    /// The line as it was written down.
    pub written: String,
    /// False if its bars are not in the file of now.
    pub placed: bool,
    /// When it was written down.
    pub made: String,
}

/// A visit to be written down.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NewVisit {
    /// Which piece.
    pub piece: PieceId,
    /// Whose visit.
    pub player: Option<PlayerId>,
    /// The line of the log, as JSON: `date`, `piece`, `from_bar`, `to_bar` and whatever else a log's line says.
    pub line: String,
}

impl Kept for VisitRow {
    const WHAT: &'static str = "visit";
    const TABLE: &'static str = "visit";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            piece: row.get("piece")?,
            player: row.get("player")?,
            date: row.get("date")?,
            line: row.get("line")?,
            written: row.get("written")?,
            placed: row.get("placed")?,
            made: row.get("made")?,
        })
    }
}

/// What must stand in every line of a log.
#[derive(Deserialize)]
struct Needed {
    date: String,
    #[serde(rename = "piece")]
    _piece: String,
    #[serde(rename = "from_bar")]
    _from_bar: String,
    #[serde(rename = "to_bar")]
    _to_bar: String,
}

/// Writes what a visit is to the file of now; date and first writing stay.
pub(crate) fn put_visit(connection: &Connection, row: &VisitRow) -> Result<(), StoreError> {
    connection.execute(
        "UPDATE visit SET line = ?2, placed = ?3 WHERE id = ?1",
        params![row.id, row.line, row.placed],
    )?;
    Ok(())
}

/// Writes a visit down.
pub(crate) fn insert_visit(transaction: &Transaction<'_>, new: &NewVisit) -> Result<VisitRow, StoreError> {
    let needed: Needed = serde_json::from_str(&new.line).map_err(|error| {
        StoreError::refused(
            format!("this is no line of a practice log: {error}"),
            "say day, piece and bars",
        )
    })?;
    day(&needed.date)?;
    let line = new.line.trim();
    transaction.execute(
        "INSERT INTO visit (piece, player, date, line, written, made) VALUES (?1, ?2, ?3, ?4, ?4, ?5)",
        params![new.piece, new.player, needed.date, line, now()],
    )?;
    one(transaction, transaction.last_insert_rowid())
}

impl Store {
    /// Writes a visit down.
    ///
    /// # Errors
    /// If the line is none of a log, or piece or player are gone.
    pub fn log_visit(&self, new: &NewVisit) -> Result<VisitRow, StoreError> {
        self.write(|transaction| insert_visit(transaction, new))
    }

    /// Writes several visits down, all or none.
    ///
    /// # Errors
    /// As [`Store::log_visit`].
    pub fn log_visits(&self, all: &[NewVisit]) -> Result<(), StoreError> {
        self.write(|transaction| {
            all.iter()
                .try_for_each(|new| insert_visit(transaction, new).map(drop))
        })
    }

    /// The visits to a piece, the earliest first; with a player, only hers.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn visits(&self, piece: PieceId, player: Option<PlayerId>) -> Result<Vec<VisitRow>, StoreError> {
        self.read(|connection| {
            list(
                connection,
                "WHERE piece = ?1 AND (?2 IS NULL OR player = ?2) ORDER BY date, id",
                params![piece, player],
            )
        })
    }

    /// All visits of a player, on or after a day if one is given, the earliest first.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn visits_of_player(
        &self,
        player: PlayerId,
        since: Option<&str>,
    ) -> Result<Vec<VisitRow>, StoreError> {
        self.read(|connection| {
            list(
                connection,
                "WHERE player = ?1 AND (?2 IS NULL OR date >= ?2) ORDER BY date, id",
                params![player, since],
            )
        })
    }

    /// The log of a piece as an open file of lines, as `foreread log` and `foreread plan` read it; lines whose bars are not in the
    /// file of now are left out (they stay in [`Self::visits`]).
    ///
    /// # Errors
    /// If the database refuses.
    pub fn log_text(&self, piece: PieceId, player: Option<PlayerId>) -> Result<String, StoreError> {
        let visits = self.visits(piece, player)?;
        let lines = visits.iter().filter(|visit| visit.placed);
        Ok(lines.map(|visit| format!("{}\n", visit.line)).collect())
    }

    /// Strikes out a visit that was written down by mistake.
    ///
    /// # Errors
    /// If it is gone.
    pub fn remove_visit(&self, id: VisitId) -> Result<(), StoreError> {
        self.write(|transaction| remove::<VisitRow>(transaction, id.0))
    }
}

//! What is ahead? The days to be ready for, and who plays.

use super::{Kept, day, list, one, remove};
use crate::ids::{CallId, OccasionId, PlayerId};
use crate::{Store, StoreError};
use rusqlite::{Connection, Row, Transaction, params};
use serde::{Deserialize, Serialize};

/// A day to be ready for.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct OccasionRow {
    /// Its number.
    pub id: OccasionId,
    /// The day.
    pub date: String,
    /// What it is called.
    pub name: String,
    /// `concert`, `audition`, `lesson`; any word.
    pub kind: String,
    /// What is asked for.
    pub requirements: String,
    /// Until when one has to say so.
    pub deadline: Option<String>,
    /// Its call.
    pub call: Option<CallId>,
    /// Who plays.
    pub players: Vec<PlayerId>,
}

/// A day to be kept.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
#[expect(missing_docs, reason = "as in OccasionRow")]
pub struct NewOccasion {
    pub date: String,
    pub name: String,
    pub kind: String,
    pub requirements: String,
    pub deadline: Option<String>,
    pub call: Option<CallId>,
    pub players: Vec<PlayerId>,
}

impl Kept for OccasionRow {
    const WHAT: &'static str = "day";
    const TABLE: &'static str = "occasion";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            date: row.get("date")?,
            name: row.get("name")?,
            kind: row.get("kind")?,
            requirements: row.get("requirements")?,
            deadline: row.get("deadline")?,
            call: row.get("call")?,
            players: Vec::new(),
        })
    }
}

pub(crate) fn insert_occasion(
    transaction: &Transaction<'_>,
    new: &NewOccasion,
) -> Result<OccasionRow, StoreError> {
    day(&new.date)?;
    new.deadline.as_deref().map_or(Ok(()), day)?;
    transaction.execute(
        "INSERT INTO occasion (date, name, kind, requirements, deadline, call) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        params![new.date, new.name, new.kind, new.requirements, new.deadline, new.call],
    )?;
    let id = OccasionId(transaction.last_insert_rowid());
    put_players(transaction, id, &new.players)?;
    with_players(transaction, one(transaction, id.0)?)
}

fn put_players(
    transaction: &Transaction<'_>,
    id: OccasionId,
    players: &[PlayerId],
) -> Result<(), StoreError> {
    transaction.execute("DELETE FROM occasion_player WHERE occasion = ?1", [id])?;
    for player in players {
        transaction.execute(
            "INSERT OR IGNORE INTO occasion_player (occasion, player) VALUES (?1, ?2)",
            params![id, player],
        )?;
    }
    Ok(())
}

fn with_players(connection: &Connection, mut row: OccasionRow) -> Result<OccasionRow, StoreError> {
    let mut rows = connection
        .prepare_cached("SELECT player FROM occasion_player WHERE occasion = ?1 ORDER BY player")?;
    let players = rows.query_map([row.id], |row| row.get(0))?;
    row.players = players.collect::<Result<_, _>>()?;
    Ok(row)
}

impl Store {
    /// Keeps a day to be ready for.
    ///
    /// # Errors
    /// If a day is none, or a player or call is gone.
    pub fn add_occasion(&self, new: &NewOccasion) -> Result<OccasionRow, StoreError> {
        self.write(|transaction| insert_occasion(transaction, new))
    }

    /// The days to be ready for, on or after a day if one is given, in order.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn occasions(&self, since: Option<&str>) -> Result<Vec<OccasionRow>, StoreError> {
        self.read(|connection| {
            let rows: Vec<OccasionRow> = list(
                connection,
                "WHERE ?1 IS NULL OR date >= ?1 ORDER BY date, id",
                [since],
            )?;
            rows.into_iter()
                .map(|row| with_players(connection, row))
                .collect()
        })
    }

    /// Writes a day anew.
    ///
    /// # Errors
    /// If it is gone, or a day is none.
    pub fn change_occasion(&self, row: &OccasionRow) -> Result<OccasionRow, StoreError> {
        day(&row.date)?;
        row.deadline.as_deref().map_or(Ok(()), day)?;
        self.write(|transaction| {
            transaction.execute(
                "UPDATE occasion SET date = ?2, name = ?3, kind = ?4, requirements = ?5, deadline = ?6, call = ?7 WHERE id = ?1",
                params![row.id, row.date, row.name, row.kind, row.requirements, row.deadline, row.call],
            )?;
            let there = one(transaction, row.id.0)?;
            put_players(transaction, row.id, &row.players)?;
            with_players(transaction, there)
        })
    }

    /// Removes a day.
    ///
    /// # Errors
    /// If it is gone.
    pub fn remove_occasion(&self, id: OccasionId) -> Result<(), StoreError> {
        self.write(|transaction| remove::<OccasionRow>(transaction, id.0))
    }
}

//! What is asked for? Calls as their own files say them.

use super::{Kept, day, list, one, remove};
use crate::ids::{CallId, PieceId};
use crate::{Store, StoreError, now};
use rusqlite::{Row, Transaction, params};
use serde::{Deserialize, Serialize};

/// A call: an audition's requirements.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct CallRow {
    /// Its number.
    pub id: CallId,
    /// What it is called.
    pub name: String,
    /// The day.
    pub date: Option<String>,
    /// The call as `foreread call` reads it.
    pub text: String,
    /// Laid in with the demo studio.
    pub demo: bool,
    /// When it came.
    pub made: String,
    /// When it was last changed.
    pub changed: String,
}

/// A call to be kept.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct NewCall {
    /// What it is called.
    pub name: String,
    /// The day.
    pub date: Option<String>,
    /// The call as `foreread call` reads it.
    pub text: String,
    /// Which piece of the folder each file is that it names.
    pub pieces: Vec<(String, PieceId)>,
}

impl Kept for CallRow {
    const WHAT: &'static str = "call";
    const TABLE: &'static str = "call";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            name: row.get("name")?,
            date: row.get("date")?,
            text: row.get("text")?,
            demo: row.get("demo")?,
            made: row.get("made")?,
            changed: row.get("changed")?,
        })
    }
}

pub(crate) fn insert_call(
    transaction: &Transaction<'_>,
    new: &NewCall,
    demo: bool,
) -> Result<CallRow, StoreError> {
    new.date.as_deref().map_or(Ok(()), day)?;
    transaction.execute(
        "INSERT INTO call (name, date, text, demo, made, changed) VALUES (?1, ?2, ?3, ?4, ?5, ?5)",
        params![new.name, new.date, new.text, demo, now()],
    )?;
    let id = CallId(transaction.last_insert_rowid());
    put_pieces(transaction, id, &new.pieces)?;
    one(transaction, id.0)
}

fn put_pieces(
    transaction: &Transaction<'_>,
    call: CallId,
    pieces: &[(String, PieceId)],
) -> Result<(), StoreError> {
    transaction.execute("DELETE FROM call_piece WHERE call = ?1", [call])?;
    for (named, piece) in pieces {
        transaction.execute(
            "INSERT OR REPLACE INTO call_piece (call, named, piece) VALUES (?1, ?2, ?3)",
            params![call, named, piece],
        )?;
    }
    Ok(())
}

impl Store {
    /// Keeps a call.
    ///
    /// # Errors
    /// If its day is none, or a piece is gone.
    pub fn add_call(&self, new: &NewCall) -> Result<CallRow, StoreError> {
        self.write(|transaction| insert_call(transaction, new, false))
    }

    /// A call.
    ///
    /// # Errors
    /// If there is none.
    pub fn call(&self, id: CallId) -> Result<CallRow, StoreError> {
        self.read(|connection| one(connection, id.0))
    }

    /// All calls, by day; those without one last.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn calls(&self) -> Result<Vec<CallRow>, StoreError> {
        self.read(|connection| list(connection, "ORDER BY date IS NULL, date, id", []))
    }

    /// Which piece each file is that a call names.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn call_pieces(&self, id: CallId) -> Result<Vec<(String, PieceId)>, StoreError> {
        self.read(|connection| {
            let mut rows = connection
                .prepare_cached("SELECT named, piece FROM call_piece WHERE call = ?1 ORDER BY named")?;
            let rows = rows.query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// Writes a call anew.
    ///
    /// # Errors
    /// If it is gone, its day is none, or a piece is gone.
    pub fn change_call(&self, id: CallId, new: &NewCall) -> Result<CallRow, StoreError> {
        new.date.as_deref().map_or(Ok(()), day)?;
        self.write(|transaction| {
            transaction.execute(
                "UPDATE call SET name = ?2, date = ?3, text = ?4, changed = ?5 WHERE id = ?1",
                params![id, new.name, new.date, new.text, now()],
            )?;
            let row = one(transaction, id.0)?;
            put_pieces(transaction, id, &new.pieces)?;
            Ok(row)
        })
    }

    /// Removes a call, with its plans.
    ///
    /// # Errors
    /// If it is gone.
    pub fn remove_call(&self, id: CallId) -> Result<(), StoreError> {
        self.write(|transaction| remove::<CallRow>(transaction, id.0))
    }
}

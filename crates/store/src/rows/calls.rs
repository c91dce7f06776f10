//! What is ahead? Calls as their own files say them, the days to be ready for, and the plans that lead there.

use super::{Kept, day, list, one, remove};
use crate::ids::{CallId, OccasionId, PieceId, PlanId, PlayerId};
use crate::store::is_json;
use crate::{Store, StoreError, now};
use rusqlite::{Connection, Row, Transaction, params};
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

/// A plan that was made.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct PlanRow {
    /// Its number.
    pub id: PlanId,
    /// For a piece …
    pub piece: Option<PieceId>,
    /// … or for a call.
    pub call: Option<CallId>,
    /// For whom.
    pub player: Option<PlayerId>,
    /// To which day.
    pub until: Option<String>,
    /// What was asked, as JSON text: for making it again from the log of then.
    pub asked: String,
    /// The plan, as JSON text.
    pub document: String,
    /// When it was made.
    pub made: String,
}

/// A plan to be kept.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
#[expect(missing_docs, reason = "as in PlanRow")]
pub struct NewPlan {
    pub piece: Option<PieceId>,
    pub call: Option<CallId>,
    pub player: Option<PlayerId>,
    pub until: Option<String>,
    pub asked: String,
    pub document: String,
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

impl Kept for PlanRow {
    const WHAT: &'static str = "plan";
    const TABLE: &'static str = "plan";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            piece: row.get("piece")?,
            call: row.get("call")?,
            player: row.get("player")?,
            until: row.get("until")?,
            asked: row.get("asked")?,
            document: row.get("document")?,
            made: row.get("made")?,
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

    /// Keeps a plan; earlier ones stay.
    ///
    /// # Errors
    /// If a document is no JSON, a day is none, or what it is for is gone.
    pub fn add_plan(&self, new: &NewPlan) -> Result<PlanRow, StoreError> {
        is_json(&new.asked)?;
        is_json(&new.document)?;
        new.until.as_deref().map_or(Ok(()), day)?;
        self.write(|transaction| {
            transaction.execute(
                "INSERT INTO plan (piece, call, player, until, asked, document, made) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                params![new.piece, new.call, new.player, new.until, new.asked, new.document, now()],
            )?;
            one(transaction, transaction.last_insert_rowid())
        })
    }

    /// Plans, the newest first: for a piece, a player, or both; all if neither is named.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn plans(
        &self,
        piece: Option<PieceId>,
        player: Option<PlayerId>,
    ) -> Result<Vec<PlanRow>, StoreError> {
        self.read(|connection| {
            list(
                connection,
                "WHERE (?1 IS NULL OR piece = ?1) AND (?2 IS NULL OR player = ?2) ORDER BY id DESC",
                params![piece, player],
            )
        })
    }

    /// Plans for a call, the newest first.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn plans_of_call(&self, call: CallId) -> Result<Vec<PlanRow>, StoreError> {
        self.read(|connection| list(connection, "WHERE call = ?1 ORDER BY id DESC", [call]))
    }

    /// Removes a plan.
    ///
    /// # Errors
    /// If it is gone.
    pub fn remove_plan(&self, id: PlanId) -> Result<(), StoreError> {
        self.write(|transaction| remove::<PlanRow>(transaction, id.0))
    }
}

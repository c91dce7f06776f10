//! What is a player working on? A piece, since when, to what end, which cuts of it, and what is to be done in a sitting.

use super::{Kept, day, json, list, one, remove, text};
use crate::bars::Hold;
use crate::ids::{AssignmentId, CutId, PieceId, PlayerId};
use crate::steps::Change;
use crate::{Edit, Store, StoreError};
use rusqlite::{Connection, Row, params};
use serde::{Deserialize, Serialize};

/// A piece that a player works on.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct AssignmentRow {
    /// Its number.
    pub id: AssignmentId,
    /// Which piece.
    pub piece: PieceId,
    /// Which player.
    pub player: PlayerId,
    /// Since which day.
    pub since: String,
    /// The day it is to be ready.
    pub until: Option<String>,
    /// To what end, in the teacher's words.
    pub goal: String,
    /// What she said about it.
    pub note: String,
    /// What is to be done in the next sittings, as JSON text.
    pub sittings: String,
    /// The day it was done with.
    pub done: Option<String>,
}

/// A piece to be worked on.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NewAssignment {
    /// Which piece.
    pub piece: PieceId,
    /// Which player.
    pub player: PlayerId,
    /// Since which day.
    pub since: String,
    /// The day it is to be ready.
    pub until: Option<String>,
    /// To what end.
    pub goal: String,
    /// What is said about it.
    pub note: String,
}

/// A stretch of the piece that is worked on.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct CutRow {
    /// Its number.
    pub id: CutId,
    /// Of which piece.
    pub piece: PieceId,
    /// Of which assignment.
    pub assignment: AssignmentId,
    /// What it is called.
    pub name: String,
    /// From where.
    pub from: Hold,
    /// To where, inclusive.
    pub to: Hold,
    /// At which tempo, as it was typed (`q = 66-72`).
    pub tempo: String,
    /// What is said about it.
    pub note: String,
    /// False if its bars are not in the file of now: it is kept where it was.
    pub placed: bool,
}

/// A stretch to be worked on.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NewCut {
    /// Of which assignment.
    pub assignment: AssignmentId,
    /// What it is called.
    pub name: String,
    /// From where.
    pub from: Hold,
    /// To where, inclusive.
    pub to: Hold,
    /// At which tempo.
    pub tempo: String,
    /// What is said about it.
    pub note: String,
}

impl Kept for AssignmentRow {
    const WHAT: &'static str = "assignment";
    const TABLE: &'static str = "assignment";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            piece: row.get("piece")?,
            player: row.get("player")?,
            since: row.get("since")?,
            until: row.get("until")?,
            goal: row.get("goal")?,
            note: row.get("note")?,
            sittings: row.get("sittings")?,
            done: row.get("done")?,
        })
    }
}

impl Kept for CutRow {
    const WHAT: &'static str = "cut";
    const TABLE: &'static str = "cut";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            piece: row.get("piece")?,
            assignment: row.get("assignment")?,
            name: row.get("name")?,
            from: json(row, "from_hold")?,
            to: json(row, "to_hold")?,
            tempo: row.get("tempo")?,
            note: row.get("note")?,
            placed: row.get("placed")?,
        })
    }
}

/// Writes a cut as it is, new or not.
pub(crate) fn put_cut(connection: &Connection, row: &CutRow) -> Result<(), StoreError> {
    connection.execute(
        "INSERT INTO cut (id, piece, assignment, name, from_hold, to_hold, tempo, note, placed)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9) ON CONFLICT (id) DO UPDATE SET name = excluded.name,
         from_hold = excluded.from_hold, to_hold = excluded.to_hold, tempo = excluded.tempo, note = excluded.note,
         placed = excluded.placed",
        params![
            row.id, row.piece, row.assignment, row.name, text(&row.from)?, text(&row.to)?, row.tempo, row.note,
            row.placed
        ],
    )?;
    Ok(())
}

pub(crate) fn insert_assignment(
    connection: &Connection,
    new: &NewAssignment,
) -> Result<AssignmentRow, StoreError> {
    day(&new.since)?;
    new.until.as_deref().map_or(Ok(()), day)?;
    connection.execute(
        "INSERT INTO assignment (piece, player, since, until, goal, note) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        params![new.piece, new.player, new.since, new.until, new.goal, new.note],
    )?;
    one(connection, connection.last_insert_rowid())
}

impl Store {
    /// Gives a player a piece to work on.
    ///
    /// # Errors
    /// If a day is none, or piece or player are gone.
    pub fn assign(&self, new: &NewAssignment) -> Result<AssignmentRow, StoreError> {
        self.write(|transaction| insert_assignment(transaction, new))
    }

    /// What a player works on, what is done with last.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn assignments_of_player(&self, player: PlayerId) -> Result<Vec<AssignmentRow>, StoreError> {
        self.read(|connection| {
            list(
                connection,
                "WHERE player = ?1 ORDER BY done IS NOT NULL, since, id",
                [player],
            )
        })
    }

    /// Who works on a piece.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn assignments_of_piece(&self, piece: PieceId) -> Result<Vec<AssignmentRow>, StoreError> {
        self.read(|connection| {
            list(
                connection,
                "WHERE piece = ?1 ORDER BY done IS NOT NULL, since, id",
                [piece],
            )
        })
    }

    /// Writes an assignment anew; piece and player stay.
    ///
    /// # Errors
    /// If there is none, a day is none, or the sittings are no JSON.
    pub fn change_assignment(&self, row: &AssignmentRow) -> Result<AssignmentRow, StoreError> {
        day(&row.since)?;
        row.until.as_deref().map_or(Ok(()), day)?;
        row.done.as_deref().map_or(Ok(()), day)?;
        crate::store::is_json(&row.sittings)?;
        self.write(|transaction| {
            transaction.execute(
                "UPDATE assignment SET since = ?2, until = ?3, goal = ?4, note = ?5, sittings = ?6, done = ?7 WHERE id = ?1",
                params![row.id, row.since, row.until, row.goal, row.note, row.sittings, row.done],
            )?;
            one(transaction, row.id.0)
        })
    }

    /// Takes an assignment back, with its cuts; what was practised stays.
    ///
    /// # Errors
    /// If there is none.
    pub fn remove_assignment(&self, id: AssignmentId) -> Result<(), StoreError> {
        self.write(|transaction| remove::<AssignmentRow>(transaction, id.0))
    }

    /// The cuts of an assignment, in the order of the page.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn cuts(&self, assignment: AssignmentId) -> Result<Vec<CutRow>, StoreError> {
        let mut rows: Vec<CutRow> =
            self.read(|connection| list(connection, "WHERE assignment = ?1 ORDER BY id", [assignment]))?;
        rows.sort_by_key(|row| (row.from.bar, row.from.offset, row.id));
        Ok(rows)
    }

    /// Adds a cut. Can be undone on its piece.
    ///
    /// # Errors
    /// If there is no such assignment.
    pub fn add_cut(&self, new: &NewCut) -> Result<CutRow, StoreError> {
        let of: AssignmentRow = self.read(|connection| one(connection, new.assignment.0))?;
        self.edit(of.piece, "cut", |edit| edit.add_cut(new))
    }

    /// Removes a cut. Can be undone on its piece.
    ///
    /// # Errors
    /// If there is none.
    pub fn remove_cut(&self, id: CutId) -> Result<(), StoreError> {
        let row: CutRow = self.read(|connection| one(connection, id.0))?;
        self.edit(row.piece, "cut taken back", |edit| edit.remove_cut(id))
    }
}

impl Edit<'_, '_> {
    /// Adds a cut.
    ///
    /// # Errors
    /// If there is no such assignment of this piece.
    pub fn add_cut(&mut self, new: &NewCut) -> Result<CutRow, StoreError> {
        self.transaction.execute(
            "INSERT INTO cut (piece, assignment, name, from_hold, to_hold) VALUES (?1, ?2, ?3, ?4, ?5)",
            params![
                self.piece,
                new.assignment,
                new.name,
                text(&new.from)?,
                text(&new.to)?
            ],
        )?;
        let row = CutRow {
            id: CutId(self.transaction.last_insert_rowid()),
            piece: self.piece,
            assignment: new.assignment,
            name: new.name.clone(),
            from: new.from.clone(),
            to: new.to.clone(),
            tempo: new.tempo.clone(),
            note: new.note.clone(),
            placed: true,
        };
        put_cut(self.transaction, &row)?;
        self.note(Change::Cut {
            before: None,
            after: Some(Box::new(row.clone())),
        });
        Ok(row)
    }

    /// Removes a cut.
    ///
    /// # Errors
    /// If there is none of this piece.
    pub fn remove_cut(&mut self, id: CutId) -> Result<(), StoreError> {
        let row: CutRow = one(self.transaction, id.0)?;
        self.belongs(row.piece, "cut", id.0)?;
        remove::<CutRow>(self.transaction, id.0)?;
        self.note(Change::Cut {
            before: Some(Box::new(row)),
            after: None,
        });
        Ok(())
    }
}

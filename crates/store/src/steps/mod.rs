//! What did she do, and how is it undone? Gestures in order, each with every row before and after; nothing of it is ever dropped.

mod replace;

pub use replace::{Replaced, ReplacedRow, SITTING_MINUTES};

use crate::ids::{PieceId, StepId};
use crate::rows::{
    ChoiceRow, CutRow, Kept, MarkRow, PieceRow, VisitRow, json, list, one, put_choice, put_cut, put_mark,
    put_piece, put_visit, text,
};
use crate::{Store, StoreError, now};
use rusqlite::{Connection, Row, Transaction, params};
use serde::{Deserialize, Serialize};

/// A gesture on a piece.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct StepRow {
    /// Its number.
    pub id: StepId,
    /// On which piece.
    pub piece: PieceId,
    /// What it was, in a few words (`mark erased`).
    pub what: String,
    /// `done`; `undone`, and can be done again; `left`: undone, and then something else was done.
    pub state: String,
    /// When.
    pub made: String,
}

impl Kept for StepRow {
    const WHAT: &'static str = "step";
    const TABLE: &'static str = "step";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            piece: row.get("piece")?,
            what: row.get("what")?,
            state: row.get("state")?,
            made: row.get("made")?,
        })
    }
}

/// A row before and after a gesture; none before: it was made, none after: it was erased.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(tag = "row", rename_all = "snake_case")]
pub(crate) enum Change {
    Mark {
        before: Option<Box<MarkRow>>,
        after: Option<Box<MarkRow>>,
    },
    Choice {
        before: Option<Box<ChoiceRow>>,
        after: Option<Box<ChoiceRow>>,
    },
    Cut {
        before: Option<Box<CutRow>>,
        after: Option<Box<CutRow>>,
    },
    Piece {
        before: Box<PieceRow>,
        after: Box<PieceRow>,
    },
    Visit {
        before: Box<VisitRow>,
        after: Box<VisitRow>,
    },
}

impl Change {
    /// Whether another change is of the same row.
    fn is_of_the_row_of(&self, other: &Self) -> bool {
        let one = |before: Option<i64>, after: Option<i64>| before.or(after);
        let row = |change: &Self| match change {
            Self::Mark { before, after } => (
                0,
                one(
                    before.as_ref().map(|row| row.id.0),
                    after.as_ref().map(|row| row.id.0),
                ),
            ),
            Self::Choice { before, after } => (
                1,
                one(
                    before.as_ref().map(|row| row.id.0),
                    after.as_ref().map(|row| row.id.0),
                ),
            ),
            Self::Cut { before, after } => (
                2,
                one(
                    before.as_ref().map(|row| row.id.0),
                    after.as_ref().map(|row| row.id.0),
                ),
            ),
            Self::Piece { before, .. } => (3, Some(before.id.0)),
            Self::Visit { before, .. } => (4, Some(before.id.0)),
        };
        row(self) == row(other)
    }

    /// The same row before this change and after a later one.
    fn then(&mut self, later: Self) {
        match (self, later) {
            (Self::Mark { after, .. }, Self::Mark { after: later, .. }) => *after = later,
            (Self::Choice { after, .. }, Self::Choice { after: later, .. }) => *after = later,
            (Self::Cut { after, .. }, Self::Cut { after: later, .. }) => *after = later,
            (Self::Piece { after, .. }, Self::Piece { after: later, .. }) => *after = later,
            (Self::Visit { after, .. }, Self::Visit { after: later, .. }) => *after = later,
            _ => {}
        }
    }

    /// Puts the row back to what it was, or forth.
    fn set(&self, connection: &Connection, back: bool) -> Result<(), StoreError> {
        let pick = |before, after| if back { before } else { after };
        match self {
            Self::Mark { before, after } => match if back { before } else { after } {
                Some(row) => put_mark(connection, row),
                None => gone(
                    connection,
                    "mark",
                    before.as_ref().or(after.as_ref()).map(|row| row.id.0),
                ),
            },
            Self::Choice { before, after } => match if back { before } else { after } {
                Some(row) => put_choice(connection, row),
                None => gone(
                    connection,
                    "choice",
                    before.as_ref().or(after.as_ref()).map(|row| row.id.0),
                ),
            },
            Self::Cut { before, after } => match if back { before } else { after } {
                Some(row) => put_cut(connection, row),
                None => gone(
                    connection,
                    "cut",
                    before.as_ref().or(after.as_ref()).map(|row| row.id.0),
                ),
            },
            Self::Piece { before, after } => put_piece(connection, pick(before, after)),
            Self::Visit { before, after } => {
                let row: &VisitRow = if back { before } else { after };
                put_visit(connection, row)
            }
        }
    }
}

fn gone(connection: &Connection, table: &str, id: Option<i64>) -> Result<(), StoreError> {
    connection.execute(&format!("DELETE FROM {table} WHERE id = ?1"), [id])?;
    Ok(())
}

/// A gesture that is being made: whatever it changes is one step, whole or not at all.
#[derive(Debug)]
pub struct Edit<'a, 'c> {
    pub(crate) transaction: &'a Transaction<'c>,
    pub(crate) piece: PieceId,
    changes: Vec<Change>,
}

impl Edit<'_, '_> {
    pub(crate) fn note(&mut self, change: Change) {
        self.changes.push(change);
    }

    pub(crate) fn belongs(&self, piece: PieceId, what: &'static str, id: i64) -> Result<(), StoreError> {
        if piece == self.piece {
            Ok(())
        } else {
            Err(StoreError::Gone { what, id })
        }
    }
}

impl Store {
    /// Makes one gesture on a piece: everything done in `edit` is undone and done again together.
    ///
    /// # Errors
    /// If the piece is gone, or whatever `edit` says; then nothing was done.
    pub fn edit<T>(
        &self,
        piece: PieceId,
        what: &str,
        edit: impl FnOnce(&mut Edit<'_, '_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        self.write(|transaction| step(transaction, piece, what, edit))
    }

    /// Undoes the last gesture on a piece; `None` if there is none.
    ///
    /// # Errors
    /// If it can't be undone any more, because what it belonged to was removed.
    pub fn undo(&self, piece: PieceId) -> Result<Option<StepRow>, StoreError> {
        self.turn(
            piece,
            "WHERE piece = ?1 AND state = 'done' ORDER BY id DESC LIMIT 1",
            true,
        )
    }

    /// Does the gesture again that was undone last; `None` if there is none.
    ///
    /// # Errors
    /// As [`Self::undo`].
    pub fn redo(&self, piece: PieceId) -> Result<Option<StepRow>, StoreError> {
        self.turn(
            piece,
            "WHERE piece = ?1 AND state = 'undone' ORDER BY id LIMIT 1",
            false,
        )
    }

    /// What was done on a piece, the newest first, undone gestures included.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn steps(&self, piece: PieceId) -> Result<Vec<StepRow>, StoreError> {
        self.read(|connection| list(connection, "WHERE piece = ?1 ORDER BY id DESC", [piece]))
    }

    fn turn(&self, piece: PieceId, which: &str, back: bool) -> Result<Option<StepRow>, StoreError> {
        let turned = self.write(|transaction| {
            let Some(row) = list::<StepRow>(transaction, which, [piece])?.pop() else {
                return Ok(None);
            };
            let mut changes: Vec<Change> =
                transaction.query_row("SELECT changes FROM step WHERE id = ?1", [row.id], |row| {
                    json(row, "changes")
                })?;
            if back {
                changes.reverse();
            }
            for change in &changes {
                change.set(transaction, back)?;
            }
            set_state(transaction, row.id, if back { "undone" } else { "done" })?;
            Ok(Some(one(transaction, row.id.0)?))
        });
        match turned {
            Err(error) if is_orphan(&error) => self.leave(piece, which, back),
            turned => turned,
        }
    }

    /// Passes over a gesture whose row belonged to a player or an assignment that was removed: the next call goes on behind it.
    fn leave(&self, piece: PieceId, which: &str, back: bool) -> Result<Option<StepRow>, StoreError> {
        let row = self.write(|transaction| {
            let row = list::<StepRow>(transaction, which, [piece])?.pop();
            if let Some(row) = &row {
                set_state(transaction, row.id, "left")?;
            }
            Ok(row)
        })?;
        let what = if back { "undone" } else { "done again" };
        Err(StoreError::refused(
            format!(
                "“{}” can't be {what}: what it belonged to was removed",
                row.map(|row| row.what).unwrap_or_default()
            ),
            "everything else stays as it is",
        ))
    }
}

fn set_state(transaction: &Transaction<'_>, step: StepId, state: &str) -> Result<(), StoreError> {
    transaction.execute("UPDATE step SET state = ?2 WHERE id = ?1", params![step, state])?;
    Ok(())
}

fn is_orphan(error: &StoreError) -> bool {
    matches!(
        error,
        StoreError::Database(error) if error.sqlite_error_code() == Some(rusqlite::ErrorCode::ConstraintViolation)
    )
}

/// Runs a gesture in a transaction and keeps it as a step.
pub(crate) fn step<T>(
    transaction: &Transaction<'_>,
    piece: PieceId,
    what: &str,
    edit: impl FnOnce(&mut Edit<'_, '_>) -> Result<T, StoreError>,
) -> Result<T, StoreError> {
    one::<PieceRow>(transaction, piece.0)?;
    let mut made = Edit {
        transaction,
        piece,
        changes: Vec::new(),
    };
    let value = edit(&mut made)?;
    if made.changes.is_empty() {
        return Ok(value);
    }
    transaction.execute(
        "UPDATE step SET state = 'left' WHERE piece = ?1 AND state = 'undone'",
        [piece],
    )?;
    transaction.execute(
        "INSERT INTO step (piece, what, state, changes, made) VALUES (?1, ?2, 'done', ?3, ?4)",
        params![piece, what, text(&made.changes)?, now()],
    )?;
    Ok(value)
}

//! Which plans were made? Each with what was asked, to be made again from the log of then.

use super::{Kept, day, list, one, remove};
use crate::ids::{CallId, PieceId, PlanId, PlayerId};
use crate::store::is_json;
use crate::{Store, StoreError, now};
use rusqlite::{Row, params};
use serde::{Deserialize, Serialize};

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

impl Store {
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

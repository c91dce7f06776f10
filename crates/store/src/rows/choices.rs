//! What has the teacher decided where we propose? Her choices, each holding on to its note.

use super::{Kept, json, json_if, list, next_id, of_piece, one, remove, text, text_if};
use crate::bars::Hold;
use crate::ids::{ChoiceId, PieceId, PlayerId};
use crate::steps::Change;
use crate::store::is_json;
use crate::{Edit, Store, StoreError, now};
use rusqlite::{Connection, Row, params};
use serde::{Deserialize, Serialize};

/// A choice of hers where we propose: a fingering, a breath, a key, how an ornament is played.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct ChoiceRow {
    /// Its number.
    pub id: ChoiceId,
    /// In which piece.
    pub piece: PieceId,
    /// For one player only; `None` for whoever plays it.
    pub player: Option<PlayerId>,
    /// `fingering`, `breath`, `key`, `ornament`; any name.
    pub about: String,
    /// Where, or from where.
    pub from: Hold,
    /// To where, for a stretch; inclusive.
    pub to: Option<Hold>,
    /// What she chose, as JSON text.
    pub value: String,
    /// False if its place is not in the file of now: it is kept, and to be said.
    pub placed: bool,
    /// When it was made.
    pub made: String,
    /// When it was last changed.
    pub changed: String,
}

/// A choice to be made.
#[derive(Clone, PartialEq, Eq, Debug)]
#[expect(missing_docs, reason = "as in ChoiceRow")]
pub struct NewChoice {
    pub player: Option<PlayerId>,
    pub about: String,
    pub from: Hold,
    pub to: Option<Hold>,
    pub value: String,
}

impl Kept for ChoiceRow {
    const WHAT: &'static str = "choice";
    const TABLE: &'static str = "choice";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            piece: row.get("piece")?,
            player: row.get("player")?,
            about: row.get("about")?,
            from: json(row, "from_hold")?,
            to: json_if(row, "to_hold")?,
            value: row.get("value")?,
            placed: row.get("placed")?,
            made: row.get("made")?,
            changed: row.get("changed")?,
        })
    }
}

/// Writes a choice as it is, new or not.
pub(crate) fn put_choice(connection: &Connection, row: &ChoiceRow) -> Result<(), StoreError> {
    connection
        .prepare_cached(
            "INSERT INTO choice (id, piece, player, about, bar, from_hold, to_hold, value, placed, made, changed)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)
             ON CONFLICT (id) DO UPDATE SET bar = excluded.bar, from_hold = excluded.from_hold,
             to_hold = excluded.to_hold, value = excluded.value, placed = excluded.placed, changed = excluded.changed",
        )?
        .execute(params![
            row.id, row.piece, row.player, row.about, row.from.bar, text(&row.from)?, text_if(row.to.as_ref())?,
            row.value, row.placed, row.made, row.changed
        ])?;
    Ok(())
}

impl Store {
    /// The choices in a piece, in the order of the page; with a player, those for whoever plays it and for her.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn choices(&self, piece: PieceId, player: Option<PlayerId>) -> Result<Vec<ChoiceRow>, StoreError> {
        let mut rows: Vec<ChoiceRow> = self.read(|connection| of_piece(connection, piece, player))?;
        rows.sort_by_key(|row| (row.from.bar, row.from.offset, row.id));
        Ok(rows)
    }

    /// Makes a choice; one about the same at the same place for the same player is changed.
    ///
    /// # Errors
    /// If the piece is gone, or the value is no JSON.
    pub fn choose(&self, piece: PieceId, new: &NewChoice) -> Result<ChoiceRow, StoreError> {
        self.edit(piece, "choice", |edit| edit.choose(new))
    }

    /// Takes a choice back: the proposal stands again.
    ///
    /// # Errors
    /// If it is gone.
    pub fn take_back_choice(&self, id: ChoiceId) -> Result<(), StoreError> {
        let row: ChoiceRow = self.read(|connection| one(connection, id.0))?;
        self.edit(row.piece, "choice taken back", |edit| edit.take_back_choice(id))
    }
}

impl Edit<'_, '_> {
    /// Makes a choice; one about the same at the same place for the same player is changed.
    ///
    /// # Errors
    /// If the value is no JSON.
    pub fn choose(&mut self, new: &NewChoice) -> Result<ChoiceRow, StoreError> {
        is_json(&new.value)?;
        let there: Vec<ChoiceRow> = list(
            self.transaction,
            "WHERE piece = ?1 AND about = ?2 AND player IS ?3 AND bar = ?4",
            params![self.piece, new.about, new.player, new.from.bar],
        )?;
        let before = there
            .into_iter()
            .find(|row| row.placed && row.from.is_at(&new.from));
        let now = now();
        let row = ChoiceRow {
            id: match &before {
                Some(row) => row.id,
                None => ChoiceId(next_id(self.transaction, "choice")?),
            },
            piece: self.piece,
            player: new.player,
            about: new.about.clone(),
            from: new.from.clone(),
            to: new.to.clone(),
            value: new.value.clone(),
            placed: true,
            made: before
                .as_ref()
                .map_or_else(|| now.clone(), |row| row.made.clone()),
            changed: now,
        };
        put_choice(self.transaction, &row)?;
        self.note(Change::Choice {
            before: before.map(Box::new),
            after: Some(Box::new(row.clone())),
        });
        Ok(row)
    }

    /// Takes a choice back.
    ///
    /// # Errors
    /// If it is gone or of another piece.
    pub fn take_back_choice(&mut self, id: ChoiceId) -> Result<(), StoreError> {
        let row: ChoiceRow = one(self.transaction, id.0)?;
        self.belongs(row.piece, "choice", id.0)?;
        remove::<ChoiceRow>(self.transaction, id.0)?;
        self.note(Change::Choice {
            before: Some(Box::new(row)),
            after: None,
        });
        Ok(())
    }
}

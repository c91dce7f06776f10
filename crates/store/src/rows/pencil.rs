//! What has the teacher pencilled? Her marks, each holding on to its note, apart from what we propose.

use super::{Kept, json, json_if, next_id, of_piece, one, remove, text, text_if};
use crate::bars::Hold;
use crate::ids::{MarkId, PieceId, PlayerId};
use crate::steps::Change;
use crate::store::is_json;
use crate::{Edit, Store, StoreError, now};
use rusqlite::{Connection, Row, params};
use serde::{Deserialize, Serialize};

/// What a mark of hers does.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MarkAct {
    /// It is her own.
    #[default]
    Added,
    /// She confirms one of ours: it is never left out again.
    Confirmed,
    /// She puts hers in the place of one of ours, or moves ours to where hers is.
    Changed,
    /// She wants one of ours not to be there.
    Erased,
}

impl MarkAct {
    const ALL: [Self; 4] = [Self::Added, Self::Confirmed, Self::Changed, Self::Erased];

    /// Its name in the database and in exports.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Confirmed => "confirmed",
            Self::Changed => "changed",
            Self::Erased => "erased",
        }
    }
}

/// Which of our marks is meant: by its matter (`hard-spots`, `breaths` …) and its place.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Ours {
    /// Its matter, by the legend's name.
    pub matter: String,
    /// From where.
    pub from: Hold,
    /// To where, for a mark that reaches.
    pub to: Option<Hold>,
}

/// A mark of hers.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct MarkRow {
    /// Its number.
    pub id: MarkId,
    /// On which piece.
    pub piece: PieceId,
    /// For one player only; `None` for whoever plays it.
    pub player: Option<PlayerId>,
    /// What it does.
    pub act: MarkAct,
    /// The sign, by the legend's name (`circle`, `comma`, `words`).
    pub sign: String,
    /// `graphite`, `first` or `second`.
    pub pencil: String,
    /// What is written with it: words, numbers, an accidental.
    pub text: String,
    /// Why it is there, in her words.
    pub note: String,
    /// From where.
    pub from: Hold,
    /// To where, for a mark that reaches; inclusive.
    pub to: Option<Hold>,
    /// Which of ours it is about, unless she added it.
    pub ours: Option<Ours>,
    /// Whatever else drawing it needs, as JSON text; `{}` for nothing.
    pub document: String,
    /// False if its place is not in the file of now: it is kept where it was, and to be said.
    pub placed: bool,
    /// When it was made.
    pub made: String,
    /// When it was last changed.
    pub changed: String,
}

/// A mark to be made.
#[derive(Clone, PartialEq, Eq, Debug)]
#[expect(missing_docs, reason = "as in MarkRow")]
pub struct NewMark {
    pub player: Option<PlayerId>,
    pub act: MarkAct,
    pub sign: String,
    pub pencil: String,
    pub text: String,
    pub note: String,
    pub from: Hold,
    pub to: Option<Hold>,
    pub ours: Option<Ours>,
    pub document: String,
}

impl NewMark {
    /// A graphite mark of her own at a place; the fields are public for whatever else it has.
    #[must_use]
    pub fn at(sign: &str, from: Hold) -> Self {
        Self {
            player: None,
            act: MarkAct::Added,
            sign: sign.to_owned(),
            pencil: "graphite".to_owned(),
            text: String::new(),
            note: String::new(),
            from,
            to: None,
            ours: None,
            document: "{}".to_owned(),
        }
    }
}

impl Kept for MarkRow {
    const WHAT: &'static str = "mark";
    const TABLE: &'static str = "mark";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        let act: String = row.get("act")?;
        let matter: Option<String> = row.get("ours_matter")?;
        let ours = match (matter, json_if(row, "ours_from")?) {
            (Some(matter), Some(from)) => Some(Ours {
                matter,
                from,
                to: json_if(row, "ours_to")?,
            }),
            _ => None,
        };
        Ok(Self {
            id: row.get("id")?,
            piece: row.get("piece")?,
            player: row.get("player")?,
            act: MarkAct::ALL
                .into_iter()
                .find(|known| known.name() == act)
                .unwrap_or_default(),
            sign: row.get("sign")?,
            pencil: row.get("pencil")?,
            text: row.get("text")?,
            note: row.get("note")?,
            from: json(row, "from_hold")?,
            to: json_if(row, "to_hold")?,
            ours,
            document: row.get("document")?,
            placed: row.get("placed")?,
            made: row.get("made")?,
            changed: row.get("changed")?,
        })
    }
}

/// Writes a mark as it is, new or not.
pub(crate) fn put_mark(connection: &Connection, row: &MarkRow) -> Result<(), StoreError> {
    let ours = row.ours.as_ref();
    connection
        .prepare_cached(
            "INSERT INTO mark (id, piece, player, act, sign, pencil, text, note, bar, from_hold, to_hold, ours_matter,
             ours_from, ours_to, document, placed, made, changed)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18)
             ON CONFLICT (id) DO UPDATE SET player = excluded.player, act = excluded.act, sign = excluded.sign,
             pencil = excluded.pencil, text = excluded.text, note = excluded.note, bar = excluded.bar,
             from_hold = excluded.from_hold, to_hold = excluded.to_hold, ours_matter = excluded.ours_matter,
             ours_from = excluded.ours_from, ours_to = excluded.ours_to, document = excluded.document,
             placed = excluded.placed, changed = excluded.changed",
        )?
        .execute(params![
            row.id, row.piece, row.player, row.act.name(), row.sign, row.pencil, row.text, row.note, row.from.bar,
            text(&row.from)?, text_if(row.to.as_ref())?, ours.map(|ours| &ours.matter),
            text_if(ours.map(|ours| &ours.from))?, text_if(ours.and_then(|ours| ours.to.as_ref()))?, row.document,
            row.placed, row.made, row.changed
        ])?;
    Ok(())
}

impl Store {
    /// The marks on a piece, in the order of the page; with a player, those for whoever plays it and for her.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn marks(&self, piece: PieceId, player: Option<PlayerId>) -> Result<Vec<MarkRow>, StoreError> {
        let mut rows: Vec<MarkRow> = self.read(|connection| of_piece(connection, piece, player))?;
        rows.sort_by_key(|row| (row.from.bar, row.from.offset, row.id));
        Ok(rows)
    }

    /// Adds a mark. Can be undone, as all that follows.
    ///
    /// # Errors
    /// If the piece is gone, or the document is no JSON.
    pub fn add_mark(&self, piece: PieceId, new: &NewMark) -> Result<MarkRow, StoreError> {
        self.edit(piece, "mark", |edit| edit.add_mark(new))
    }

    /// Writes a mark anew: moved, another sign, another word.
    ///
    /// # Errors
    /// If it is gone, or the document is no JSON.
    pub fn change_mark(&self, row: &MarkRow) -> Result<MarkRow, StoreError> {
        self.edit(row.piece, "mark changed", |edit| edit.change_mark(row))
    }

    /// Erases a mark of hers. (That one of ours is not wanted is a mark with [`MarkAct::Erased`].)
    ///
    /// # Errors
    /// If it is gone.
    pub fn erase_mark(&self, id: MarkId) -> Result<(), StoreError> {
        let row: MarkRow = self.read(|connection| one(connection, id.0))?;
        self.edit(row.piece, "mark erased", |edit| edit.erase_mark(id))
    }
}

impl Edit<'_, '_> {
    /// Adds a mark.
    ///
    /// # Errors
    /// If the document is no JSON.
    pub fn add_mark(&mut self, new: &NewMark) -> Result<MarkRow, StoreError> {
        is_json(&new.document)?;
        let now = now();
        let row = MarkRow {
            id: MarkId(next_id(self.transaction, "mark")?),
            piece: self.piece,
            player: new.player,
            act: new.act,
            sign: new.sign.clone(),
            pencil: new.pencil.clone(),
            text: new.text.clone(),
            note: new.note.clone(),
            from: new.from.clone(),
            to: new.to.clone(),
            ours: new.ours.clone(),
            document: new.document.clone(),
            placed: true,
            made: now.clone(),
            changed: now,
        };
        put_mark(self.transaction, &row)?;
        self.note(Change::Mark {
            before: None,
            after: Some(Box::new(row.clone())),
        });
        Ok(row)
    }

    /// Writes a mark anew.
    ///
    /// # Errors
    /// If it is gone or of another piece, or the document is no JSON.
    pub fn change_mark(&mut self, row: &MarkRow) -> Result<MarkRow, StoreError> {
        is_json(&row.document)?;
        let before: MarkRow = one(self.transaction, row.id.0)?;
        self.belongs(before.piece, "mark", row.id.0)?;
        let after = MarkRow {
            piece: before.piece,
            made: before.made.clone(),
            changed: now(),
            ..row.clone()
        };
        put_mark(self.transaction, &after)?;
        self.note(Change::Mark {
            before: Some(Box::new(before)),
            after: Some(Box::new(after.clone())),
        });
        Ok(after)
    }

    /// Erases a mark.
    ///
    /// # Errors
    /// If it is gone or of another piece.
    pub fn erase_mark(&mut self, id: MarkId) -> Result<(), StoreError> {
        let row: MarkRow = one(self.transaction, id.0)?;
        self.belongs(row.piece, "mark", id.0)?;
        remove::<MarkRow>(self.transaction, id.0)?;
        self.note(Change::Mark {
            before: Some(Box::new(row)),
            after: None,
        });
        Ok(())
    }
}

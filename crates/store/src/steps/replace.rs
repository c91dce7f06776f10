//! What happens to all that was pencilled when a piece gets a corrected file? It goes along, and what could not is said and kept.

use super::{Change, Edit, StepRow, step};
use crate::bars::{Bars, Carried, Carrier, Fate, Hold};
use crate::files::release;
use crate::ids::{ChoiceId, CutId, MarkId, PieceId, StepId, VisitId};
use crate::rows::{
    ChoiceRow, CutRow, MarkRow, NewFile, PieceRow, VisitRow, bare_name, insert_version, json, list, one,
    put_choice, put_cut, put_mark, put_visit, text,
};
use crate::{Store, StoreError, now};
use rusqlite::{Transaction, params};
use serde_json::Value;

/// What became of everything that holds on to a place of the piece.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Replaced {
    /// The piece as it is now (for a preview: as it is still).
    pub piece: PieceRow,
    /// Marks, choices, cuts and visits in the order of the old page.
    pub rows: Vec<ReplacedRow>,
}

/// A row, and where it went.
#[derive(Clone, PartialEq, Eq, Debug)]
#[expect(missing_docs, reason = "each names the row that it is about")]
pub enum ReplacedRow {
    Mark {
        id: MarkId,
        sign: String,
        from: Hold,
        now: Carried,
    },
    Choice {
        id: ChoiceId,
        about: String,
        from: Hold,
        now: Carried,
    },
    Cut {
        id: CutId,
        name: String,
        from: Hold,
        now: Carried,
    },
    /// A visit by its bars' labels then and now.
    Visit {
        id: VisitId,
        from: (String, String),
        now: Option<(String, String)>,
        fate: Fate,
    },
}

impl ReplacedRow {
    /// What became of it.
    #[must_use]
    pub const fn fate(&self) -> Fate {
        match self {
            Self::Mark { now, .. } | Self::Choice { now, .. } | Self::Cut { now, .. } => now.fate,
            Self::Visit { fate, .. } => *fate,
        }
    }

    /// The label of its (first) bar on the old page.
    #[must_use]
    pub fn old_bar(&self) -> &str {
        match self {
            Self::Mark { from, .. } | Self::Choice { from, .. } | Self::Cut { from, .. } => &from.label,
            Self::Visit { from, .. } => &from.0,
        }
    }
}

impl Replaced {
    fn of(&self, fate: Fate) -> impl Iterator<Item = &ReplacedRow> {
        self.rows.iter().filter(move |row| row.fate() == fate)
    }

    /// Those that stay or went along with their notes.
    pub fn carried(&self) -> impl Iterator<Item = &ReplacedRow> {
        self.of(Fate::Stays).chain(self.of(Fate::Moved))
    }

    /// Those to be looked at: their note was changed, or an end of a stretch is gone.
    pub fn doubtful(&self) -> impl Iterator<Item = &ReplacedRow> {
        self.of(Fate::Doubtful)
    }

    /// Those whose place is not in the corrected file; they are kept and shown apart.
    pub fn unplaced(&self) -> impl Iterator<Item = &ReplacedRow> {
        self.of(Fate::Unplaced)
    }
}

impl Store {
    /// Gives a piece a corrected file. `old` and `new` are the bars of the same part, in the file of now and in the corrected one.
    /// Everything that holds on to a place goes along with its bar and note; earlier files stay ([`Store::versions`]); one
    /// [`Store::undo`] brings the earlier file and every place back. The summary has to be set again.
    ///
    /// # Errors
    /// If there is no such piece, or it can't be written.
    pub fn replace_file(
        &self,
        piece: PieceId,
        file: &NewFile,
        old: &Bars,
        new: &Bars,
    ) -> Result<Replaced, StoreError> {
        self.write_with_file(&file.bytes, |transaction, hash| {
            step(transaction, piece, "corrected file", |edit| {
                with_file(edit, &file.file_name, hash, old, new)
            })
        })
    }

    /// The same for a piece whose reading is put right, gesture after gesture: those of one sitting are one kept file and one step. The
    /// file between is let go of if it was made by the gesture before, not longer than [`SITTING_MINUTES`] ago, and nothing
    /// was done since (no mark put, no take recorded on it, nothing undone).
    ///
    /// # Errors
    /// As [`Self::replace_file`].
    pub fn mend_file(
        &self,
        piece: PieceId,
        file: &NewFile,
        old: &Bars,
        new: &Bars,
    ) -> Result<Replaced, StoreError> {
        self.write_with_file(&file.bytes, |transaction, hash| {
            let before: PieceRow = one(transaction, piece.0)?;
            let sitting = last_mending(transaction, &before)?;
            let replaced = step(transaction, piece, MENDED, |edit| {
                with_file(edit, &file.file_name, hash, old, new)
            })?;
            if let Some(sitting) = sitting {
                fold(transaction, piece, sitting)?;
                transaction.execute(
                    "DELETE FROM piece_version WHERE piece = ?1 AND version = ?2",
                    params![piece, before.version],
                )?;
                release(transaction)?;
            }
            Ok(replaced)
        })
    }

    /// What [`Self::replace_file`] would do, without doing it.
    ///
    /// # Errors
    /// If there is no such piece.
    pub fn preview_replace(&self, piece: PieceId, old: &Bars, new: &Bars) -> Result<Replaced, StoreError> {
        let mut connection = self.connection();
        // Never committed.
        let transaction = crate::begin(&mut connection)?;
        let row: PieceRow = one(&transaction, piece.0)?;
        step(&transaction, piece, "corrected file", |edit| {
            carry_all(edit, row, &Carrier::new(old, new), old, new)
        })
    }
}

/// What a step of mendings is called.
const MENDED: &str = "put right from the page";
/// Mendings of one sitting follow on one another within so many minutes: our own judgement.
pub const SITTING_MINUTES: u32 = 60;

/// The step of mendings that made the file of now, if nothing was done since and nothing else holds on to that file.
fn last_mending(transaction: &Transaction<'_>, piece: &PieceRow) -> Result<Option<StepId>, StoreError> {
    let last = list::<StepRow>(
        transaction,
        "WHERE piece = ?1 AND state = 'done' ORDER BY id DESC LIMIT 1",
        [piece.id],
    )?;
    let Some(last) = last.into_iter().find(|step| step.what == MENDED) else {
        return Ok(None);
    };
    let within = format!("-{SITTING_MINUTES} minutes");
    let goes_on: bool = transaction.query_row(
        "SELECT datetime(?1) >= datetime(?2, ?3)
           AND NOT EXISTS (SELECT 1 FROM take WHERE piece = ?4 AND version = ?5)
           AND NOT EXISTS (SELECT 1 FROM look_first WHERE piece = ?4 AND version = ?5)",
        params![last.made, now(), within, piece.id, piece.version],
        |row| Ok(row.get::<_, Option<bool>>(0)?.unwrap_or(false)),
    )?;
    let made: Vec<Change> = changes(transaction, last.id)?;
    let made_it = made
        .iter()
        .any(|change| matches!(change, Change::Piece { after, .. } if after.version == piece.version));
    Ok((goes_on && made_it).then_some(last.id))
}

/// Makes the newest step part of an earlier one: undone, both are undone.
fn fold(transaction: &Transaction<'_>, piece: PieceId, into: StepId) -> Result<(), StoreError> {
    let newest = list::<StepRow>(transaction, "WHERE piece = ?1 ORDER BY id DESC LIMIT 1", [piece])?;
    let Some(newest) = newest.into_iter().find(|step| step.id != into) else {
        return Ok(());
    };
    let mut all = changes(transaction, into)?;
    for change in changes(transaction, newest.id)? {
        match all.iter_mut().find(|known| known.is_of_the_row_of(&change)) {
            Some(known) => known.then(change),
            None => all.push(change),
        }
    }
    transaction.execute(
        "UPDATE step SET changes = ?2, made = ?3 WHERE id = ?1",
        params![into, text(&all)?, newest.made],
    )?;
    transaction.execute("DELETE FROM step WHERE id = ?1", [newest.id])?;
    Ok(())
}

fn changes(transaction: &Transaction<'_>, step: StepId) -> Result<Vec<Change>, StoreError> {
    Ok(
        transaction.query_row("SELECT changes FROM step WHERE id = ?1", [step], |row| {
            json(row, "changes")
        })?,
    )
}

/// The piece with another file, everything that holds on to a place gone along.
fn with_file(
    edit: &mut Edit<'_, '_>,
    name: &str,
    hash: &str,
    old: &Bars,
    new: &Bars,
) -> Result<Replaced, StoreError> {
    let (transaction, piece) = (edit.transaction, edit.piece);
    let version: i64 = transaction.query_row(
        "SELECT MAX(version) + 1 FROM piece_version WHERE piece = ?1",
        [piece],
        |row| row.get(0),
    )?;
    let name = bare_name(name);
    insert_version(transaction, piece, version, name, hash)?;
    let row = edit.change_piece(|row| {
        row.version = version;
        name.clone_into(&mut row.file_name);
        hash.clone_into(&mut row.file);
    })?;
    carry_all(edit, row, &Carrier::new(old, new), old, new)
}

fn carry_all(
    edit: &mut Edit<'_, '_>,
    piece: PieceRow,
    carrier: &Carrier<'_>,
    old: &Bars,
    new: &Bars,
) -> Result<Replaced, StoreError> {
    let mut rows = Vec::new();
    for mark in list::<MarkRow>(edit.transaction, "WHERE piece = ?1 ORDER BY bar, id", [piece.id])? {
        rows.push(carry_mark(edit, carrier, mark)?);
    }
    for choice in list::<ChoiceRow>(edit.transaction, "WHERE piece = ?1 ORDER BY bar, id", [piece.id])? {
        rows.push(carry_choice(edit, carrier, choice)?);
    }
    for cut in list::<CutRow>(edit.transaction, "WHERE piece = ?1 ORDER BY id", [piece.id])? {
        rows.push(carry_cut(edit, carrier, cut)?);
    }
    for visit in list::<VisitRow>(edit.transaction, "WHERE piece = ?1 ORDER BY date, id", [piece.id])? {
        rows.push(carry_visit(edit, carrier, visit, old, new)?);
    }
    Ok(Replaced { piece, rows })
}

/// One end or both; the worse fate is the row's.
fn ends(carrier: &Carrier<'_>, from: &Hold, to: Option<&Hold>) -> (Carried, Option<Hold>) {
    match to {
        None => (carrier.one(from), None),
        Some(to) => {
            let (first, last) = carrier.stretch(from, to);
            let fate = first.fate.max(last.fate);
            (
                Carried {
                    hold: first.hold,
                    fate,
                },
                Some(last.hold),
            )
        }
    }
}

fn carry_mark(
    edit: &mut Edit<'_, '_>,
    carrier: &Carrier<'_>,
    before: MarkRow,
) -> Result<ReplacedRow, StoreError> {
    let (mut now, to) = ends(carrier, &before.from, before.to.as_ref());
    let mut after = before.clone();
    // Which of ours it is about: where that can't be found any more, the mark stays hers, where it is.
    if let Some(ours) = &mut after.ours {
        let (from, to) = ends(carrier, &ours.from, ours.to.as_ref());
        if before.act != crate::MarkAct::Changed {
            now.fate = now.fate.max(from.fate);
        }
        (ours.from, ours.to) = (from.hold, to);
    }
    (after.from, after.to) = (now.hold.clone(), to);
    after.placed = now.fate != Fate::Unplaced;
    if after != before {
        put_mark(edit.transaction, &after)?;
        edit.note(Change::Mark {
            before: Some(Box::new(before.clone())),
            after: Some(Box::new(after)),
        });
    }
    Ok(ReplacedRow::Mark {
        id: before.id,
        sign: before.sign,
        from: before.from,
        now,
    })
}

fn carry_choice(
    edit: &mut Edit<'_, '_>,
    carrier: &Carrier<'_>,
    before: ChoiceRow,
) -> Result<ReplacedRow, StoreError> {
    let (now, to) = ends(carrier, &before.from, before.to.as_ref());
    let after = ChoiceRow {
        from: now.hold.clone(),
        to,
        placed: now.fate != Fate::Unplaced,
        ..before.clone()
    };
    if after != before {
        put_choice(edit.transaction, &after)?;
        edit.note(Change::Choice {
            before: Some(Box::new(before.clone())),
            after: Some(Box::new(after)),
        });
    }
    Ok(ReplacedRow::Choice {
        id: before.id,
        about: before.about,
        from: before.from,
        now,
    })
}

fn carry_cut(
    edit: &mut Edit<'_, '_>,
    carrier: &Carrier<'_>,
    before: CutRow,
) -> Result<ReplacedRow, StoreError> {
    let (now, to) = ends(carrier, &before.from, Some(&before.to));
    let after = CutRow {
        from: now.hold.clone(),
        to: to.unwrap_or_else(|| before.to.clone()),
        placed: now.fate != Fate::Unplaced,
        ..before.clone()
    };
    if after != before {
        put_cut(edit.transaction, &after)?;
        edit.note(Change::Cut {
            before: Some(Box::new(before.clone())),
            after: Some(Box::new(after)),
        });
    }
    Ok(ReplacedRow::Cut {
        id: before.id,
        name: before.name,
        from: before.from,
        now,
    })
}

/// A visit keeps its first writing; its line gets the labels that its bars have now.
fn carry_visit(
    edit: &mut Edit<'_, '_>,
    carrier: &Carrier<'_>,
    before: VisitRow,
    old: &Bars,
    new: &Bars,
) -> Result<ReplacedRow, StoreError> {
    let mut line: Value = serde_json::from_str(&before.line)?;
    let label = |line: &Value, name: &str| {
        line.get(name)
            .and_then(Value::as_str)
            .unwrap_or_default()
            .to_owned()
    };
    let from = (label(&line, "from_bar"), label(&line, "to_bar"));
    let range = old
        .labelled(&from.0)
        .zip(old.labelled(&from.1))
        .filter(|(first, last)| first <= last);
    let bars = |(first, last): (usize, usize)| {
        let nearest = (first..=last).find_map(|bar| carrier.bar(bar));
        nearest.zip((first..=last).rev().find_map(|bar| carrier.bar(bar)))
    };
    let now = range
        .and_then(bars)
        .and_then(|(first, last)| Some((new.get(first)?.label.clone(), new.get(last)?.label.clone())));
    let whole =
        range.is_some_and(|(first, last)| carrier.bar(first).is_some() && carrier.bar(last).is_some());
    let fate = match &now {
        None => Fate::Unplaced,
        Some(_) if !whole => Fate::Doubtful,
        Some(now) if *now == from => Fate::Stays,
        Some(_) => Fate::Moved,
    };
    if let (Some((first, last)), Some(line)) = (&now, line.as_object_mut()) {
        line.insert("from_bar".to_owned(), first.clone().into());
        line.insert("to_bar".to_owned(), last.clone().into());
    }
    let after = VisitRow {
        line: if now.as_ref().is_some_and(|now| *now != from) {
            line.to_string()
        } else {
            before.line.clone()
        },
        placed: now.is_some(),
        ..before.clone()
    };
    if after != before {
        put_visit(edit.transaction, &after)?;
        edit.note(Change::Visit {
            before: Box::new(before.clone()),
            after: Box::new(after),
        });
    }
    Ok(ReplacedRow::Visit {
        id: before.id,
        from,
        now,
        fate,
    })
}

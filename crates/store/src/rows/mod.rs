//! Which things are kept, and how are they asked for? One file a thing; rows are plain values.

mod calls;
mod choices;
mod devices;
mod judged;
mod look_first;
mod occasions;
mod paper;
mod pencil;
mod pieces;
mod plans;
mod players;
mod profile;
mod search;
mod sittings;
mod summary;
mod takes;
mod visits;
mod working_on;

pub use calls::{CallRow, NewCall};
pub use choices::{ChoiceRow, NewChoice};
pub use devices::DeviceRow;
pub use judged::{JudgementRow, RubricRow};
pub use look_first::{LookFirstRow, Miss, Missed, NewLookFirst};
pub use occasions::{NewOccasion, OccasionRow};
pub use paper::{NewPaper, PaperEditRow, PaperRow};
pub use pencil::{MarkAct, MarkRow, NewMark, Ours};
pub use pieces::{NewFile, NewPiece, PieceRow, VersionRow};
pub use plans::{NewPlan, PlanRow};
pub use players::PlayerRow;
pub use profile::{PlayerFingering, PlayerProfile, PlayerRange};
pub use search::PieceSearch;
pub use summary::{Level, Summary};
pub use takes::{NewTake, TakeRow};
pub use visits::{NewVisit, VisitRow};
pub use working_on::{AssignmentRow, CutRow, NewAssignment, NewCut};

pub(crate) use calls::insert_call;
pub(crate) use choices::put_choice;
pub(crate) use occasions::insert_occasion;
pub(crate) use pencil::put_mark;
pub(crate) use pieces::{bare_name, insert_piece, insert_version, put_piece};
pub(crate) use players::insert_player;
pub(crate) use visits::put_visit;
pub(crate) use working_on::{insert_assignment, put_cut};

use crate::StoreError;
use crate::ids::{PieceId, PlayerId};
use rusqlite::types::Type;
use rusqlite::{Connection, OptionalExtension, Params, Row, params};

/// A row as its table has it.
pub(crate) trait Kept: Sized {
    /// What it is called when it is gone.
    const WHAT: &'static str;
    /// The table.
    const TABLE: &'static str;

    /// Reads it.
    fn read(row: &Row<'_>) -> rusqlite::Result<Self>;
}

/// Rows of a table, by what stands after its name.
pub(crate) fn list<T: Kept>(
    connection: &Connection,
    rest: &str,
    parameters: impl Params,
) -> Result<Vec<T>, StoreError> {
    let mut rows = connection.prepare_cached(&format!("SELECT {0}.* FROM {0} {rest}", T::TABLE))?;
    let rows = rows.query_map(parameters, |row| T::read(row))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// A row by its number; that it is gone is an error.
pub(crate) fn one<T: Kept>(connection: &Connection, id: i64) -> Result<T, StoreError> {
    connection
        .prepare_cached(&format!("SELECT * FROM {} WHERE id = ?1", T::TABLE))?
        .query_row([id], |row| T::read(row))
        .optional()?
        .ok_or(StoreError::Gone { what: T::WHAT, id })
}

/// What is hers in a piece; with a player, what is for whoever plays it and for that player.
fn of_piece<T: Kept>(
    connection: &Connection,
    piece: PieceId,
    player: Option<PlayerId>,
) -> Result<Vec<T>, StoreError> {
    list(
        connection,
        "WHERE piece = ?1 AND (?2 IS NULL OR player IS NULL OR player = ?2) ORDER BY id",
        params![piece, player],
    )
}

/// The next number of a table, never used before: rows of steps that were undone keep theirs.
fn next_id(connection: &Connection, table: &str) -> Result<i64, StoreError> {
    // Numbers given are kept in `sqlite_sequence`; Source: the SQLite documentation, "SQLite Autoincrement".
    let used: i64 = connection.query_row(
        "SELECT COALESCE((SELECT seq FROM sqlite_sequence WHERE name = ?1), 0)",
        [table],
        |row| row.get(0),
    )?;
    Ok(used + 1)
}

/// Removes a row by its number; that it is gone already is an error.
pub(crate) fn remove<T: Kept>(connection: &Connection, id: i64) -> Result<(), StoreError> {
    let removed = connection.execute(&format!("DELETE FROM {} WHERE id = ?1", T::TABLE), [id])?;
    if removed == 0 {
        return Err(StoreError::Gone { what: T::WHAT, id });
    }
    Ok(())
}

/// A document in a column.
pub(crate) fn json<T: serde::de::DeserializeOwned>(row: &Row<'_>, column: &str) -> rusqlite::Result<T> {
    let text: String = row.get(column)?;
    serde_json::from_str(&text).map_err(unread)
}

/// The same, where there may be none.
pub(crate) fn json_if<T: serde::de::DeserializeOwned>(
    row: &Row<'_>,
    column: &str,
) -> rusqlite::Result<Option<T>> {
    let text: Option<String> = row.get(column)?;
    text.map(|text| serde_json::from_str(&text))
        .transpose()
        .map_err(unread)
}

fn unread(error: serde_json::Error) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(0, Type::Text, Box::new(error))
}

/// A value as the text of a column.
pub(crate) fn text<T: serde::Serialize>(value: &T) -> Result<String, StoreError> {
    Ok(serde_json::to_string(value)?)
}

/// The same, where there may be none.
pub(crate) fn text_if<T: serde::Serialize>(value: Option<&T>) -> Result<Option<String>, StoreError> {
    value.map(text).transpose()
}

/// A day: `2027-01-05`.
pub(crate) fn day(text: &str) -> Result<(), StoreError> {
    chrono::NaiveDate::parse_from_str(text, "%Y-%m-%d")
        .ok()
        .filter(|day| day.to_string() == text)
        .map(|_| ())
        .ok_or_else(|| StoreError::refused(format!("“{text}” is no day"), "write it as 2027-01-05"))
}

//! Who plays in this studio? Each player by her own file, with the teacher's notes beside it.

use super::{Kept, PlayerProfile, list, one, remove};
use crate::ids::PlayerId;
use crate::{Store, StoreError, now};
use rusqlite::{Row, Transaction, params};
use serde::{Deserialize, Serialize};

/// A player of the studio.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct PlayerRow {
    /// Her number.
    pub id: PlayerId,
    /// Her name, as her file says it.
    pub name: String,
    /// Her file, as `foreread survey --player` reads it; [`PlayerRow::profile`] reads it here.
    pub file: String,
    /// The teacher's notes, which no player sees.
    pub notes: String,
    /// She reads large print.
    pub large_print: bool,
    /// Laid in with the demo studio.
    pub demo: bool,
    /// When she came.
    pub added: String,
    /// When she left; her record stays.
    pub put_away: Option<String>,
}

impl Kept for PlayerRow {
    const WHAT: &'static str = "player";
    const TABLE: &'static str = "player";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            name: row.get("name")?,
            file: row.get("file")?,
            notes: row.get("notes")?,
            large_print: row.get("large_print")?,
            demo: row.get("demo")?,
            added: row.get("added")?,
            put_away: row.get("put_away")?,
        })
    }
}

impl PlayerRow {
    /// Her file, understood.
    ///
    /// # Errors
    /// If it can't be; what was kept always can.
    pub fn profile(&self) -> Result<PlayerProfile, StoreError> {
        PlayerProfile::parse(&self.file)
    }
}

/// The name that a player's file says.
fn name_of(profile: &PlayerProfile) -> Result<String, StoreError> {
    profile
        .name
        .as_deref()
        .map(str::trim)
        .filter(|name| !name.is_empty())
        .map(str::to_owned)
        .ok_or_else(|| StoreError::refused("the player has no name", "write one"))
}

pub(crate) fn insert_player(
    transaction: &Transaction<'_>,
    file: &str,
    notes: &str,
    large_print: bool,
    demo: bool,
) -> Result<PlayerRow, StoreError> {
    let name = name_of(&PlayerProfile::parse(file)?)?;
    transaction.execute(
        "INSERT INTO player (name, file, notes, large_print, demo, added) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        params![name, file, notes, large_print, demo, now()],
    )?;
    one(transaction, transaction.last_insert_rowid())
}

impl Store {
    /// Keeps a player by the text of her file ([`PlayerProfile::to_toml`] writes one); her name stands in it.
    ///
    /// # Errors
    /// If the text is no player's file or says no name.
    pub fn add_player(&self, file: &str) -> Result<PlayerRow, StoreError> {
        self.write(|transaction| insert_player(transaction, file, "", false, false))
    }

    /// A player.
    ///
    /// # Errors
    /// If there is none.
    pub fn player(&self, id: PlayerId) -> Result<PlayerRow, StoreError> {
        self.read(|connection| one(connection, id.0))
    }

    /// All players, by name; those who left only if asked for.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn players(&self, with_put_away: bool) -> Result<Vec<PlayerRow>, StoreError> {
        self.read(|connection| {
            list(
                connection,
                "WHERE ?1 OR put_away IS NULL ORDER BY name COLLATE NOCASE, id",
                [with_put_away],
            )
        })
    }

    /// Writes a player anew: file, notes, large print, whether she left. Her name is taken from her file.
    ///
    /// # Errors
    /// If there is no such player, or her file is none.
    pub fn change_player(&self, row: &PlayerRow) -> Result<PlayerRow, StoreError> {
        let name = name_of(&row.profile()?)?;
        self.write(|transaction| {
            transaction.execute(
                "UPDATE player SET name = ?2, file = ?3, notes = ?4, large_print = ?5, put_away = ?6 WHERE id = ?1",
                params![row.id, name, row.file, row.notes, row.large_print, row.put_away],
            )?;
            one(transaction, row.id.0)
        })
    }

    /// Removes a player who was put away, with her visits, takes and marks. It can't be brought back.
    ///
    /// # Errors
    /// If there is no such player, or she was not put away before.
    pub fn remove_player(&self, id: PlayerId) -> Result<(), StoreError> {
        self.write_and_release(|transaction| {
            let row: PlayerRow = one(transaction, id.0)?;
            if row.put_away.is_none() {
                return Err(StoreError::refused(
                    format!("{} is still in the studio", row.name),
                    "put the player away first; removing takes the whole record along",
                ));
            }
            remove::<PlayerRow>(transaction, id.0)
        })
    }
}

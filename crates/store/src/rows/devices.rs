//! Who may look in from another device? Paired devices and their sessions; of a secret only its hash is kept.

use super::{Kept, list, one};
use crate::ids::{DeviceId, PlayerId};
use crate::{Store, StoreError, files, now};
use rusqlite::{OptionalExtension, Row, params};
use serde::{Deserialize, Serialize};

/// A paired device.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct DeviceRow {
    /// Its number.
    pub id: DeviceId,
    /// What it is called.
    pub name: String,
    /// It reaches only this player's things; `None` for the teacher's own.
    pub player: Option<PlayerId>,
    /// When it was paired.
    pub paired: String,
    /// When it was last seen.
    pub last_seen: Option<String>,
    /// When it was shut out; it stays out.
    pub ended: Option<String>,
}

impl Kept for DeviceRow {
    const WHAT: &'static str = "device";
    const TABLE: &'static str = "device";

    fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get("id")?,
            name: row.get("name")?,
            player: row.get("player")?,
            paired: row.get("paired")?,
            last_seen: row.get("last_seen")?,
            ended: row.get("ended")?,
        })
    }
}

impl Store {
    /// Keeps a device that was paired.
    ///
    /// # Errors
    /// If the player is gone.
    pub fn add_device(&self, name: &str, player: Option<PlayerId>) -> Result<DeviceRow, StoreError> {
        self.write(|transaction| {
            transaction.execute(
                "INSERT INTO device (name, player, paired) VALUES (?1, ?2, ?3)",
                params![name, player, now()],
            )?;
            one(transaction, transaction.last_insert_rowid())
        })
    }

    /// All devices, those shut out last.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn devices(&self) -> Result<Vec<DeviceRow>, StoreError> {
        self.read(|connection| list(connection, "ORDER BY ended IS NOT NULL, paired, id", []))
    }

    /// Begins a session of a device: a secret that the device keeps, made of good random bytes by the caller, and the moment (UTC,
    /// RFC 3339) when it ends.
    ///
    /// # Errors
    /// If the device is gone or was shut out, or the moment is none.
    pub fn begin_session(&self, device: DeviceId, secret: &[u8], until: &str) -> Result<(), StoreError> {
        let until = chrono::DateTime::parse_from_rfc3339(until)
            .map_err(|_| StoreError::refused(format!("“{until}” is no moment"), "say day and time"))?
            .to_utc()
            .to_rfc3339_opts(chrono::SecondsFormat::Millis, true);
        self.write(|transaction| {
            let row: DeviceRow = one(transaction, device.0)?;
            if row.ended.is_some() {
                return Err(StoreError::refused(
                    format!("{} was shut out", row.name),
                    "pair it again",
                ));
            }
            transaction.execute(
                "INSERT INTO session (secret, device, began, until) VALUES (?1, ?2, ?3, ?4)",
                params![files::hash(secret), device, now(), until],
            )?;
            transaction.execute("DELETE FROM session WHERE until < ?1", [now()])?;
            Ok(())
        })
    }

    /// The device whose session a secret is; `None` if it is nobody's, has ended, or its device was shut out.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn session(&self, secret: &[u8]) -> Result<Option<DeviceRow>, StoreError> {
        self.read(|connection| {
            Ok(connection
                .prepare_cached(
                    "SELECT device.* FROM session JOIN device ON device.id = session.device
                     WHERE session.secret = ?1 AND session.until >= ?2 AND device.ended IS NULL",
                )?
                .query_row(params![files::hash(secret), now()], DeviceRow::read)
                .optional()?)
        })
    }

    /// Notes that a device was seen.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn seen(&self, device: DeviceId) -> Result<(), StoreError> {
        self.write(|transaction| {
            transaction.execute(
                "UPDATE device SET last_seen = ?2 WHERE id = ?1",
                params![device, now()],
            )?;
            Ok(())
        })
    }

    /// Ends one session.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn end_session(&self, secret: &[u8]) -> Result<(), StoreError> {
        self.write(|transaction| {
            transaction.execute("DELETE FROM session WHERE secret = ?1", [files::hash(secret)])?;
            Ok(())
        })
    }

    /// Shuts a device out: its sessions end now.
    ///
    /// # Errors
    /// If it is gone.
    pub fn end_device(&self, device: DeviceId) -> Result<DeviceRow, StoreError> {
        self.write(|transaction| {
            transaction.execute("DELETE FROM session WHERE device = ?1", [device])?;
            transaction.execute(
                "UPDATE device SET ended = COALESCE(ended, ?2) WHERE id = ?1",
                params![device, now()],
            )?;
            one(transaction, device.0)
        })
    }
}

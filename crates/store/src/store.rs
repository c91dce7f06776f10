//! Who owns the database? One store a home, one connection, one writer; everything else asks it.

use crate::home::Home;
use crate::{StoreError, database};
use rusqlite::{Connection, Transaction, TransactionBehavior};
use std::fs::File;
use std::path::Path;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// All that is kept in one home.
#[derive(Debug)]
pub struct Store {
    pub(crate) home: Home,
    connection: Mutex<Connection>,
    /// Held as long as the store is open; `None` for a store that only reads.
    _lock: Option<File>,
}

impl Store {
    /// Opens what is kept in a home, and makes it where there is none; whether the demo is wanted is not asked yet.
    pub(crate) fn unasked(home: &Path) -> Result<Self, StoreError> {
        let home = Home::new(home);
        home.create()?;
        let lock = home.lock()?;
        let connection = database::open(&home, database::MIGRATIONS)?;
        home.tidy(&connection)?;
        Ok(Self {
            home,
            connection: Mutex::new(connection),
            _lock: Some(lock),
        })
    }

    /// Opens what is kept in a home to read it only, beside a program that may have it open. Every change is refused.
    ///
    /// # Errors
    /// If nothing is kept there, or not in the form that this program knows.
    pub fn open_to_read(home: &Path) -> Result<Self, StoreError> {
        let home = Home::new(home);
        let older = database::form_of(&home)? < database::count(database::MIGRATIONS);
        if older && let Ok(_lock) = home.lock() {
            // Nobody has it open: it is brought to the form of now first.
            database::open(&home, database::MIGRATIONS)?;
        }
        let connection = database::open_to_read(&home, database::MIGRATIONS)?;
        Ok(Self {
            home,
            connection: Mutex::new(connection),
            _lock: None,
        })
    }

    /// Where it is kept.
    #[must_use]
    pub fn home(&self) -> &Path {
        &self.home.root
    }

    /// Says at which address the program that has it open is to be found, for whoever is refused; empty takes it back.
    ///
    /// # Errors
    /// If it can't be written.
    pub fn say_address(&self, address: &str) -> Result<(), StoreError> {
        self.home.say_address(address)
    }

    /// A setting, as JSON text.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn setting(&self, name: &str) -> Result<Option<String>, StoreError> {
        use rusqlite::OptionalExtension;
        self.read(|connection| {
            Ok(connection
                .prepare_cached("SELECT value FROM setting WHERE name = ?1")?
                .query_row([name], |row| row.get(0))
                .optional()?)
        })
    }

    /// All settings, by name.
    ///
    /// # Errors
    /// If the database refuses.
    pub fn settings(&self) -> Result<Vec<(String, String)>, StoreError> {
        self.read(|connection| {
            let mut rows = connection.prepare_cached("SELECT name, value FROM setting ORDER BY name")?;
            let rows = rows.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// Sets a setting: a name (`legend`, `studio.teacher`) and JSON text.
    ///
    /// # Errors
    /// If the text is no JSON, or the database refuses.
    pub fn set_setting(&self, name: &str, value: &str) -> Result<(), StoreError> {
        is_json(value)?;
        self.write(|transaction| set_setting(transaction, name, value))
    }

    pub(crate) fn connection(&self) -> MutexGuard<'_, Connection> {
        // A thread that panicked left no open transaction: they roll back as they unwind.
        self.connection.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(crate) fn read<T>(
        &self,
        read: impl FnOnce(&Connection) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        read(&self.connection())
    }

    /// Runs a transaction; what it wrote is on disk when this returns.
    pub(crate) fn write<T>(
        &self,
        write: impl FnOnce(&Transaction<'_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let mut connection = self.connection();
        let transaction = begin(&mut connection)?;
        let value = write(&transaction)?;
        transaction.commit()?;
        Ok(value)
    }
}

pub(crate) fn set_setting(transaction: &Transaction<'_>, name: &str, value: &str) -> Result<(), StoreError> {
    transaction.execute(
        "INSERT INTO setting (name, value) VALUES (?1, ?2) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
        [name, value],
    )?;
    Ok(())
}

/// Begins to write: at once, so that two programs never find out at the end.
pub(crate) fn begin(connection: &mut Connection) -> Result<Transaction<'_>, StoreError> {
    Ok(connection.transaction_with_behavior(TransactionBehavior::Immediate)?)
}

/// This moment: UTC, RFC 3339, to the millisecond. As text they sort in order.
pub(crate) fn now() -> String {
    chrono::Utc::now().to_rfc3339_opts(chrono::SecondsFormat::Millis, true)
}

/// That a document is JSON.
pub(crate) fn is_json(text: &str) -> Result<(), StoreError> {
    serde_json::from_str::<serde::de::IgnoredAny>(text)?;
    Ok(())
}

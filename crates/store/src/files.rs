//! How are files kept as they came? Under the hash of their bytes, whole and synced before any row speaks of them.
//!
//! A file arrives in `arriving/` and moves to `files/` once its row stands; on opening, what arrived without a row goes, what has
//! one moves. A file whose last row goes is named in `leaving` in the same transaction, and then goes. So after a kill at any
//! moment no row is without its file, and no file of a deleted row stays past the next opening.

use crate::home::{Home, sync_folder};
use crate::{Store, StoreError};
use rusqlite::{Connection, OptionalExtension, Transaction, params};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs::File;
use std::io::Write as _;
use std::path::PathBuf;

/// The name of a kept file: SHA-256 of its bytes, 64 small hexadecimal letters.
pub(crate) fn hash(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// True for what [`hash`] gives, and so for nothing that leads out of a folder.
pub(crate) fn is_hash(name: &str) -> bool {
    name.len() == 64 && name.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'))
}

impl Home {
    /// Where a kept file lies just now.
    pub(crate) fn find(&self, hash: &str) -> Option<PathBuf> {
        [self.files(), self.arriving()]
            .into_iter()
            .map(|folder| folder.join(hash))
            .find(|path| is_hash(hash) && path.is_file())
    }

    /// Writes the bytes down, whole and synced, for a row to come. Says their hash.
    pub(crate) fn arrive(&self, bytes: &[u8]) -> Result<String, StoreError> {
        let hash = hash(bytes);
        let whole = |path: PathBuf| std::fs::read(path).is_ok_and(|there| there == bytes);
        if self.find(&hash).is_some_and(whole) {
            return Ok(hash);
        }
        let folder = self.arriving();
        let (part, whole) = (folder.join(format!("{hash}.part")), folder.join(&hash));
        let write = || -> std::io::Result<()> {
            let mut file = File::create(&part)?;
            file.write_all(bytes)?;
            file.sync_all()?;
            std::fs::rename(&part, &whole)?;
            sync_folder(&folder)
        };
        write().map_err(StoreError::unwritable(&whole))?;
        Ok(hash)
    }

    /// Moves a file whose row stands to its lasting place. If that fails it is found where it is, and moved on the next opening.
    pub(crate) fn settle_file(&self, hash: &str) {
        let _ = std::fs::rename(self.arriving().join(hash), self.files().join(hash));
    }

    /// Ends what a killed program had begun.
    pub(crate) fn tidy(&self, connection: &Connection) -> Result<(), StoreError> {
        self.let_go(connection)?;
        self.tidy_restoring()?;
        let folder = self.arriving();
        for entry in std::fs::read_dir(&folder).map_err(StoreError::unreadable(&folder))? {
            let path = entry.map_err(StoreError::unreadable(&folder))?.path();
            let name = path.file_name().map(|name| name.to_string_lossy().into_owned());
            match name {
                Some(name) if is_hash(&name) && is_kept(connection, &name)? => self.settle_file(&name),
                _ => drop(std::fs::remove_file(&path)),
            }
        }
        self.sweep(connection)
    }

    /// What bringing a backup back had begun: nothing of it is anybody's.
    fn tidy_restoring(&self) -> Result<(), StoreError> {
        for entry in std::fs::read_dir(&self.root).map_err(StoreError::unreadable(&self.root))? {
            let path = entry.map_err(StoreError::unreadable(&self.root))?.path();
            let name = path
                .file_name()
                .map(|name| name.to_string_lossy().into_owned())
                .unwrap_or_default();
            if name.starts_with("coming.sqlite3")
                || name.starts_with("before-restore-") && name.ends_with("part")
            {
                let _ = std::fs::remove_file(&path);
            }
        }
        Ok(())
    }

    /// After a backup was brought back, lets go of files that only what was there before spoke of: they are in its own backup.
    fn sweep(&self, connection: &Connection) -> Result<(), StoreError> {
        let restored = connection
            .query_row("SELECT 1 FROM setting WHERE name = 'restored'", [], |_| Ok(()))
            .optional()?;
        if restored.is_none() {
            return Ok(());
        }
        let folder = self.files();
        for entry in std::fs::read_dir(&folder).map_err(StoreError::unreadable(&folder))? {
            let path = entry.map_err(StoreError::unreadable(&folder))?.path();
            let name = path.file_name().map(|name| name.to_string_lossy().into_owned());
            if let Some(name) = name.filter(|name| is_hash(name))
                && !is_kept(connection, &name)?
            {
                std::fs::remove_file(&path).map_err(StoreError::unwritable(&path))?;
            }
        }
        connection.execute("DELETE FROM setting WHERE name = 'restored'", [])?;
        Ok(())
    }

    /// Removes the bytes whose rows are gone.
    pub(crate) fn let_go(&self, connection: &Connection) -> Result<(), StoreError> {
        let mut rows = connection.prepare("SELECT hash FROM leaving")?;
        let hashes: Vec<String> = rows.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
        for hash in hashes {
            while let Some(path) = self.find(&hash) {
                std::fs::remove_file(&path).map_err(StoreError::unwritable(&path))?;
            }
            connection.execute("DELETE FROM leaving WHERE hash = ?1", [&hash])?;
        }
        Ok(())
    }
}

fn is_kept(connection: &Connection, hash: &str) -> rusqlite::Result<bool> {
    connection
        .query_row("SELECT 1 FROM kept_file WHERE hash = ?1", [hash], |_| Ok(()))
        .optional()
        .map(|row| row.is_some())
}

/// Names a file that has arrived as kept; for the transaction that writes the row which speaks of it.
pub(crate) fn keep(
    transaction: &Transaction<'_>,
    hash: &str,
    bytes: &[u8],
    now: &str,
) -> Result<(), StoreError> {
    let length = i64::try_from(bytes.len()).unwrap_or(i64::MAX);
    transaction.execute("DELETE FROM leaving WHERE hash = ?1", [hash])?;
    transaction.execute(
        "INSERT INTO kept_file (hash, bytes, added) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING",
        params![hash, length, now],
    )?;
    Ok(())
}

/// Lets go of every file that no row speaks of any more; for the transaction that removes rows.
pub(crate) fn release(transaction: &Transaction<'_>) -> Result<(), StoreError> {
    const UNSPOKEN: &str = "hash NOT IN (SELECT file FROM piece UNION SELECT file FROM piece_version UNION SELECT file FROM take \
         UNION SELECT file FROM paper UNION SELECT file FROM paper_strip)";
    transaction.execute(
        &format!("INSERT OR IGNORE INTO leaving SELECT hash FROM kept_file WHERE {UNSPOKEN}"),
        [],
    )?;
    transaction.execute(&format!("DELETE FROM kept_file WHERE {UNSPOKEN}"), [])?;
    Ok(())
}

impl Store {
    /// The bytes of a kept file, as they came.
    ///
    /// # Errors
    /// If it is missing or was changed from outside.
    pub fn file(&self, hash: &str) -> Result<Vec<u8>, StoreError> {
        let missing = || StoreError::FileMissing {
            hash: hash.to_owned(),
        };
        let path = self.home.find(hash).ok_or_else(missing)?;
        let bytes = std::fs::read(&path).map_err(StoreError::unreadable(&path))?;
        if self::hash(&bytes) == hash {
            Ok(bytes)
        } else {
            Err(StoreError::FileChanged {
                hash: hash.to_owned(),
            })
        }
    }

    /// Where a kept file lies, for a reader that wants a part of it only. Never write there.
    #[must_use]
    pub fn file_path(&self, hash: &str) -> Option<PathBuf> {
        self.home.find(hash)
    }

    /// Runs a transaction that speaks of a file. Nobody lets it go between its arrival and its row: the connection is held.
    pub(crate) fn write_with_file<T>(
        &self,
        bytes: &[u8],
        write: impl FnOnce(&Transaction<'_>, &str) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let mut connection = self.connection();
        let hash = self.home.arrive(bytes)?;
        let transaction = crate::begin(&mut connection)?;
        keep(&transaction, &hash, bytes, &crate::now())?;
        let value = write(&transaction, &hash)?;
        transaction.commit()?;
        self.home.settle_file(&hash);
        Ok(value)
    }

    /// Runs a transaction that removes rows, and lets go of the files that only they spoke of.
    pub(crate) fn write_and_release<T>(
        &self,
        write: impl FnOnce(&Transaction<'_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let mut connection = self.connection();
        let transaction = crate::begin(&mut connection)?;
        let value = write(&transaction)?;
        release(&transaction)?;
        transaction.commit()?;
        self.home.let_go(&connection)?;
        Ok(value)
    }
}

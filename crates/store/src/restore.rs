//! How is a backup brought back? Checked whole before anything is touched; what was there is put into a backup of its own first.
//!
//! The backup is somebody's file: every length is bounded by what its list says, every byte is held against its hash, and its
//! database must be just what this program makes, with nothing in it that acts by itself.

use crate::backup::{DATABASE, FORM, MANIFEST, Manifest, copied, counts, kept_hashes};
use crate::files::is_hash;
use crate::home::{Home, sync_folder};
use crate::{Store, StoreError, database, now};
use rusqlite::Connection;
use std::collections::BTreeSet;
use std::fs::File;
use std::io::{BufReader, BufWriter, Read, Seek, Write};
use std::path::{Path, PathBuf};
use zip::ZipArchive;

/// The longest list that is read, in bytes: half a million files.
const MOST_LIST: u64 = 100_000_000;

/// What to do if something is kept already where a backup is brought back.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Over {
    /// Refuse.
    Nothing,
    /// Put what is there into a backup beside it first.
    SetAside,
}

/// A backup that was brought back.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Restored {
    /// When the backup was made.
    pub made: String,
    /// How many pieces, players and takes came back.
    pub counts: Vec<(&'static str, i64)>,
    /// Where what was there before is kept now.
    pub set_aside: Option<PathBuf>,
}

/// Brings a backup back into a home.
///
/// # Errors
/// If the file is no whole backup, is of a newer program, something is kept there and `over` says nothing, or another program has
/// it open. What was there stays as it was then.
pub fn restore(from: &Path, home: &Path, over: Over) -> Result<Restored, StoreError> {
    let home = Home::new(home);
    let there = home.database().exists();
    if there && over == Over::Nothing {
        return Err(StoreError::refused(
            format!("something is kept in {} already", home.root.display()),
            "choose an empty folder with --home, or let it be put into a backup beside it first with --set-aside",
        ));
    }
    let mut backup = Backup::open(from)?;
    home.create()?;
    let lock = home.lock()?;
    let coming = home.root.join("coming.sqlite3");
    let outcome = backup.bring(&home, &coming, there);
    for ending in ["", "-wal", "-shm", "-journal"] {
        let _ = std::fs::remove_file(home.root.join(format!("coming.sqlite3{ending}")));
    }
    let (counts, set_aside) = outcome?;
    drop(lock);
    // Opening moves the files that came to their places and lets those go that nothing speaks of any more.
    Store::open_empty(&home.root)?;
    Ok(Restored {
        made: backup.manifest.made,
        counts,
        set_aside,
    })
}

type Brought = (Vec<(&'static str, i64)>, Option<PathBuf>);

struct Backup {
    path: PathBuf,
    zip: ZipArchive<BufReader<File>>,
    manifest: Manifest,
}

impl Backup {
    fn open(path: &Path) -> Result<Self, StoreError> {
        let no = |what: String, advice: &str| StoreError::Backup {
            path: path.to_path_buf(),
            what,
            advice: advice.to_owned(),
        };
        let file = File::open(path).map_err(StoreError::unreadable(path))?;
        let whole = "look whether it was copied whole; an earlier backup may be";
        let mut zip = ZipArchive::new(BufReader::new(file))
            .map_err(|error| no(format!("it is no whole backup ({error})"), whole))?;
        let manifest = {
            let list = zip.by_name(MANIFEST).map_err(|_| {
                no(
                    "it is no backup of Foreread".to_owned(),
                    "look whether it is the right file",
                )
            })?;
            let mut text = String::new();
            list.take(MOST_LIST)
                .read_to_string(&mut text)
                .map_err(|error| no(format!("its list can't be read ({error})"), whole))?;
            let form: Form = serde_json::from_str(&text)
                .map_err(|error| no(format!("its list can't be read ({error})"), whole))?;
            if form.form != FORM {
                return Err(no(
                    format!("it is in form {}, this program knows {FORM}", form.form),
                    "use a newer Foreread",
                ));
            }
            serde_json::from_str::<Manifest>(&text)
                .map_err(|error| no(format!("its list can't be read ({error})"), whole))?
        };
        let known = i64::try_from(database::MIGRATIONS.len()).unwrap_or(i64::MAX);
        if !(1..=known).contains(&manifest.database_form) {
            return Err(no(
                format!(
                    "what is kept in it is in form {}, this program knows up to {known}",
                    manifest.database_form
                ),
                "use a newer Foreread",
            ));
        }
        let backup = Self {
            path: path.to_path_buf(),
            zip,
            manifest,
        };
        backup.listed()?;
        Ok(backup)
    }

    fn no(&self, what: impl Into<String>) -> StoreError {
        StoreError::Backup {
            path: self.path.clone(),
            what: what.into(),
            advice: "it is not brought back; an earlier backup may be whole".to_owned(),
        }
    }

    /// That the list names the database, kept files, each once, and nothing else.
    fn listed(&self) -> Result<(), StoreError> {
        let mut names = BTreeSet::new();
        for listed in &self.manifest.files {
            let kept = listed.name.strip_prefix("files/");
            let right =
                listed.name == DATABASE || kept.is_some_and(|hash| is_hash(hash) && hash == listed.sha256);
            if !right || !names.insert(listed.name.as_str()) {
                return Err(self.no(format!("its list names “{}”", listed.name)));
            }
        }
        if !names.contains(DATABASE) {
            return Err(self.no("its list names no database"));
        }
        Ok(())
    }

    /// Unpacks one listed file, held against its length and hash.
    fn unpack(&mut self, name: &str, to: &Path) -> Result<(), StoreError> {
        let Some(listed) = self
            .manifest
            .files
            .iter()
            .find(|listed| listed.name == name)
            .cloned()
        else {
            return Err(self.no(format!("{name} is missing")));
        };
        let damaged = |path: &Path, what: &str| StoreError::Backup {
            path: path.to_path_buf(),
            what: format!("{name} in it is {what}"),
            advice: "it is not brought back; an earlier backup may be whole".to_owned(),
        };
        let entry = self
            .zip
            .by_name(name)
            .map_err(|_| damaged(&self.path, "missing"))?;
        let mut file = BufWriter::new(File::create(to).map_err(StoreError::unwritable(to))?);
        let (bytes, sha256) = copied(Checked(entry.take(listed.bytes + 1)), &mut file).map_err(|error| {
            if error.get_ref().is_some_and(|inner| inner.is::<FromArchive>()) {
                damaged(&self.path, "damaged")
            } else {
                StoreError::unwritable(to)(error)
            }
        })?;
        file.flush()
            .and_then(|()| file.get_ref().sync_all())
            .map_err(StoreError::unwritable(to))?;
        if (bytes, sha256) != (listed.bytes, listed.sha256) {
            return Err(damaged(&self.path, "damaged"));
        }
        Ok(())
    }

    /// Checks all of it, then puts it in the place of what is there. Says what it holds, and where that is now.
    fn bring(&mut self, home: &Home, coming: &Path, there: bool) -> Result<Brought, StoreError> {
        self.unpack(DATABASE, coming)?;
        let counts = self.admit(coming)?;
        self.files(home)?;
        let aside = if there {
            Some(set_aside(home, coming)?)
        } else {
            None
        };
        put_in_place(home, coming)?;
        Ok((counts, aside))
    }

    /// That the database in it is one of ours, whole, and that the list holds every file that it speaks of. Says what it holds.
    fn admit(&self, coming: &Path) -> Result<Vec<(&'static str, i64)>, StoreError> {
        let connection = Connection::open(coming)?;
        connection.pragma_update(None, "trusted_schema", false)?;
        let odd = |error: rusqlite::Error| self.no(format!("its database can't be read ({error})"));
        let form = database::form(&connection).map_err(odd)?;
        let schema = database::schema(&connection).map_err(|error| self.no(error.to_string()))?;
        let expected = database::schema_of_form(usize::try_from(form).unwrap_or(0))?;
        if form != self.manifest.database_form || schema != expected {
            return Err(self.no("its database is not as this program makes one"));
        }
        if let Err(what) = database::check(&connection).map_err(|error| self.no(error.to_string()))? {
            return Err(self.no(format!("its database is damaged ({what})")));
        }
        let listed: BTreeSet<(String, u64)> = self
            .manifest
            .files
            .iter()
            .filter(|listed| listed.name != DATABASE)
            .map(|listed| (listed.sha256.clone(), listed.bytes))
            .collect();
        if kept_hashes(&connection)?.into_iter().collect::<BTreeSet<_>>() != listed {
            return Err(self.no("it does not hold the files that its database speaks of"));
        }
        // Nobody is let in by a backup; and what nothing speaks of then goes on the next opening.
        connection.execute_batch(
            "PRAGMA journal_mode = DELETE; DELETE FROM session; DELETE FROM leaving;
             INSERT INTO setting (name, value) VALUES ('restored', 'true') ON CONFLICT (name) DO UPDATE SET value = 'true';",
        )?;
        let counts = counts(&connection)?;
        connection.close().map_err(|(_, error)| error)?;
        sync_file(coming)?;
        Ok(counts)
    }

    /// Unpacks the files that are not there yet.
    fn files(&mut self, home: &Home) -> Result<(), StoreError> {
        let names: Vec<(String, String)> = self
            .manifest
            .files
            .iter()
            .filter(|listed| listed.name != DATABASE)
            .map(|listed| (listed.name.clone(), listed.sha256.clone()))
            .collect();
        for (name, hash) in names {
            let whole = home.arriving().join(&hash);
            let part = home.arriving().join(format!("{hash}.part"));
            self.unpack(&name, &part)?;
            std::fs::rename(&part, &whole).map_err(StoreError::unwritable(&whole))?;
        }
        sync_folder(&home.arriving()).map_err(StoreError::unwritable(home.arriving()))
    }
}

/// Only how a list begins: a later form may say other things.
#[derive(serde::Deserialize)]
struct Form {
    form: u32,
}

/// An error of the archive, told apart from one of the disk that is written to.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
struct FromArchive(std::io::Error);

struct Checked<R>(R);

impl<R: Read> Read for Checked<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        self.0
            .read(buffer)
            .map_err(|error| std::io::Error::other(FromArchive(error)))
    }
}

/// Puts what is kept now into a backup in the home, named for the moment. A damaged database can't be backed up: it is put beside
/// under another name, and every file stays.
fn set_aside(home: &Home, coming: &Path) -> Result<PathBuf, StoreError> {
    let moment: String = now().chars().filter(char::is_ascii_alphanumeric).collect();
    let path = home.root.join(format!("before-restore-{moment}.zip"));
    // The lock is held by whoever restores; reading needs none. A database of an older form is brought up first.
    let kept = database::open(home, database::MIGRATIONS)
        .map(drop)
        .and_then(|()| Store::open_to_read(&home.root)?.backup(&path));
    match kept {
        Ok(_) => Ok(path),
        Err(StoreError::Damaged { .. } | StoreError::Database(_) | StoreError::FileChanged { .. }) => {
            let connection = Connection::open(coming)?;
            connection.execute("DELETE FROM setting WHERE name = 'restored'", [])?;
            connection.close().map_err(|(_, error)| error)?;
            put_damaged_beside(home, &moment)
        }
        Err(error) => Err(error),
    }
}

fn put_damaged_beside(home: &Home, moment: &str) -> Result<PathBuf, StoreError> {
    let beside = |ending: &str| home.root.join(format!("damaged-{moment}.sqlite3{ending}"));
    for ending in ["-wal", "-shm", ""] {
        let mut name = home.database().into_os_string();
        name.push(ending);
        match std::fs::rename(&name, beside(ending)) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                return Err(StoreError::unwritable(beside(ending))(error));
            }
            _ => {}
        }
    }
    Ok(beside(""))
}

/// The new database takes the place of the old in one move.
fn put_in_place(home: &Home, coming: &Path) -> Result<(), StoreError> {
    let place = home.database();
    if place.exists() {
        // Closing it writes everything into the one file; nothing is left beside it that could be taken for the new one's.
        let old = database::open(home, database::MIGRATIONS)?;
        old.pragma_update(None, "journal_mode", "DELETE")?;
        old.close().map_err(|(_, error)| error)?;
    }
    std::fs::rename(coming, &place).map_err(StoreError::unwritable(&place))?;
    sync_folder(&home.root).map_err(StoreError::unwritable(&place))
}

fn sync_file(path: &Path) -> Result<(), StoreError> {
    let mut file = File::options()
        .write(true)
        .open(path)
        .map_err(StoreError::unwritable(path))?;
    file.seek(std::io::SeekFrom::End(0))
        .and_then(|_| file.sync_all())
        .map_err(StoreError::unwritable(path))
}

//! How does all of it become one file? A zip archive that says what is in it: the database as it stood at one moment, and every
//! file that its rows speak of. It can be made while the app is open.

use crate::files::{hex, is_hash};
use crate::home::{Home, sync_folder};
use crate::{Store, StoreError, database, now};
use rusqlite::Connection;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::{BufReader, BufWriter, Read, Write};
use std::path::{Path, PathBuf};
use zip::write::{SimpleFileOptions, ZipWriter};

/// The list in a backup of what is in it.
pub const MANIFEST: &str = "foreread-backup.json";
/// The database in a backup.
pub(crate) const DATABASE: &str = "foreread.sqlite3";
/// The form of backups that this program writes and reads.
pub(crate) const FORM: u32 = 1;

/// What a backup holds.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub(crate) struct Manifest {
    /// The form of the backup.
    pub(crate) form: u32,
    /// The form of the database in it.
    pub(crate) database_form: i64,
    /// When it was made.
    pub(crate) made: String,
    /// By what.
    pub(crate) program: String,
    /// Everything else in it.
    pub(crate) files: Vec<Listed>,
}

/// A file in a backup.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub(crate) struct Listed {
    /// Its name in the archive.
    pub(crate) name: String,
    /// Its length.
    pub(crate) bytes: u64,
    /// Its SHA-256.
    pub(crate) sha256: String,
}

/// A backup that was made.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct BackedUp {
    /// Where.
    pub path: PathBuf,
    /// How many pieces, players and takes are in it.
    pub counts: Vec<(&'static str, i64)>,
    /// Its length in bytes.
    pub bytes: u64,
}

/// A kept file went while it was to be copied: somebody deleted a take.
struct WentMeanwhile;

impl Store {
    /// Writes all that is kept into one new file.
    ///
    /// # Errors
    /// If the file is there already, can't be written, or what is kept is damaged: nothing is left of it then.
    pub fn backup(&self, to: &Path) -> Result<BackedUp, StoreError> {
        if to.exists() {
            return Err(StoreError::Backup {
                path: to.to_path_buf(),
                what: "there is something already".to_owned(),
                advice: "choose another name; a backup never goes over anything".to_owned(),
            });
        }
        let beside = |ending: &str| {
            let mut name = to.as_os_str().to_owned();
            name.push(ending);
            PathBuf::from(name)
        };
        let (part, copy) = (beside(".part"), beside(".database-part"));
        let made = self.write_backup(&part, &copy);
        let _ = std::fs::remove_file(&copy);
        let made = made.and_then(|counts| {
            // Not over what came meanwhile, either.
            std::fs::hard_link(&part, to)
                .or_else(|_| {
                    if to.exists() {
                        Err(std::io::ErrorKind::AlreadyExists.into())
                    } else {
                        std::fs::rename(&part, to)
                    }
                })
                .map_err(StoreError::unwritable(to))?;
            let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty());
            let _ = sync_folder(folder.unwrap_or(Path::new(".")));
            Ok(counts)
        });
        let _ = std::fs::remove_file(&part);
        Ok(BackedUp {
            counts: made?,
            bytes: std::fs::metadata(to).map_or(0, |about| about.len()),
            path: to.to_path_buf(),
        })
    }

    fn write_backup(&self, part: &Path, copy: &Path) -> Result<Vec<(&'static str, i64)>, StoreError> {
        for _ in 0..5 {
            let _ = std::fs::remove_file(copy);
            database::copy_into(&self.connection(), copy)?;
            let snapshot = Connection::open(copy)?;
            if let Err(what) = database::check(&snapshot)? {
                return Err(StoreError::Damaged {
                    home: self.home.root.clone(),
                    what,
                });
            }
            // Whoever is let in here is not let in where it is brought back.
            snapshot.pragma_update(None, "journal_mode", "DELETE")?;
            snapshot.execute_batch("DELETE FROM session; VACUUM;")?;
            let counts = counts(&snapshot)?;
            let manifest = manifest(&snapshot, copy)?;
            drop(snapshot);
            if archive(&self.home, part, copy, &manifest)?.is_ok() {
                return Ok(counts);
            }
        }
        Err(StoreError::refused(
            "takes are being deleted all the time",
            "try again when nobody works on it",
        ))
    }

    /// Whether all that is kept is whole: the database, and each file that it speaks of, byte for byte.
    ///
    /// # Errors
    /// What is damaged, missing or changed.
    pub fn check(&self) -> Result<(), StoreError> {
        let hashes = self.read(|connection| {
            if let Err(what) = database::check(connection)? {
                return Err(StoreError::Damaged {
                    home: self.home.root.clone(),
                    what,
                });
            }
            kept_hashes(connection)
        })?;
        hashes.iter().try_for_each(|(hash, _)| self.file(hash).map(drop))
    }
}

pub(crate) fn counts(connection: &Connection) -> Result<Vec<(&'static str, i64)>, StoreError> {
    [
        ("pieces", "piece"),
        ("players", "player"),
        ("marks", "mark"),
        ("visits", "visit"),
        ("takes", "take"),
    ]
    .into_iter()
    .map(|(name, table)| {
        let count = connection.query_row(&format!("SELECT COUNT(*) FROM {table}"), [], |row| row.get(0))?;
        Ok((name, count))
    })
    .collect()
}

/// Each kept file with its length.
pub(crate) fn kept_hashes(connection: &Connection) -> Result<Vec<(String, u64)>, StoreError> {
    let mut rows = connection.prepare("SELECT hash, bytes FROM kept_file ORDER BY hash")?;
    let rows = rows.query_map([], |row| Ok((row.get(0)?, row.get::<_, i64>(1)?)))?;
    let rows: Vec<(String, i64)> = rows.collect::<Result<_, _>>()?;
    Ok(rows
        .into_iter()
        .map(|(hash, bytes)| (hash, u64::try_from(bytes).unwrap_or(0)))
        .collect())
}

fn manifest(snapshot: &Connection, copy: &Path) -> Result<Manifest, StoreError> {
    let (bytes, sha256) = measure(copy)?;
    let mut files = vec![Listed {
        name: DATABASE.to_owned(),
        bytes,
        sha256,
    }];
    files.extend(kept_hashes(snapshot)?.into_iter().map(|(hash, bytes)| Listed {
        name: format!("files/{hash}"),
        bytes,
        sha256: hash,
    }));
    Ok(Manifest {
        form: FORM,
        database_form: database::form(snapshot)?,
        made: now(),
        program: format!("foreread {}", env!("CARGO_PKG_VERSION")),
        files,
    })
}

/// Length and hash of a file.
fn measure(path: &Path) -> Result<(u64, String), StoreError> {
    let file = File::open(path).map_err(StoreError::unreadable(path))?;
    copied(BufReader::new(file), &mut std::io::sink()).map_err(StoreError::unreadable(path))
}

/// Copies all of it; says how much, and its hash.
pub(crate) fn copied(mut from: impl Read, to: &mut impl Write) -> std::io::Result<(u64, String)> {
    let mut digest = Sha256::new();
    let mut length = 0;
    let mut buffer = vec![0; 1 << 16];
    loop {
        let read = from.read(&mut buffer)?;
        let Some(bytes) = buffer.get(..read).filter(|bytes| !bytes.is_empty()) else {
            return Ok((length, hex(&digest.finalize())));
        };
        digest.update(bytes);
        to.write_all(bytes)?;
        length += read as u64;
    }
}

fn archive(
    home: &Home,
    part: &Path,
    copy: &Path,
    manifest: &Manifest,
) -> Result<Result<(), WentMeanwhile>, StoreError> {
    let unwritable = || StoreError::unwritable(part);
    let zipped = |error: zip::result::ZipError| StoreError::Unwritable {
        path: part.to_path_buf(),
        source: error.into(),
    };
    let file = File::create(part).map_err(unwritable())?;
    let mut zip = ZipWriter::new(BufWriter::with_capacity(1 << 16, file));
    let options = SimpleFileOptions::default()
        .compression_method(zip::CompressionMethod::Deflated)
        .large_file(true);
    zip.start_file(MANIFEST, options).map_err(zipped)?;
    zip.write_all(&serde_json::to_vec_pretty(manifest)?)
        .map_err(unwritable())?;
    for listed in &manifest.files {
        let kept = listed.name.strip_prefix("files/").filter(|hash| is_hash(hash));
        let path = match kept {
            None => copy.to_path_buf(),
            Some(hash) => match home.find(hash) {
                Some(path) => path,
                None => return Ok(Err(WentMeanwhile)),
            },
        };
        let from = match File::open(&path) {
            Ok(file) => file,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Err(WentMeanwhile)),
            Err(error) => return Err(StoreError::unreadable(path)(error)),
        };
        zip.start_file(listed.name.as_str(), options).map_err(zipped)?;
        let (_, hash) = copied(BufReader::new(from), &mut zip).map_err(unwritable())?;
        if hash != listed.sha256 {
            return Err(StoreError::FileChanged {
                hash: listed.sha256.clone(),
            });
        }
    }
    let file = zip
        .finish()
        .map_err(zipped)?
        .into_inner()
        .map_err(|error| error.into_error());
    file.and_then(|file| file.sync_all()).map_err(unwritable())?;
    Ok(Ok(()))
}

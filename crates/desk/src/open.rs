//! Which piece? Bytes from disk, bounded before they are read, made into a piece.

use crate::DeskError;
use crate::texts::made_readable;
use formats::{Source, Tune};
use notation::{Finding, Piece};
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};

/// The largest file that is read, in bytes. The largest score of the corpus we test with has 11 MB.
pub const MOST_BYTES: u64 = 64 * 1024 * 1024;

/// A piece that was opened, with what its reader found.
#[derive(Debug)]
pub struct Opened {
    /// Where it came from.
    pub path: PathBuf,
    /// The tune of a book that it is; `None` for a file of one piece.
    pub tune: Option<Tune>,
    /// The piece as written.
    pub piece: Piece,
    /// What was repaired, guessed, kept aside or contradicts itself.
    pub findings: Vec<Finding>,
}

/// Opens a notated piece; of a tunebook the first tune, and a finding says so.
///
/// # Errors
/// If the file is missing, a folder, too large, unreadable, or no notation we know.
pub fn open(path: &Path) -> Result<Opened, DeskError> {
    open_tune(path, None)
}

/// Opens a notated piece: of a tunebook the tune with a number (`None`: the first).
///
/// # Errors
/// As [`open`], or if there is no such tune.
pub fn open_tune(path: &Path, tune: Option<&str>) -> Result<Opened, DeskError> {
    open_bytes_tune(path, &read_bytes(path)?, tune)
}

/// Opens a piece whose bytes are at hand (dropped into the app, standard input).
///
/// # Errors
/// If the bytes are no notation we know.
pub fn open_bytes(path: &Path, bytes: &[u8]) -> Result<Opened, DeskError> {
    open_bytes_tune(path, bytes, None)
}

/// Opens a piece whose bytes are at hand: of a tunebook the tune with a number (`None`: the first).
///
/// # Errors
/// As [`open_bytes`], or if there is no such tune.
pub fn open_bytes_tune(path: &Path, bytes: &[u8], tune: Option<&str>) -> Result<Opened, DeskError> {
    let format = |source| DeskError::Format {
        path: path.to_path_buf(),
        source,
    };
    let source = Source::open(bytes, &name_of(path)).map_err(format)?;
    let (mut piece, mut findings) = source.read(tune).map_err(format)?;
    findings.extend(made_readable(&mut piece));
    let taken = |known: &&Tune| tune.is_none_or(|asked| known.number == asked.trim());
    let nth = tune
        .and_then(|asked| source.nth(asked))
        .and_then(|at| source.tunes().get(at));
    Ok(Opened {
        path: path.to_path_buf(),
        tune: nth.or_else(|| source.tunes().iter().find(taken)).cloned(),
        piece,
        findings,
    })
}

/// What a person calls the file.
pub(crate) fn name_of(path: &Path) -> String {
    path.file_name()
        .map_or_else(|| path.to_string_lossy(), std::ffi::OsStr::to_string_lossy)
        .into_owned()
}

/// Why a file could not be opened.
pub(crate) fn unreadable(path: &Path, source: std::io::Error) -> DeskError {
    let path = path.to_path_buf();
    match source.kind() {
        ErrorKind::NotFound => DeskError::NotFound { path },
        _ => DeskError::Unreadable { path, source },
    }
}

/// The bytes of a file, never more than [`MOST_BYTES`].
///
/// # Errors
/// If the file is missing, a folder, too large or unreadable.
pub(crate) fn read_bytes(path: &Path) -> Result<Vec<u8>, DeskError> {
    let owned = || path.to_path_buf();
    let unreadable = |source| unreadable(path, source);
    let meta = std::fs::metadata(path).map_err(unreadable)?;
    if meta.is_dir() {
        return Err(DeskError::Folder { path: owned() });
    }
    if !meta.is_file() {
        return Err(DeskError::NotAFile { path: owned() });
    }
    let too_large = |bytes: u64| DeskError::TooLarge {
        path: owned(),
        megabytes: bytes / 1_000_000,
        limit: MOST_BYTES / 1_000_000,
    };
    if meta.len() > MOST_BYTES {
        return Err(too_large(meta.len()));
    }
    let mut bytes = Vec::with_capacity(usize::try_from(meta.len()).unwrap_or(0) + 1);
    // One byte more than allowed tells a file that grew since.
    File::open(path)
        .and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(unreadable)?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(too_large(bytes.len() as u64));
    }
    Ok(bytes)
}

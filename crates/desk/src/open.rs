//! Which piece? Bytes from disk, bounded before they are read, made into a piece.

use crate::DeskError;
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
    /// The piece as written.
    pub piece: Piece,
    /// What was repaired, guessed, kept aside or contradicts itself.
    pub findings: Vec<Finding>,
}

/// Opens a notated piece.
///
/// # Errors
/// If the file is missing, a folder, too large, unreadable, or no notation we know.
pub fn open(path: &Path) -> Result<Opened, DeskError> {
    let owned = || path.to_path_buf();
    let unreadable = |source: std::io::Error| match source.kind() {
        ErrorKind::NotFound => DeskError::NotFound { path: owned() },
        _ => DeskError::Unreadable {
            path: owned(),
            source,
        },
    };
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
    let mut bytes = Vec::new();
    // One byte more than allowed tells a file that grew since.
    File::open(path)
        .and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(unreadable)?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(too_large(bytes.len() as u64));
    }
    open_bytes(path, bytes)
}

/// Opens a piece whose bytes are at hand (dropped into the app, standard input).
///
/// # Errors
/// If the bytes are no notation we know.
pub fn open_bytes(path: &Path, bytes: Vec<u8>) -> Result<Opened, DeskError> {
    let name = path
        .file_name()
        .map_or_else(|| path.to_string_lossy(), std::ffi::OsStr::to_string_lossy);
    let (piece, findings) = formats::read(&bytes, &name).map_err(|source| DeskError::Format {
        path: path.to_path_buf(),
        source,
    })?;
    Ok(Opened {
        path: path.to_path_buf(),
        piece,
        findings,
    })
}

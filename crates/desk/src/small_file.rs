//! How is a small text file of a person's own read: a player's, a legend? Whole, if it is one.

use crate::DeskError;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// What kind of file, for the words of an error.
pub(crate) struct Kind {
    /// The error if there is none.
    pub missing: fn(PathBuf) -> DeskError,
    /// `player's file`.
    pub name: &'static str,
    /// `player.toml`.
    pub example: &'static str,
    /// The longest that is read, in bytes.
    pub most_bytes: u64,
}

/// The text of the file; bytes that are no text become replacement signs.
///
/// # Errors
/// If there is none, it is no ordinary file, too long, or can't be read.
pub(crate) fn read(path: &Path, kind: &Kind) -> Result<String, DeskError> {
    let owned = || path.to_path_buf();
    let unreadable = |source| DeskError::Unreadable {
        path: owned(),
        source,
    };
    let about = std::fs::metadata(path).map_err(|source| match source.kind() {
        ErrorKind::NotFound => (kind.missing)(owned()),
        _ => unreadable(source),
    })?;
    if !about.is_file() || about.len() > kind.most_bytes {
        return Err(DeskError::Profile {
            path: owned(),
            line: 1,
            what: format!("this is no {}", kind.name),
            advice: format!("name a small text file such as {}", kind.example),
        });
    }
    let bytes = std::fs::read(path).map_err(unreadable)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

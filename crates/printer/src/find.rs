//! Where is the press?

use crate::PrintError;
use std::env;
use std::path::{Path, PathBuf};

/// The press's file name.
const NAME: &str = if cfg!(windows) {
    "foreread-press.exe"
} else {
    "foreread-press"
};
/// The variable that may name it.
const VARIABLE: &str = "FOREREAD_PRESS";

/// Beside this program, else where the variable says, else on the search path.
///
/// # Errors
/// [`PrintError::NotFound`] if it is nowhere.
pub fn press() -> Result<PathBuf, PrintError> {
    let own = env::current_exe().ok();
    let beside = own
        .as_deref()
        .and_then(Path::parent)
        .map(|folder| folder.join(NAME));
    let named = env::var_os(VARIABLE).map(PathBuf::from);
    let searched = env::var_os("PATH").unwrap_or_default();
    let searched = env::split_paths(&searched).map(|folder| folder.join(NAME));
    beside
        .into_iter()
        .chain(named)
        .chain(searched)
        .find(|path| path.is_file())
        .ok_or(PrintError::NotFound)
}

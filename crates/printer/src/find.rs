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

/// Where the variable says, else beside this program, else where a build from the checkout puts it (`press/release/` in the
/// build folder that this program lies in), else on the search path.
///
/// # Errors
/// [`PrintError::NotFound`] if it is nowhere.
pub fn press() -> Result<PathBuf, PrintError> {
    let own = env::current_exe().ok();
    let folder = own.as_deref().and_then(Path::parent);
    let beside = folder.map(|folder| folder.join(NAME));
    let built = folder
        .and_then(Path::parent)
        .map(|builds| builds.join("press").join("release").join(NAME));
    let named = env::var_os(VARIABLE).map(PathBuf::from);
    let searched = env::var_os("PATH").unwrap_or_default();
    let searched = env::split_paths(&searched).map(|folder| folder.join(NAME));
    named
        .into_iter()
        .chain(beside)
        .chain(built)
        .chain(searched)
        .find(|path| path.is_file())
        .ok_or(PrintError::NotFound)
}

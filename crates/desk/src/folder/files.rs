//! Which files of a folder may hold notated music? All beneath it, in the order of their names.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// A file to look into.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Found {
    /// Where it is.
    pub path: PathBuf,
    /// Where it is in the folder, with `/` between the names whatever the machine.
    pub name: String,
}

/// What is in a folder.
#[derive(Debug, Default)]
pub(super) struct Listing {
    /// Files in the order of their names, folder by folder.
    pub files: Vec<Found>,
    /// Folders that could not be looked into, and why.
    pub closed: Vec<(String, String)>,
}

/// Every file beneath a folder. Hidden files and folders are passed over; a folder reached again through a link is
/// entered once.
pub(super) fn list(root: &Path) -> Listing {
    let mut listing = Listing::default();
    let mut entered = BTreeSet::new();
    enter(root, "", &mut entered, &mut listing);
    listing
}

fn enter(folder: &Path, name: &str, entered: &mut BTreeSet<PathBuf>, listing: &mut Listing) {
    let read = std::fs::canonicalize(folder).and_then(|real| {
        let new = entered.insert(real);
        Ok((new, std::fs::read_dir(folder)?))
    });
    let entries = match read {
        Ok((true, entries)) => entries,
        Ok((false, _)) => return,
        Err(error) => {
            listing.closed.push((name.to_owned(), error.to_string()));
            return;
        }
    };
    let mut children: Vec<_> = entries
        .filter_map(|entry| Some(entry.ok()?.file_name()))
        .collect();
    children.sort();
    for child in children {
        let text = child.to_string_lossy();
        if text.starts_with('.') {
            continue;
        }
        let path = folder.join(&child);
        let name = if name.is_empty() {
            text.into_owned()
        } else {
            format!("{name}/{text}")
        };
        // Through links; a link into nothing is no file.
        match std::fs::metadata(&path) {
            Ok(meta) if meta.is_dir() => enter(&path, &name, entered, listing),
            Ok(meta) if meta.is_file() => listing.files.push(Found { path, name }),
            Ok(_) => {}
            Err(error) if is_notation_name(&path) => listing.closed.push((name, error.to_string())),
            Err(_) => {}
        }
    }
}

/// Endings that only notated music has; of any other file, only its content tells.
const ENDINGS: [&str; 11] = [
    "musicxml", "mxl", "mei", "abc", "krn", "kern", "mid", "midi", "rmi", "kar", "smf",
];

/// True if the name says that it is notated music.
pub(super) fn is_notation_name(path: &Path) -> bool {
    path.extension()
        .and_then(std::ffi::OsStr::to_str)
        .is_some_and(|ending| ENDINGS.contains(&ending.to_ascii_lowercase().as_str()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sorted_without_hidden_files_and_without_going_round() {
        let root = std::env::temp_dir().join(format!("foreread-files-{}", std::process::id()));
        std::fs::create_dir_all(root.join("b/inner")).unwrap();
        std::fs::create_dir_all(root.join(".hidden")).unwrap();
        for name in [
            "c.abc",
            "a.abc",
            "b/two.mei",
            "b/inner/one.krn",
            ".secret.abc",
            ".hidden/x.abc",
        ] {
            std::fs::write(root.join(name), "").unwrap();
        }
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink(&root, root.join("b/loop")).unwrap();
            std::os::unix::fs::symlink(root.join("nowhere"), root.join("b/gone.abc")).unwrap();
        }
        let listing = list(&root);
        let names: Vec<&str> = listing.files.iter().map(|file| file.name.as_str()).collect();
        assert_eq!(names, ["a.abc", "b/inner/one.krn", "b/two.mei", "c.abc"]);
        #[cfg(unix)]
        assert_eq!(listing.closed.len(), 1, "the broken link is said");
        std::fs::remove_dir_all(&root).unwrap();
    }
}

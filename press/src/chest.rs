//! Where do the engraver's font tables lie while it works? In a folder of our own, removed at the end.
//!
//! The engraver reads its tables from disk alone. Unpacked are the measures of the one music font, of the text font and of the
//! font that it insists on, a few hundred kilobytes; the glyphs themselves we draw (see [`crate::engrave`]).

use std::io;
use std::path::{Path, PathBuf};
use verovio_data::DATA;

/// A folder that goes when it is dropped. Whoever runs the press gives it a folder for its temporary data and removes that
/// when the press was killed before it could do so itself.
pub struct Chest {
    path: PathBuf,
}

/// What the engraver wants: the tables of two music fonts, and of the text font.
const FILES: [&str; 2] = ["Bravura.xml", "Leipzig.xml"];
const FOLDERS: [&str; 1] = ["text"];

impl Chest {
    /// Makes the folder and unpacks.
    ///
    /// # Errors
    /// If the folder for temporary data can't be written.
    pub fn unpack() -> io::Result<Chest> {
        let chest = Chest {
            path: fresh_folder(&std::env::temp_dir())?,
        };
        for name in FILES {
            if let Some(file) = DATA.get_file(name) {
                std::fs::write(chest.path.join(name), file.contents())?;
            }
        }
        for name in FOLDERS {
            if let Some(folder) = DATA.get_dir(name) {
                std::fs::create_dir(chest.path.join(name))?;
                for file in folder.files() {
                    std::fs::write(chest.path.join(file.path()), file.contents())?;
                }
            }
        }
        Ok(chest)
    }

    /// The folder.
    pub fn path(&self) -> &Path {
        &self.path
    }
}

impl Drop for Chest {
    fn drop(&mut self) {
        // Nobody is left to tell; the runner removes the folder around it.
        let _ = std::fs::remove_dir_all(&self.path);
    }
}

/// Removes the folder that the runner gave this process, if nothing is left in it: the runner may be gone.
pub fn leave() {
    if let Some(folder) = std::env::var_os("FOREREAD_PRESS_FOLDER") {
        // Whatever is left in it is not ours to remove.
        let _ = std::fs::remove_dir(folder);
    }
}

fn fresh_folder(parent: &Path) -> io::Result<PathBuf> {
    let process = std::process::id();
    let mut last = io::Error::from(io::ErrorKind::AlreadyExists);
    for attempt in 0..100 {
        let path = parent.join(format!("foreread-press-{process}-{attempt}"));
        match std::fs::create_dir(&path) {
            Ok(()) => return Ok(path),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => last = error,
            Err(error) => return Err(error),
        }
    }
    Err(last)
}

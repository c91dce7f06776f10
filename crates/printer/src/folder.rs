//! Where does one press keep its temporary data? In a folder of its own, which goes with it however it ends.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// A folder that is removed with all that is in it when dropped.
pub struct Folder {
    path: PathBuf,
}

static NEXT: AtomicU32 = AtomicU32::new(0);

impl Folder {
    /// Makes one where temporary data go.
    ///
    /// # Errors
    /// If none can be made there.
    pub fn new() -> io::Result<Folder> {
        let parent = std::env::temp_dir();
        let process = std::process::id();
        let mut last = io::Error::from(io::ErrorKind::AlreadyExists);
        for _ in 0..100 {
            let number = NEXT.fetch_add(1, Ordering::Relaxed);
            let path = parent.join(format!("foreread-{process}-{number}"));
            match std::fs::create_dir(&path) {
                Ok(()) => return Ok(Folder { path }),
                // A process of the same number may have left it.
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => last = error,
                Err(error) => return Err(error),
            }
        }
        Err(last)
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // There is nobody to tell, and the next start of the computer empties the place.
        let _ = std::fs::remove_dir_all(&self.path);
    }
}

//! How is a file written so that a failure never leaves half of it? Beside the target, then renamed.

use crate::DeskError;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

/// A file that stands in its place only once it is whole.
#[derive(Debug)]
pub struct WholeFile {
    file: Option<BufWriter<File>>,
    beside: PathBuf,
    path: PathBuf,
}

impl WholeFile {
    /// Begins a file; nothing stands at its path before [`Self::finish`].
    ///
    /// # Errors
    /// If nothing can be written there.
    pub fn create(path: &Path) -> Result<Self, DeskError> {
        let mut beside = path.as_os_str().to_owned();
        beside.push(".part");
        let beside = PathBuf::from(beside);
        let file = File::create(&beside).map_err(|source| unwritable(path, source))?;
        Ok(Self {
            file: Some(BufWriter::with_capacity(1 << 16, file)),
            beside,
            path: path.to_path_buf(),
        })
    }

    /// Puts the file in its place.
    ///
    /// # Errors
    /// If the last bytes can't be written or the file can't be put there.
    pub fn finish(mut self) -> Result<(), DeskError> {
        let Some(mut file) = self.file.take() else {
            return Ok(());
        };
        let placed = file
            .flush()
            .and_then(|()| std::fs::rename(&self.beside, &self.path));
        if placed.is_err() {
            let _ = std::fs::remove_file(&self.beside);
        }
        placed.map_err(|source| unwritable(&self.path, source))
    }

    /// Writes a whole file at once.
    ///
    /// # Errors
    /// If it can't be written.
    pub fn write(path: &Path, bytes: &[u8]) -> Result<(), DeskError> {
        let mut file = Self::create(path)?;
        file.write_all(bytes).map_err(|source| unwritable(path, source))?;
        file.finish()
    }
}

impl Write for WholeFile {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.file.as_mut().map_or(Ok(0), |file| file.write(bytes))
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.file.as_mut().map_or(Ok(()), Write::flush)
    }
}

impl Drop for WholeFile {
    fn drop(&mut self) {
        if self.file.take().is_some() {
            // Never finished: half a file helps nobody.
            let _ = std::fs::remove_file(&self.beside);
        }
    }
}

/// Refuses to write over what is read.
///
/// # Errors
/// If both are the same file, by whatever names.
pub fn not_over_itself(read: &Path, written: &Path) -> Result<(), DeskError> {
    let real = |path| std::fs::canonicalize(path).ok();
    match (real(read), real(written)) {
        (Some(one), Some(other)) if one == other => Err(DeskError::OverItself {
            path: written.to_path_buf(),
        }),
        _ => Ok(()),
    }
}

fn unwritable(path: &Path, source: std::io::Error) -> DeskError {
    DeskError::Unwritable {
        path: path.to_path_buf(),
        source,
    }
}

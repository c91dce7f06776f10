//! How is a file written so that a failure never leaves half of it? Beside the target, then renamed.
//!
//! What is no file (a pipe, a printer, the null device) is written to as it stands and never replaced; a link is followed.

use crate::DeskError;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

/// A file that stands in its place only once it is whole.
#[derive(Debug)]
pub struct WholeFile {
    file: Option<BufWriter<File>>,
    /// Where it grows; `None` if it is written in its place.
    beside: Option<PathBuf>,
    path: PathBuf,
}

impl WholeFile {
    /// Begins a file; nothing stands at its path before [`Self::finish`].
    ///
    /// # Errors
    /// If nothing can be written there.
    pub fn create(path: &Path) -> Result<Self, DeskError> {
        let place = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
        let as_it_stands = std::fs::metadata(&place).is_ok_and(|there| !there.is_file() && !there.is_dir());
        let beside = (!as_it_stands).then(|| {
            let mut beside = place.as_os_str().to_owned();
            beside.push(".part");
            PathBuf::from(beside)
        });
        let opened = match &beside {
            Some(beside) => File::create(beside),
            None => File::options().write(true).open(&place),
        };
        let file = opened.map_err(|source| unwritable(path, source))?;
        Ok(Self {
            file: Some(BufWriter::with_capacity(1 << 16, file)),
            beside,
            path: place,
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
        let placed = file.flush().and_then(|()| match &self.beside {
            Some(beside) => std::fs::rename(beside, &self.path),
            None => Ok(()),
        });
        if placed.is_err() {
            self.leave_nothing();
        }
        placed.map_err(|source| unwritable(&self.path, source))
    }

    /// Half a file helps nobody.
    fn leave_nothing(&self) {
        if let Some(beside) = &self.beside {
            let _ = std::fs::remove_file(beside);
        }
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
            self.leave_nothing();
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

#[cfg(all(test, unix))]
#[allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]
mod tests {
    use super::WholeFile;
    use std::fs;
    use std::os::unix::fs::{FileTypeExt, symlink};
    use std::path::Path;

    #[test]
    fn a_device_stays_a_device_and_a_link_a_link() {
        WholeFile::write(Path::new("/dev/null"), b"gone").unwrap();
        assert!(fs::metadata("/dev/null").unwrap().file_type().is_char_device());

        let folder = std::env::temp_dir().join(format!("foreread-whole-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let (file, link) = (folder.join("part.pdf"), folder.join("latest.pdf"));
        fs::write(&file, b"old").unwrap();
        symlink(&file, &link).unwrap();
        WholeFile::write(&link, b"new").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().file_type().is_symlink());
        assert_eq!(fs::read(&file).unwrap(), b"new");
        fs::remove_dir_all(folder).unwrap();
    }
}

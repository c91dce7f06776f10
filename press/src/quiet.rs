//! How is what C++ prints kept away from the pipe, and what did it complain of?

use rustix::fd::OwnedFd;
use std::fs::File;
use std::io::{self, Read, Seek, Write};
use std::path::Path;

/// Takes standard output for the letters alone: whatever prints to it from now on goes to standard error.
///
/// # Errors
/// If the system has no file descriptor left.
pub fn take_the_pipe() -> io::Result<File> {
    let pipe = rustix::io::dup(rustix::stdio::stdout())?;
    rustix::stdio::dup2_stdout(rustix::stdio::stderr())?;
    Ok(File::from(pipe))
}

/// Says something on standard error, where the person who runs the program by hand sees it.
pub fn complain(what: &str) {
    // Nobody may be listening any more, which is no reason to fail.
    let _ = writeln!(io::stderr(), "foreread-press: {what}");
}

/// Keeps what is printed to standard error while it lives.
pub struct Quiet {
    before: OwnedFd,
    kept: File,
}

impl Quiet {
    /// Sends standard error to a file in the folder.
    ///
    /// # Errors
    /// If the file can't be made.
    pub fn begin(folder: &Path) -> io::Result<Quiet> {
        let kept = File::options()
            .read(true)
            .write(true)
            .create(true)
            .truncate(true)
            .open(folder.join("complaints.txt"))?;
        let before = rustix::io::dup(rustix::stdio::stderr())?;
        rustix::stdio::dup2_stderr(&kept)?;
        Ok(Quiet { before, kept })
    }

    /// Gives standard error back and tells what was printed, a line each, without those that came before.
    #[must_use]
    pub fn end(mut self) -> Vec<String> {
        let mut bytes = Vec::new();
        if self.kept.rewind().is_ok() {
            // What can't be read is only lost advice.
            let _ = (&mut self.kept).take(MOST_BYTES).read_to_end(&mut bytes);
        }
        let mut lines: Vec<String> = Vec::new();
        for line in String::from_utf8_lossy(&bytes).lines() {
            let line = line.trim();
            if !line.is_empty() && !lines.iter().any(|known| known == line) {
                lines.push(line.to_owned());
            }
        }
        lines
    }
}

/// How much of the engraver's complaints is read.
const MOST_BYTES: u64 = 64 << 10;

impl Drop for Quiet {
    fn drop(&mut self) {
        // There is nobody to tell if standard error can't be given back.
        let _ = rustix::stdio::dup2_stderr(&self.before);
    }
}

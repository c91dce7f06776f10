//! What did a press answer once? One file an answer, named for the request.

use crate::PrintError;
use job::{Answer, Letter, LetterError, Request};
use std::fs;
use std::io::{BufReader, BufWriter};
use std::path::{Path, PathBuf};

/// A folder of recorded answers.
pub struct Recorded {
    folder: PathBuf,
}

impl Recorded {
    /// In this folder.
    pub fn new(folder: PathBuf) -> Recorded {
        Recorded { folder }
    }

    /// The answer to the request of this key.
    ///
    /// # Errors
    /// If nobody recorded one, or the file can't be read.
    pub fn read(&self, key: &str) -> Result<Letter<Answer>, PrintError> {
        let path = self.folder.join(key);
        match fs::File::open(&path) {
            Ok(file) => {
                Letter::read(&mut BufReader::new(file)).map_err(|error| wrong(&path, &error.to_string()))
            }
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Err(PrintError::NotRecorded(path)),
            Err(error) => Err(wrong(&path, &error.to_string())),
        }
    }

    /// Keeps an answer.
    ///
    /// # Errors
    /// If it can't be written.
    pub fn write(&self, key: &str, answer: &Letter<Answer>) -> Result<(), PrintError> {
        let path = self.folder.join(key);
        let written = fs::create_dir_all(&self.folder)
            .and_then(|()| fs::File::create(&path))
            .map_err(LetterError::from)
            .and_then(|file| answer.write(&mut BufWriter::new(file)));
        written.map_err(|error| wrong(&path, &error.to_string()))
    }
}

fn wrong(path: &Path, why: &str) -> PrintError {
    PrintError::Record(path.to_owned(), why.to_owned())
}

/// The name of a request's file: what is asked, and a fingerprint of all of it.
///
/// # Errors
/// If the request can't be written.
pub fn key(letter: &Letter<Request>) -> Result<String, PrintError> {
    let mut bytes = Vec::new();
    letter
        .write(&mut bytes)
        .map_err(|error| PrintError::TooMuch(error.to_string()))?;
    let kind = match letter.head {
        Request::Hello => "hello",
        Request::Engrave(_) => "engrave",
        Request::Pdf(_) => "pdf",
        Request::Picture(_) => "picture",
        Request::Ink(_) => "ink",
        Request::Typeset(_) => "typeset",
        Request::See(_) => "see",
    };
    Ok(format!("{kind}-{:016x}.letter", fingerprint(&bytes)))
}

/// FNV-1a, 64 bits: the same on every machine and in every year, unlike the standard library's.
///
/// Source: Fowler, Noll, Vo; the offset and prime of draft-eastlake-fnv.
fn fingerprint(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

#[cfg(test)]
mod tests {
    use super::fingerprint;

    /// Source: draft-eastlake-fnv, the test vectors for `""`, `"a"` and `"foobar"`.
    #[test]
    fn the_fingerprint_is_the_published_one() {
        assert_eq!(fingerprint(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fingerprint(b"a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(fingerprint(b"foobar"), 0x8594_4171_f739_67e8);
    }
}

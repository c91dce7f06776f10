//! How does a message travel? A head as JSON and blobs beside it, each with its length before it.

use serde::{Serialize, de::DeserializeOwned};
use std::io::{Read, Write};

/// The longest head that is read, in bytes.
pub const MOST_HEAD_BYTES: u32 = 256 << 20;
/// The most that one letter's blobs may hold together, in bytes.
pub const MOST_BYTES: u64 = 1 << 30;
/// The most blobs of one letter.
pub const MOST_BLOBS: u32 = 10_000;

const MARK: [u8; 4] = *b"FRL1";

/// One message.
#[derive(Clone, PartialEq, Debug)]
pub struct Letter<T> {
    /// What is asked or answered.
    pub head: T,
    /// The bulky things that come with it.
    pub blobs: Vec<Vec<u8>>,
}

/// Why a letter did not arrive.
#[derive(Debug)]
pub enum LetterError {
    /// The other side is gone: nothing came.
    Closed,
    /// Reading or writing failed, or the letter stopped in the middle.
    Pipe(std::io::Error),
    /// What came is no letter, or a larger one than the limits allow.
    Garbled(String),
}

impl std::fmt::Display for LetterError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            LetterError::Closed => f.write_str("the other side closed the pipe"),
            LetterError::Pipe(error) => write!(f, "the pipe broke: {error}"),
            LetterError::Garbled(what) => write!(f, "no letter: {what}"),
        }
    }
}

impl std::error::Error for LetterError {}

impl From<std::io::Error> for LetterError {
    fn from(error: std::io::Error) -> LetterError {
        LetterError::Pipe(error)
    }
}

impl<T> Letter<T> {
    /// A letter without blobs.
    pub fn bare(head: T) -> Letter<T> {
        Letter {
            head,
            blobs: Vec::new(),
        }
    }
}

impl<T: Serialize> Letter<T> {
    /// Writes the letter and flushes.
    ///
    /// # Errors
    /// If the pipe breaks, or something is longer than the limits.
    pub fn write(&self, to: &mut impl Write) -> Result<(), LetterError> {
        let head = serde_json::to_vec(&self.head).map_err(|error| LetterError::Garbled(error.to_string()))?;
        let long = |what: &str| LetterError::Garbled(format!("{what} is longer than a letter may be"));
        let head_length = u32::try_from(head.len())
            .ok()
            .filter(|n| *n <= MOST_HEAD_BYTES)
            .ok_or_else(|| long("the head"))?;
        let count = u32::try_from(self.blobs.len())
            .ok()
            .filter(|n| *n <= MOST_BLOBS)
            .ok_or_else(|| long("the list"))?;
        to.write_all(&MARK)?;
        to.write_all(&head_length.to_le_bytes())?;
        to.write_all(&count.to_le_bytes())?;
        for blob in &self.blobs {
            let length = u64::try_from(blob.len()).map_err(|_| long("a blob"))?;
            to.write_all(&length.to_le_bytes())?;
        }
        to.write_all(&head)?;
        for blob in &self.blobs {
            to.write_all(blob)?;
        }
        Ok(to.flush()?)
    }
}

impl<T: DeserializeOwned> Letter<T> {
    /// Reads one letter.
    ///
    /// # Errors
    /// [`LetterError::Closed`] if nothing comes any more; otherwise what is wrong with it.
    pub fn read(from: &mut impl Read) -> Result<Letter<T>, LetterError> {
        let mut mark = [0_u8; 4];
        if from.read(&mut mark[..1])? == 0 {
            return Err(LetterError::Closed);
        }
        from.read_exact(&mut mark[1..])?;
        if mark != MARK {
            return Err(LetterError::Garbled("it doesn't begin like one".to_owned()));
        }
        let (head_length, count) = (number(from)?, number(from)?);
        if head_length > MOST_HEAD_BYTES || count > MOST_BLOBS {
            return Err(LetterError::Garbled(format!(
                "a head of {head_length} bytes and {count} blobs are too much"
            )));
        }
        let mut lengths = Vec::new();
        for _ in 0..count {
            let mut bytes = [0_u8; 8];
            from.read_exact(&mut bytes)?;
            lengths.push(u64::from_le_bytes(bytes));
        }
        let sum = lengths
            .iter()
            .try_fold(0_u64, |sum, length| sum.checked_add(*length))
            .unwrap_or(u64::MAX);
        if sum > MOST_BYTES {
            return Err(LetterError::Garbled(format!("blobs of {sum} bytes are too much")));
        }
        let head = exactly(from, u64::from(head_length))?;
        let head = serde_json::from_slice(&head).map_err(|error| LetterError::Garbled(error.to_string()))?;
        let blobs = lengths
            .into_iter()
            .map(|length| exactly(from, length))
            .collect::<Result<_, _>>()?;
        Ok(Letter { head, blobs })
    }
}

fn number(from: &mut impl Read) -> Result<u32, LetterError> {
    let mut bytes = [0_u8; 4];
    from.read_exact(&mut bytes)?;
    Ok(u32::from_le_bytes(bytes))
}

/// Reads so many bytes, taking memory only for what really comes.
fn exactly(from: &mut impl Read, length: u64) -> Result<Vec<u8>, LetterError> {
    let mut bytes = Vec::new();
    from.take(length).read_to_end(&mut bytes)?;
    if u64::try_from(bytes.len()) != Ok(length) {
        return Err(LetterError::Pipe(std::io::ErrorKind::UnexpectedEof.into()));
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::{Letter, LetterError};
    use crate::{AskInk, Request};

    fn letter() -> Letter<Request> {
        Letter {
            head: Request::Ink(AskInk { cell: 2.5 }),
            blobs: vec![b"<svg/>".to_vec(), Vec::new()],
        }
    }

    #[test]
    fn a_letter_comes_back_as_it_went() {
        let mut bytes = Vec::new();
        letter().write(&mut bytes).unwrap();
        letter().write(&mut bytes).unwrap();
        let mut from = bytes.as_slice();
        assert_eq!(Letter::read(&mut from).unwrap(), letter());
        assert_eq!(Letter::read(&mut from).unwrap(), letter());
        assert!(matches!(
            Letter::<Request>::read(&mut from),
            Err(LetterError::Closed)
        ));
    }

    #[test]
    fn a_letter_cut_anywhere_is_an_error_and_nothing_else() {
        let mut bytes = Vec::new();
        letter().write(&mut bytes).unwrap();
        for end in 1..bytes.len() {
            assert!(
                Letter::<Request>::read(&mut &bytes[..end]).is_err(),
                "cut at {end}"
            );
        }
    }

    #[test]
    fn lengths_that_lie_take_no_memory() {
        let mut bytes = b"FRL1".to_vec();
        bytes.extend(2_u32.to_le_bytes());
        bytes.extend(1_u32.to_le_bytes());
        bytes.extend((1_u64 << 29).to_le_bytes());
        bytes.extend(b"\"Hello\"");
        assert!(Letter::<Request>::read(&mut bytes.as_slice()).is_err());
        bytes[12..20].copy_from_slice(&u64::MAX.to_le_bytes());
        assert!(matches!(
            Letter::<Request>::read(&mut bytes.as_slice()),
            Err(LetterError::Garbled(_))
        ));
    }
}

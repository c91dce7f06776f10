//! What does a Humdrum `**kern` score say?
//!
//! Source: The Humdrum Toolkit reference, `**kern` representation, <https://www.humdrum.org/rep/kern/>.

use crate::FormatError;
use notation::{Finding, Piece};

/// True if the bytes hold a Humdrum score with `**kern` spines.
pub(crate) fn looks_like(_bytes: &[u8]) -> bool {
    false
}

/// Reads the decoded text of a score.
///
/// # Errors
/// If it holds no usable music.
pub(crate) fn read(_text: &str) -> Result<(Piece, Vec<Finding>), FormatError> {
    Err(FormatError::Empty)
}

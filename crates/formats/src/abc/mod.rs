//! What does an ABC 2.1 tune say? Tunebooks of many tunes, one read at a time.
//!
//! Source: The ABC music standard 2.1 (December 2011), <https://abcnotation.com/wiki/abc:standard:v2.1>.

use crate::{FormatError, Tune};
use notation::{Finding, Piece};

/// True if the bytes hold a tune in ABC.
pub(crate) fn looks_like(_bytes: &[u8]) -> bool {
    false
}

/// The tunes of a book, in order.
pub(crate) fn tunes(_text: &str) -> Vec<Tune> {
    Vec::new()
}

/// Reads one tune of the decoded text.
///
/// # Errors
/// If it holds no usable music.
pub(crate) fn read(_text: &str, _tune: Option<&Tune>) -> Result<(Piece, Vec<Finding>), FormatError> {
    Err(FormatError::Empty)
}

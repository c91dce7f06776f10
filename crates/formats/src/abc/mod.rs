//! What does an ABC 2.1 tune say? Tunebooks of many tunes, one read at a time.
//!
//! Source: The ABC music standard 2.1 (December 2011), <https://abcnotation.com/wiki/abc:standard:v2.1>.
//! What is read, kept aside or reported, construct by construct: `COVERAGE.md` in this folder.

mod bars;
mod beams;
mod clef;
mod decorations;
mod finish;
mod key;
mod last_endings;
mod lines;
mod lyrics;
mod macros;
mod marks;
mod metre;
mod music;
mod notes;
mod order;
mod reader;
mod says;
mod setup;
mod tempo;
mod text;
mod tokens;
mod tunebook;
mod voice;
mod voices;

use crate::{FormatError, Tune};
use notation::{Finding, Piece};

/// True if the bytes hold a tune in ABC.
pub(crate) fn looks_like(bytes: &[u8]) -> bool {
    tunebook::looks_like(bytes)
}

/// The tunes of a book, in order.
pub(crate) fn tunes(text: &str) -> Vec<Tune> {
    tunebook::tunes(text)
}

/// Reads one tune of the decoded text.
///
/// # Errors
/// If it holds no usable music, or asks for more than a tune needs.
pub(crate) fn read(text: &str, tune: Option<&Tune>) -> Result<(Piece, Vec<Finding>), FormatError> {
    reader::read(text, tune)
}

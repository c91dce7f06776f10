//! What does a MusicXML 4.0 file say? `score-partwise` and `score-timewise`, plain or compressed (`.mxl`).
//!
//! Source: MusicXML 4.0 (W3C Music Notation Community Group), <https://www.w3.org/2021/06/musicxml40/>.
//! What is read, kept aside or reported, element by element: `COVERAGE.md` in this folder.
//!
//! The text is streamed: only the bar being read stands in memory as a tree.

mod attributes;
mod bars;
mod direction;
mod head;
mod header;
mod names;
mod notations;
mod note;
mod part;
mod score;
mod spans;
mod technical;
mod ties;
mod tuplets;
mod write;

use crate::FormatError;
use notation::{Finding, Piece};

pub(crate) use write::{write, write_packed};

/// Reads the decoded text of a MusicXML score.
///
/// # Errors
/// If the text is no MusicXML, is cut off, or asks for more than notated music needs.
pub(crate) fn read(text: &str) -> Result<(Piece, Vec<Finding>), FormatError> {
    score::read(text)
}

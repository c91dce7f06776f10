//! What does a MusicXML 4.0 file say? `score-partwise` and `score-timewise`, plain or compressed (`.mxl`).
//!
//! Source: MusicXML 4.0 (W3C Music Notation Community Group), <https://www.w3.org/2021/06/musicxml40/>.
//! What is read, kept aside or reported, element by element: `COVERAGE.md` beside this crate's manifest.
//!
//! The text is streamed: only the bar being read stands in memory as a tree.

mod attributes;
mod bars;
mod check;
mod container;
mod decode;
mod direction;
mod entities;
mod grid;
mod head;
mod header;
mod names;
mod notations;
mod note;
mod part;
mod report;
mod score;
mod spans;
mod technical;
mod ties;
mod tokens;
mod tuplets;
mod xml;

use crate::FormatError;
use notation::{Finding, Piece};

/// Reads a MusicXML score.
///
/// # Errors
/// If the bytes are no MusicXML, can't be decoded, are cut off, or ask for more than notated music needs.
pub(crate) fn read(bytes: &[u8], name: &str) -> Result<(Piece, Vec<Finding>), FormatError> {
    let source = container::open(bytes)?;
    let (mut piece, findings) = score::read(&source.text)?;
    piece.provenance.source = name.to_owned();
    piece.provenance.sha256 = container::sha256(bytes);
    piece.provenance.zip_entry = source.entry;
    let mut all = source.findings;
    all.extend(findings);
    Ok((piece, all))
}

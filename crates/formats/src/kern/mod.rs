//! What does a Humdrum `**kern` score say?
//!
//! Source: The Humdrum Toolkit reference, `**kern` representation, <https://www.humdrum.org/rep/kern/>; spine paths,
//! section labels and tandem interpretations by the Humdrum user's guide, <https://www.humdrum.org/guide/>.
//! What is read, kept aside or reported, signifier by signifier: `COVERAGE.md` in this folder.
//!
//! Read in three steps: the text to records and columns with their time (`scan`), the columns to parts and staves
//! (`layout`), and both to a piece, record by record (`score`).

mod accidentals;
mod bars;
mod columns;
mod credits;
mod duration;
mod dynamics;
mod instruments;
mod key;
mod layout;
mod leftover;
mod metre;
mod notes;
mod part;
mod records;
mod scan;
mod score;
mod sections;
mod signatures;
mod signs;
mod spans;
mod tandem;
mod ties;
mod token;
mod tuplets;
mod user;
mod verses;
mod words;

use crate::FormatError;
use notation::{Finding, Piece};

/// True if the bytes hold a Humdrum score with `**kern` spines: the first line that is no comment opens one.
pub(crate) fn looks_like(bytes: &[u8]) -> bool {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut lines = bytes.split(|byte| matches!(byte, b'\n' | b'\r'));
    let first = lines.find(|line| !line.trim_ascii().is_empty() && !line.starts_with(b"!"));
    first.is_some_and(|line| {
        line.starts_with(b"**")
            && line
                .split(|byte| *byte == b'\t')
                .any(|token| token.trim_ascii() == b"**kern")
    })
}

/// Reads the decoded text of a score.
///
/// # Errors
/// If it holds no `**kern` music, or asks for more than notated music needs.
pub(crate) fn read(text: &str) -> Result<(Piece, Vec<Finding>), FormatError> {
    score::read(text)
}

//! What does an MEI 5 score say? Common Western notation, as its module `MEI.cmn` defines it.
//!
//! Source: Music Encoding Initiative Guidelines 5.0, <https://music-encoding.org/guidelines/v5/content/>.
//! What is read, kept aside or reported, element by element: `COVERAGE.md` in this folder.
//!
//! The text is streamed: only the measure being read stands in memory as a tree. What stands beside the staves
//! (slurs, words, signs) is kept and put in its place when all notes are known, because it may name any of them.

mod bars;
mod beams;
mod control;
mod credits;
mod defs;
mod document;
mod editorial;
mod event;
mod force;
mod head;
mod layer;
mod lyrics;
mod marks;
mod music;
mod order;
mod own;
mod places;
mod resolve;
mod signs;
mod tempo;
mod text;
mod ties;
mod tuplets;
mod values;

mod write;

pub use write::{Engraving, MeiOptions, WordSetting, WordStyle, write};

use crate::FormatError;
use notation::{Finding, Piece};

/// True for the root elements of MEI documents.
pub(crate) fn is_root(name: &str) -> bool {
    matches!(name, "mei" | "music" | "meiCorpus")
}

/// Reads the decoded text of a score.
///
/// # Errors
/// If the text is cut off, no XML, asks for more than notated music needs, or holds no measures.
pub(crate) fn read(text: &str) -> Result<(Piece, Vec<Finding>), FormatError> {
    document::read(text, None)
}

/// Reads one movement of several, by its position from 0.
///
/// # Errors
/// As [`read`].
pub(crate) fn read_movement(text: &str, movement: usize) -> Result<(Piece, Vec<Finding>), FormatError> {
    document::read(text, Some(movement))
}

/// The movements of a document, numbered from 1; none where there is only one.
/// Source: MEI Guidelines 5.0, element `mdiv`: "contains a subdivision of the body of a musical text".
pub(crate) fn movements(text: &str) -> Vec<crate::Tune> {
    let all = document::movements(text);
    if all.len() < 2 {
        return Vec::new();
    }
    let numbered = all.into_iter().enumerate();
    numbered
        .map(|(at, (title, range))| crate::Tune {
            number: (at + 1).to_string(),
            title,
            range,
        })
        .collect()
}

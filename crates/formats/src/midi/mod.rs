//! What does a Standard MIDI file say? When keys go down and up; a page is made of it by quantising and spelling.
//!
//! Source: Standard MIDI Files 1.0 (RP-001), MIDI Manufacturers Association, 1988/1996.
//! What is read, kept aside or reported, event by event: `COVERAGE.md` in this folder.
//!
//! A file of this kind holds no accidentals, articulation, slurs, dynamics or words of the page. None is made up: spelling,
//! note values and, where none is declared, the key signature are inferred, marked as guessed, and said in findings.

mod bars;
mod build;
mod bytes;
mod ends;
mod metre_tree;
mod parts;
mod quantise;
mod said;
mod signature;
mod signs;
mod spelling;
mod take;
mod values;
mod voices;
mod write;

pub use write::{MidiOptions, write_midi};

use crate::FormatError;
use notation::{Finding, Piece};

/// Reads a Standard MIDI file.
///
/// # Errors
/// If it holds no notes, is damaged beyond use, or lasts longer than any piece.
pub(crate) fn read(bytes: &[u8]) -> Result<(Piece, Vec<Finding>), FormatError> {
    build::read(bytes)
}

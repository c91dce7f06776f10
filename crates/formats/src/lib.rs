//! How does a standard's bytes become a Piece and back? One folder per standard. Bytes in, `(Piece, findings)` out.
//!
//! What a file is, its content decides, never its name. A reader refuses only what holds no usable music;
//! whatever it repairs, guesses or leaves out is a finding.

mod abc;
mod assemble;
mod container;
mod decode;
mod error;
mod kern;
mod looks;
mod mei;
mod midi;
mod musicxml;
mod report;
mod source;
mod standard;
mod xml;

pub use error::FormatError;
pub use mei::{Engraving, MeiOptions, WordSetting, WordStyle, write as write_mei};
pub use midi::{MidiOptions, write_midi};
pub use source::{Source, Tune};
pub use standard::Standard;

use notation::{Finding, Piece};

/// Reads a notated piece from its bytes. `name` is what the person calls the source; it is kept, not believed.
/// Of a book of several tunes, the first is read and a finding says so; [`Source`] reads any of them.
///
/// # Errors
/// If the bytes hold no piece that we can read: the message says what they look like, where it went wrong,
/// and what to do.
pub fn read(bytes: &[u8], name: &str) -> Result<(Piece, Vec<Finding>), FormatError> {
    Source::open(bytes, name)?.read(None)
}

/// Writes a piece as the text of a MusicXML 4.0 score. Read back, it is the same page; what MusicXML can't say is among
/// the findings. Our ids stand in the text as `id`, so that what others say about a note can be brought back to it.
#[must_use]
pub fn write_musicxml(piece: &Piece) -> (String, Vec<Finding>) {
    musicxml::write(piece)
}

/// Writes a piece as a compressed MusicXML score (`.mxl`): the same text, packed; the same piece makes the same bytes.
///
/// # Errors
/// If the score is too large for an archive.
pub fn write_mxl(piece: &Piece) -> Result<(Vec<u8>, Vec<Finding>), FormatError> {
    musicxml::write_packed(piece)
}

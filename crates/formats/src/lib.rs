//! How does a standard's bytes become a Piece and back? One folder per standard. Bytes in, `(Piece, findings)` out.
//!
//! What a file is, its content decides, never its name. A reader refuses only what holds no usable music;
//! whatever it repairs, guesses or leaves out is a finding.

mod error;
mod looks;
mod musicxml;

pub use error::FormatError;

use notation::{Finding, Piece};

/// Reads a notated piece from its bytes. `name` is what the person calls the source; it is kept, not believed.
///
/// # Errors
/// If the bytes hold no piece that we can read: the message says what they look like, where it went wrong,
/// and what to do.
pub fn read(bytes: &[u8], name: &str) -> Result<(Piece, Vec<Finding>), FormatError> {
    musicxml::read(bytes, name)
}

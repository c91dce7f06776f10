//! Which piece? What every command that takes one can be told, and how it is opened.

use clap::Args;
use desk::{DeskError, Opened};
use std::io::Read;
use std::path::{Path, PathBuf};

/// The piece, the tune and the part.
#[derive(Debug, Args)]
pub(crate) struct PieceArgs {
    /// The piece: a file in MusicXML (.musicxml, .xml, .mxl), MEI, ABC, Humdrum kern or MIDI, or - for standard input;
    /// its content decides which
    pub(crate) piece: PathBuf,
    /// The tune of a tunebook, by its number (the X: line in ABC)
    #[arg(long, value_name = "NUMBER")]
    pub(crate) tune: Option<String>,
    /// The part, by its name or its number from 1
    #[arg(long, value_name = "NAME|NUMBER")]
    pub(crate) part: Option<String>,
}

impl PieceArgs {
    pub(crate) fn is_standard_input(&self) -> bool {
        self.piece.as_os_str() == "-"
    }

    /// Opens it.
    ///
    /// # Errors
    /// Whatever the desk says.
    pub(crate) fn open(&self) -> Result<Opened, DeskError> {
        open(&self.piece, self.tune.as_deref())
    }
}

/// Opens a piece, or standard input.
///
/// # Errors
/// Whatever the desk says.
pub(crate) fn open(piece: &Path, tune: Option<&str>) -> Result<Opened, DeskError> {
    if piece.as_os_str() != "-" {
        return desk::open_tune(piece, tune);
    }
    let bytes = standard_input()?;
    desk::open_bytes_tune(Path::new(STANDARD_INPUT), &bytes, tune)
}

pub(crate) const STANDARD_INPUT: &str = "standard input";

pub(crate) fn standard_input() -> Result<Vec<u8>, DeskError> {
    let mut bytes = Vec::new();
    std::io::stdin()
        .lock()
        .take(desk::MOST_BYTES + 1)
        .read_to_end(&mut bytes)
        .map_err(|source| DeskError::Unreadable {
            path: STANDARD_INPUT.into(),
            source,
        })?;
    if bytes.len() as u64 > desk::MOST_BYTES {
        return Err(DeskError::TooLarge {
            path: STANDARD_INPUT.into(),
            megabytes: bytes.len() as u64 / 1_000_000,
            limit: desk::MOST_BYTES / 1_000_000,
        });
    }
    Ok(bytes)
}

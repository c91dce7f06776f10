//! The things a person does: open, survey. App and command line both call these.
//!
//! This is the lowest floor that touches the disk.

mod error;
mod open;
mod survey_piece;

pub use error::{DeskError, Status};
pub use open::{MOST_BYTES, Opened, open, open_bytes};
pub use survey_piece::{Asked, PartChoice, Shown, choose_part, survey_json, survey_piece, survey_sheet};

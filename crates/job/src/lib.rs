//! What can be asked of the press? Requests, answers, boxes; serialisable, nothing else.
//!
//! The press is a program of its own (engraver, typesetter, PDF writer, the eye for printed pages) that may die at any time; the light program talks
//! to it over a pipe. One message is one [`Letter`]: a typed head as JSON and the bulky things (MEI, SVG, PDF, PNG) as blobs
//! beside it, so that nothing large is escaped.
//!
//! Lengths are the engraver's units unless a name says millimetres: a five-line staff is [`STAFF_HEIGHT`] units high, so the
//! distance between two of its lines is [`STAFF_SPACE`]. How large that is on paper is decided by whoever composes the page.

mod answer;
mod ink;
mod letter;
mod request;

pub use answer::{
    Answer, Boxed, Engraved, Rect, Refusal, RefusalKind, SeenPage, SeenSystem, SeenWords, SmallStaff, System,
    Typeset,
};
pub use ink::Ink;
pub use letter::{Letter, LetterError, MOST_BLOBS, MOST_BYTES, MOST_HEAD_BYTES};
pub use request::{
    AskEngrave, AskInk, AskPdf, AskPicture, AskSee, AskTypeset, Breaks, NamedFile, Request, Weights,
};

/// The version of these messages; the press answers [`Answer::Hello`] with its own, and the two must be equal.
pub const VERSION: u32 = 2;
/// The height of a five-line staff, in the engraver's units.
pub const STAFF_HEIGHT: f64 = 720.0;
/// The distance between two neighbouring lines of a staff, in the engraver's units.
pub const STAFF_SPACE: f64 = 180.0;
/// The side of one cell of an [`Ink`] map, in the engraver's units: an eighth of a staff space.
pub const INK_CELL: f64 = 22.5;

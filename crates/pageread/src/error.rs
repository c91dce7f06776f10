//! What can go wrong before a page is read, said to a musician.

use thiserror::Error;

/// Why nothing could be read.
#[derive(Debug, Error, PartialEq, Eq)]
#[expect(missing_docs, reason = "each message says what its fields are")]
pub enum ScanError {
    #[error("this is no picture that can be read — save the scan as PNG, JPEG, TIFF or PDF")]
    Unknown,
    #[error("the picture can't be read: {0} — scan the page again or save it in another form")]
    Picture(String),
    #[error("the PDF can't be read: {0} — print it to a new PDF, or save its pages as pictures")]
    Pdf(String),
    #[error("the page has {width} × {height} pixels — scan it at 200 to 400 dots an inch")]
    Size { width: u32, height: u32 },
    #[error("no staff of five lines was found — scan the page upright, flat and with even light")]
    NoStaff,
    #[error("the reader itself does not run: {0}")]
    Reader(String),
}

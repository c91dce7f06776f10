//! What the light program asks.

use serde::{Deserialize, Serialize};

/// One thing asked of the press. The blobs that come with each are named at its variant.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub enum Request {
    /// Who is there? No blob. Answered by `Hello`.
    Hello,
    /// Engrave one part. Blob 0: our own MEI, with our own ids. Answered by `Engraved`, with one blob a system (its SVG
    /// fragment) after blob 0, the definitions that all of them share.
    Engrave(AskEngrave),
    /// Write pages as PDF. Blobs: one complete SVG a page. Answered by `Pdf`, blob 0.
    Pdf(AskPdf),
    /// Draw one SVG as pixels. Blob 0: a complete SVG. Answered by `Picture`, blob 0 a PNG.
    Picture(AskPicture),
    /// Where does an SVG leave ink? Blob 0: a complete SVG. Answered by `Ink`.
    Ink(AskInk),
    /// Typeset a document. Blob 0: the typesetter's source; the others: the files it names, in the order of
    /// [`AskTypeset::files`]. Answered by `Typeset`, blob 0 the PDF.
    Typeset(AskTypeset),
    /// What stands on a printed page? Blob 0: a file (PNG, JPEG, TIFF, PDF). Answered by `Seen`, with one blob a system: the
    /// scores of the trained reader, little-endian 32-bit floats, frame by frame; after them the page as PNG if asked for.
    See(AskSee),
}

/// How to engrave.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct AskEngrave {
    /// The width of a system, in the engraver's units.
    pub width: f64,
    /// Where lines end.
    pub breaks: Breaks,
    /// How much wider than usual the notes stand (1 is usual; from 0.5 to 3).
    pub spacing: f64,
    /// How thick lines are beside the usual (large print wants more).
    pub weights: Weights,
    /// Whether to answer an [`crate::Ink`] map with each system.
    pub ink: bool,
}

/// Where lines end.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub enum Breaks {
    /// Wherever a line is full.
    Flow,
    /// Exactly at the `sb` and `pb` of the MEI.
    AsMarked,
    /// At the `sb` of the MEI, and wherever else a line is full.
    MarkedAndFlow,
    /// All on one line, as long as it needs (excerpts).
    OneLine,
}

/// How thick lines are, each beside the engraver's usual (1).
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct Weights {
    /// The lines of the staff.
    pub staff: f64,
    /// Stems.
    pub stem: f64,
    /// Barlines.
    pub barline: f64,
    /// Ledger lines.
    pub ledger: f64,
    /// Slurs and ties, in the middle.
    pub slur: f64,
    /// Signs that are small by custom (articulations, accidental marks, grace notes, fingerings), beside their usual size.
    pub small_signs: f64,
}

impl Default for Weights {
    fn default() -> Weights {
        Weights {
            staff: 1.0,
            stem: 1.0,
            barline: 1.0,
            ledger: 1.0,
            slur: 1.0,
            small_signs: 1.0,
        }
    }
}

/// Pages of a PDF.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct AskPdf {
    /// Width and height of each page, in millimetres, in the order of the blobs.
    pub sizes_mm: Vec<(f64, f64)>,
    /// The title in the PDF's own description.
    pub title: String,
    /// Whose it is, in the PDF's own description.
    pub author: String,
    /// The language of its words, as BCP 47 (`en`).
    pub language: String,
}

/// One picture.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct AskPicture {
    /// Its width, in pixels; the height follows.
    pub width_px: u32,
    /// Whether the paper is white (else it is transparent).
    pub paper: bool,
}

/// Where is ink?
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct AskInk {
    /// The side of a cell, in the SVG's own units (its outermost viewBox).
    pub cell: f64,
}

/// A page to look at.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct AskSee {
    /// Which page of the file; the first is 0.
    pub page: u32,
    /// Whether to answer the page itself as a picture, too.
    pub picture: bool,
    /// Whether to answer each straightened system as a picture to be looked at, too.
    #[serde(default)]
    pub strips: bool,
}

/// A document to typeset.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct AskTypeset {
    /// The files that the source names (pictures as SVG), in the order of the blobs after the source.
    pub files: Vec<NamedFile>,
}

/// A file beside the source.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct NamedFile {
    /// As the source names it: `spot-1.svg`.
    pub name: String,
}

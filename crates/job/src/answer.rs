//! What the press answers.

use crate::ink::Ink;
use serde::{Deserialize, Serialize};

/// One answer. The blobs that come with each are named at [`crate::Request`].
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub enum Answer {
    /// Who is there.
    Hello {
        /// [`crate::VERSION`] of the press.
        version: u32,
        /// The press and what is in it, in words, for notices and bug reports.
        about: String,
    },
    /// The engraved music.
    Engraved(Engraved),
    /// Blob 0 is a PDF.
    Pdf {
        /// How many pages it has.
        pages: u32,
    },
    /// Blob 0 is a PNG.
    Picture {
        /// Width in pixels.
        width: u32,
        /// Height in pixels.
        height: u32,
    },
    /// The ink.
    Ink(Ink),
    /// Blob 0 is a PDF.
    Typeset(Typeset),
    /// What was found on a page.
    Seen(SeenPage),
    /// It could not be done.
    Refused(Refusal),
}

/// Why not.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Refusal {
    /// Whose fault.
    pub kind: RefusalKind,
    /// What is wrong, a sentence.
    pub what: String,
}

/// Whose fault a refusal is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub enum RefusalKind {
    /// The request can't be read or its blobs are missing.
    Request,
    /// The engraver could not read or engrave the music.
    Music,
    /// The typesetter could not read the source.
    Source,
    /// The file is no page that can be read; the sentence says what to do, too.
    Page,
    /// Disk, fonts, memory.
    Machine,
}

/// A rectangle, in the engraver's units; y grows downwards.
#[derive(Clone, Copy, PartialEq, Debug, Default, Serialize, Deserialize)]
pub struct Rect {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

/// Engraved music, system by system, in one coordinate system (that of the engraver's page margin): whoever composes pages
/// moves whole systems.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Engraved {
    /// The systems, from the top. Blob `n + 1` is system `n`'s SVG: one `<g class="system">…</g>`.
    pub systems: Vec<System>,
    /// What the engraver complained about, in its own words.
    pub complaints: Vec<String>,
}

/// One system.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct System {
    /// Around everything drawn in it.
    pub bounds: Rect,
    /// Its staff lines, from the top line to the bottom line.
    pub staff: Rect,
    /// What is drawn in it that has an id or a class worth knowing, in the order of drawing.
    pub boxes: Vec<Boxed>,
    /// Where it has ink, if asked for.
    pub ink: Option<Ink>,
}

/// One drawn thing.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Boxed {
    /// Its id: ours, from the MEI, or one that the engraver made up.
    pub id: String,
    /// The engraver's class, which is the MEI element's name: `note`, `rest`, `accid`, `measure`, `slur`, `dynam` …
    pub class: String,
    /// The id of the nearest measure it stands in, if any.
    pub measure: String,
    /// Its box, measured on what is drawn for it, words in our fonts included. A note's is its head without stem and dots, a
    /// chord's those of its notes, a rest's and a beam's their own without dots and notes; a measure's is that of its staff
    /// lines. What is drawn on several systems has a box on each. What draws nothing has none.
    pub rect: Rect,
}

/// A typeset document.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Typeset {
    /// How many pages it has.
    pub pages: u32,
    /// What the typesetter warned of.
    pub warnings: Vec<String>,
}

/// A printed page. Lengths are pixels of the file (a PDF is drawn at 200 dots an inch).
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct SeenPage {
    /// So many pages has the file.
    pub pages: u32,
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// Its systems, from the top; none where no staff is found. Blob `n` holds the scores of system `n`; the systems' pictures
    /// follow in the same order if they were asked for, then the page's.
    pub systems: Vec<SeenSystem>,
    /// Words above the first system and below the last, with their boxes in pixels of the file.
    #[serde(default)]
    pub words: Vec<SeenWords>,
    /// Smaller staves beside them (cue notes, ossias), which are not read.
    #[serde(default)]
    pub small: Vec<SmallStaff>,
}

/// A staff smaller than those that are read, in pixels of the file.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct SmallStaff {
    /// x of its left end.
    pub left: f32,
    /// x of its right end.
    pub right: f32,
    /// y of its middle line.
    pub middle: f32,
}

/// A line of text on a page, as it was read.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct SeenWords {
    /// The left, upper, right and lower edge.
    pub bounds: (f32, f32, f32, f32),
    /// What it says. A note of a metronome mark is `♩` (quarter), `♪` (eighth), `♫` (sixteenth) or `♬` (half); text in a frame stands
    /// between `⟦` and `⟧`.
    pub text: String,
    /// How sure the reader is of its letters, from 0 to 1.
    pub sure: f32,
}

/// One system on a page, straightened to a picture of ten pixels a staff space.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct SeenSystem {
    /// x of the picture's left edge, in pixels of the file.
    pub left: f32,
    /// Pixels of the file for one pixel of the picture.
    pub scale: f32,
    /// y in the file of the staff's middle line, at its left and at its right end.
    pub middle: (f32, f32),
    /// Pixels of the picture across.
    pub width: u32,
    /// Words that belong to it, with their boxes in pixels of its picture (240 rows, the middle line at row 112).
    #[serde(default)]
    pub words: Vec<SeenWords>,
}

impl Rect {
    /// The right edge.
    #[must_use]
    pub fn right(&self) -> f64 {
        self.x + self.w
    }

    /// The lower edge.
    #[must_use]
    pub fn bottom(&self) -> f64 {
        self.y + self.h
    }

    /// The smallest rectangle around both.
    #[must_use]
    pub fn around(&self, other: &Rect) -> Rect {
        let (x, y) = (self.x.min(other.x), self.y.min(other.y));
        Rect {
            x,
            y,
            w: self.right().max(other.right()) - x,
            h: self.bottom().max(other.bottom()) - y,
        }
    }

    /// Whether the two share more than an edge.
    #[must_use]
    pub fn meets(&self, other: &Rect) -> bool {
        self.x < other.right() && other.x < self.right() && self.y < other.bottom() && other.y < self.bottom()
    }
}

//! How large is the page, and what of it is for music? Paper and margins in the engraver's units.

use crate::look::{Edition, Look};

/// Left and right margin, in millimetres. Source: common practice; most printers reach to 5 mm of the edge.
const SIDE_MM: f64 = 15.0;
/// Upper margin, in millimetres.
const TOP_MM: f64 = 12.0;
/// Lower margin, in millimetres; page number and footer stand in it.
const BOTTOM_MM: f64 = 15.0;

/// A page, in the engraver's units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Sheet {
    /// Millimetres of one unit.
    pub unit_mm: f64,
    /// Width of the paper.
    pub width: f64,
    /// Height of the paper.
    pub height: f64,
    /// Left margin (the right one is the same).
    pub side: f64,
    /// Upper margin.
    pub top: f64,
    /// Lower margin.
    pub bottom: f64,
    /// How large words are beside the usual: large print has larger ones, too.
    pub words: f64,
}

impl Sheet {
    /// The page of a look.
    pub fn of(look: &Look) -> Sheet {
        let unit_mm = look.unit_mm();
        let (width, height) = look.paper_mm();
        let words = if look.edition == Edition::LargePrint {
            1.6
        } else {
            1.0
        };
        Sheet {
            unit_mm,
            width: width / unit_mm,
            height: height / unit_mm,
            side: SIDE_MM / unit_mm,
            top: TOP_MM / unit_mm,
            bottom: BOTTOM_MM / unit_mm,
            words,
        }
    }

    /// Units of so many millimetres.
    pub fn mm(&self, millimetres: f64) -> f64 {
        millimetres / self.unit_mm
    }

    /// The size of words that are usually so many millimetres high (from one line to the next), in units.
    pub fn words_mm(&self, millimetres: f64) -> f64 {
        self.mm(millimetres * self.words)
    }

    /// The width that music has.
    pub fn music_width(&self) -> f64 {
        self.width - 2.0 * self.side
    }

    /// Where music ends, from the upper edge.
    pub fn lowest(&self) -> f64 {
        self.height - self.bottom
    }
}

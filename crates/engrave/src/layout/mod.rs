//! Which system stands where on which page?

use crate::look::Look;
use crate::printable::Printable;
use job::Rect;
use notation::{Finding, Id, PencilMark, Piece};
use std::collections::BTreeMap;

/// The part on pages.
#[derive(Clone, PartialEq, Debug)]
pub struct Laid {
    /// The pages, in order.
    pub pages: Vec<Page>,
    /// What the player should know: page turns that can't be made, what the engraver could not draw.
    pub findings: Vec<Finding>,
    /// Where everything stands.
    pub places: Places,
}

/// One page.
#[derive(Clone, PartialEq, Debug)]
pub struct Page {
    /// A complete SVG, its size in millimetres.
    pub svg: String,
    /// Its width, in millimetres.
    pub width_mm: f64,
    /// Its height, in millimetres.
    pub height_mm: f64,
}

/// Where everything stands: bars, events, heads, directions, spans, and the pencil marks.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Places {
    /// By our id. Something that reaches over several systems stands in several places.
    pub of: BTreeMap<Id, Vec<Spot>>,
    /// By the mark's index in the list given; empty for a mark that found no room.
    pub marks: Vec<Vec<Spot>>,
}

/// One place on paper.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Spot {
    /// The page, from 0.
    pub page: usize,
    /// The system in the whole part, from 0.
    pub system: usize,
    /// The rectangle on the page, in millimetres from its upper left corner.
    pub rect_mm: Rect,
}

/// Puts the engraved systems on pages and draws the marks.
#[must_use]
pub fn lay_out(
    _piece: &Piece,
    _look: &Look,
    _printable: &Printable,
    _engraved: &job::Engraved,
    _svgs: &[String],
    marks: &[PencilMark],
) -> Laid {
    Laid {
        pages: Vec::new(),
        findings: Vec::new(),
        places: Places {
            of: BTreeMap::new(),
            marks: vec![Vec::new(); marks.len()],
        },
    }
}

/// The page's music without pencil, and its pencil without music: two complete SVGs of the page's size, for proving that one
/// does not cover the other.
#[must_use]
pub fn page_layers(page: &Page) -> (String, String) {
    (page.svg.clone(), String::new())
}

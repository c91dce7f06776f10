//! How do a few bars look as a small picture?

use crate::look::Look;
use crate::printable::{Printable, to_job};
use notation::{BarIndex, PencilMark, Piece};

/// A small picture.
#[derive(Clone, PartialEq, Debug)]
pub struct Picture {
    /// A complete SVG, its size in millimetres.
    pub svg: String,
    /// Its width, in millimetres.
    pub width_mm: f64,
    /// Its height, in millimetres.
    pub height_mm: f64,
}

/// Writes the bars from..=to for the engraver, with clef, key and metre in force at their start. They are set on one line if
/// `width_mm` is `None`, else on as many lines of that width as they need.
#[must_use]
pub fn excerpt(
    piece: &Piece,
    from: BarIndex,
    _to: BarIndex,
    look: &Look,
    _width_mm: Option<f64>,
) -> Printable {
    let mut printable = to_job(piece, look);
    printable.first_bar = from;
    printable
}

/// The engraved bars as one picture with its marks, cut to what is drawn. The marks are those of the whole piece or some of
/// them; what lies outside the bars is left out.
#[must_use]
pub fn excerpt_svg(
    _piece: &Piece,
    _look: &Look,
    _printable: &Printable,
    _engraved: &job::Engraved,
    _svgs: &[String],
    _marks: &[PencilMark],
) -> Picture {
    Picture {
        svg: String::new(),
        width_mm: 0.0,
        height_mm: 0.0,
    }
}

//! Where does a pencil mark stand, and how is it drawn?

use crate::look::Look;
use job::Rect;
use notation::{PencilMark, Piece};

/// One mark as drawn in one system.
#[derive(Clone, PartialEq, Debug)]
pub struct Drawn {
    /// Its index in the list given.
    pub mark: usize,
    /// An SVG fragment in the system's coordinates: one `<g class="mark …">`.
    pub svg: String,
    /// All its ink, in the system's coordinates.
    pub rect: Rect,
}

/// Places and draws the marks that belong in a system.
#[must_use]
pub fn place(_system: &job::System, _piece: &Piece, _marks: &[&PencilMark], _look: &Look) -> Vec<Drawn> {
    Vec::new()
}

/// Which marks of one page are drawn if at most so many may be: indices into the list, in its order. Marks that a person
/// kept are always among them.
#[must_use]
pub fn choose(marks: &[&PencilMark], _most: u32) -> Vec<usize> {
    (0..marks.len()).collect()
}

/// Rules for the classes that marks carry, for the page's style block.
#[must_use]
pub fn style(_look: &Look) -> String {
    String::new()
}

/// What the signs mean, as a block whose upper left corner is at 0, 0 and that is at most so many units wide; `None` if the
/// look asks for none. (`mark` of the answer means nothing.)
#[must_use]
pub fn legend_block(_look: &Look, _width: f64) -> Option<Drawn> {
    None
}

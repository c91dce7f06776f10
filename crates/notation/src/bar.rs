//! How is the piece barred? One grid for all parts; bar lines, repeats and endings as printed, unresolved.

use crate::id::Id;
use crate::marks::Fermata;
use crate::place::Place;
use crate::rational::Quarters;

/// One bar of the grid.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Bar {
    /// Its name.
    pub id: Id,
    /// The printed label: a number usually, but `4a` and `X1` exist; the source's number where none is printed.
    pub label: String,
    /// True if the source says that this bar is not counted (a pickup, the second half of a split bar).
    pub implicit: bool,
    /// Actual length in quarter notes: the longest voice of any part.
    pub length: Quarters,
    /// A system break stands before it.
    pub new_system: bool,
    /// A page break stands before it.
    pub new_page: bool,
}

/// Where in its bar a bar line stands.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum BarSide {
    /// At the start.
    Left,
    /// Inside, at the offset of its place.
    Middle,
    /// At the end.
    Right,
}

/// A bar line that says more than the usual thin one, with all that is attached to it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Barline {
    /// Its name.
    pub id: Id,
    /// The part that carries it (parts usually agree).
    pub part: usize,
    /// The bar and offset.
    pub place: Place,
    /// Which side of the bar.
    pub side: BarSide,
    /// The style as the standard names it (`light-light`, `light-heavy`, `dashed` …); `None` if not said.
    pub style: Option<String>,
    /// A repeat sign.
    pub repeat: Option<Repeat>,
    /// A volta bracket's start or end.
    pub ending: Option<Ending>,
    /// Fermatas over the bar line.
    pub fermatas: Vec<Fermata>,
    /// A segno sign at the bar line: its name for playback, may be empty.
    pub segno: Option<String>,
    /// A coda sign at the bar line: its name for playback, may be empty.
    pub coda: Option<String>,
}

/// A repeat sign as printed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Repeat {
    /// True for a start-repeat `|:`, false for an end-repeat `:|`.
    pub forward: bool,
    /// How many times the passage is played in all, if said.
    pub times: Option<u32>,
    /// Taken again after a jump, if said.
    pub after_jump: Option<bool>,
}

/// One end of a volta bracket as printed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Ending {
    /// The passes it is for, as the source gives them (`1`, `1,2`, possibly empty).
    pub number: String,
    /// The text printed, if it differs.
    pub text: String,
    /// Start, stop or discontinue.
    pub kind: EndingKind,
}

/// Which end of a volta bracket.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum EndingKind {
    /// It starts here.
    Start,
    /// It ends here with a downward stroke.
    Stop,
    /// It ends here open.
    Discontinue,
}

/// Several bars drawn as one thing; the bars themselves exist in the grid.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct BarGroup {
    /// Its name.
    pub id: Id,
    /// The first bar and the number of bars it covers (for a measure repeat: 1 or more).
    pub start: crate::place::BarIndex,
    /// Bars covered.
    pub bars: u32,
    /// What is drawn.
    pub kind: BarGroupKind,
}

/// What is drawn over several bars.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum BarGroupKind {
    /// A multi-bar rest.
    MultiRest,
    /// A measure repeat sign that repeats so many bars.
    MeasureRepeat {
        /// How many bars the sign repeats (1, 2, 4).
        pattern: u32,
    },
    /// Slash notation or beat repeats, by the standard's name.
    Other(String),
}

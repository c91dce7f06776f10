//! What does this scanned page say? What the press saw of its systems in, a Piece with its confidence and findings out.
//!
//! The press finds the systems of a page and runs the trained reader; here its scores become signs ([`System::new`]), and
//! [`assemble`] makes a Piece of them and of the words on the page.

mod assemble;
mod bars;
mod decode;
mod mend;
mod page_bars;
mod pitches;
mod said;
mod signs;
mod text;
mod vocabulary;
mod words;

pub use assemble::{
    Places, Read, ReadBar, ReadMark, ReadSign, ReadText, Settled, System, ToLookAt, What, assemble,
    assemble_mended, taken,
};
pub use mend::{Doubt, Edit, Line, Mended, SignAt, mend};
pub use said::{change as said_change, sign as said_sign};
pub use signs::{Beside, Change, Other, Seen, Sign};
pub use text::{MetronomeSaid, TextAt, TextKind, TextLine};
pub use vocabulary::{Ask, BARS, CLEFS, DYNAMICS, FRAME, Flag, Main, ROADS, VALUES};

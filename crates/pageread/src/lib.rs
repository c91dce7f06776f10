//! What does this scanned page say? What the press saw of its systems in, a Piece with its confidence and findings out.
//!
//! The press finds the systems of a page and runs the trained reader; here its scores become signs ([`System::new`]), and
//! [`assemble`] makes a Piece of them and of the words on the page.

mod assemble;
mod bars;
mod page_bars;
mod pitches;
mod signs;
mod vocabulary;
mod words;

pub use assemble::{Read, System, assemble};
pub use signs::{Beside, Seen, Sign};

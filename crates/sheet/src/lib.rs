//! How do the findings read? Terminal and HTML; leaves slots for engraved excerpts.

mod compose;
mod html;
mod model;
mod terminal;
mod words;

pub use compose::{Composed, compose, fingers, ladder, spots};
pub use html::html;
pub use model::{BarCell, Picture, Row, Section, Sheet, Tick};
pub use terminal::{Terminal, terminal};
pub use words::BarWord;

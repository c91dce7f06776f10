//! How should the part look? Piece and marks in, a print job out; boxes in, pages out. Asks nobody.
//!
//! The way there: [`to_job`] writes the part as MEI and says how to engrave it; whoever runs the press brings back
//! [`job::Engraved`] and the systems' SVG; [`again`] says whether lines had better end elsewhere; [`lay_out`] places the pencil marks and puts the systems on pages. [`excerpt`]
//! and [`excerpt_svg`] do the same for a few bars as a small picture.

mod again;
mod boxes;
mod breaking;
mod excerpt;
mod layout;
mod look;
mod missing;
pub mod pencil;
mod phrases;
mod printable;
mod rewritten;
mod strip;
mod style;
mod systems;
mod text;
mod words;

pub use again::again;
pub use excerpt::{Picture, excerpt, excerpt_svg};
pub use layout::{Laid, Page, Places, Spot, lay_out, page_layers};
pub use look::{Edition, Look, Paper, StripItem};
pub use printable::{Printable, to_job};
pub use rewritten::{Reader, Rewritten, rewritten};

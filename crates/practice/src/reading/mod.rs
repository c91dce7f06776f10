//! What to read that is new? Fresh single-line pieces with asked features, composed here and proved by our own survey.
//!
//! Bounds come from a level of a published table ([`of_level`]), a model piece ([`of_piece`]) or the player ([`of_player`]);
//! single wishes narrow them ([`Bounds::with`]). A seed decides the rest: the same seed gives the same piece. A candidate is
//! written down, surveyed and studied like any other page; one that lacks what was asked or holds more is thrown away and
//! another is searched. What is returned was verified; nothing else is.
//!
//! What it does *not* do: change key or metre inside a piece, tie notes, write ornaments, or imitate anybody.

mod bounds;
mod cells;
pub(crate) mod chance;
mod figure;
mod form;
mod harmony;
mod key;
mod level;
mod like;
mod line;
mod marks;
mod measure;
mod rhythm;
mod search;
mod speed;
#[cfg(test)]
mod tests;
mod title;
mod tune;
mod verify;
mod write;

pub use bounds::{Altered, BARS, Bounds, DYNAMICS, Refusal, Source, Wished};
pub use figure::{Figure, Figures};
pub use key::Key;
pub use level::{find, of_level, of_player, usual_player};
pub use like::of_piece;
pub use marks::Sign;
pub use measure::Measure;
pub use search::{MOST_IN_A_SET, Reading, reading, set};
pub use verify::Feature;

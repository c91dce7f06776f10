//! What should they do? Drills made from the piece, fresh reading pieces, the plan from today to the date, calls.
//!
//! All of it is computed from a piece, its survey and its study for a player. Reads no file, asks no clock, draws no chance:
//! today's date and a seed come in as values.

pub mod call;
pub mod drill;
pub mod look_first;
pub mod plan;
pub mod reading;
mod span;

pub use span::BarSpan;

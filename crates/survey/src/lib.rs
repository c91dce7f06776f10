//! What is on the page? One module per question, each answer with its evidence (bar, beat, element). Reads no file.

pub mod accidentals;
pub mod articulation;
pub mod clefs;
mod context;
mod interval;
pub mod range;
mod walk;

pub use context::{Context, Evidence};

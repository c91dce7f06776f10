//! What is on the page? One module per question, each answer with its evidence (bar, beat, element). Reads no file.

pub mod accidentals;
pub mod articulation;
pub mod clefs;
mod context;
pub mod counts;
pub mod dynamics;
mod interval;
pub mod key;
pub mod look_first;
pub mod metre;
pub mod ornaments;
mod other_signs;
pub mod phrases;
mod question;
pub mod range;
pub mod rhythm;
pub mod road_map;
pub mod tempo;
pub mod terms;
mod walk;
mod whole;

pub use context::{Context, Evidence};
pub use question::Question;
pub use rhythm::CountingSystem;
pub use whole::{Options, Survey, survey};

//! What to practise, made from the piece, as notation: each drill says what it is for and when to stop.
//!
//! [`offers`] lists the drills that make sense, [`make`] writes one out as a piece of its own with a map back to the bars and
//! notes it was made from. Judges nothing new: where the trouble is comes from the study.

mod adding;
mod alike;
mod draft;
mod forms;
mod half;
mod keys;
mod kind;
#[cfg(test)]
mod laws;
mod leaps;
mod make;
mod offer;
mod offers;
mod reach;
mod registers;
mod runs;
mod scales;
mod simpler;
mod source;
mod tempo;
#[cfg(test)]
mod tests;
mod to_and_fro;
mod words;

pub use forms::{Chord, Form};
pub use kind::DrillKind;
pub use make::{ONE_VOICE, booklet, make};
pub use offer::{Booklet, Drill, Matter, Offer, Order, Pair, StartTempo};
pub use offers::{for_bars, look_alikes, offers, scales};
pub use source::Source;
pub use words::CAPS_SOURCE;

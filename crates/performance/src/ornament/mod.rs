//! Which notes does an ornament use? The written sign, the key in force and the bar's accidentals made into notes.
//!
//! The upper note of a trill is taken in this order: a sign on the ornament; an accidental live in the same bar and
//! octave; the local key, where it is certain; the signature. It is never an augmented second above unless the page
//! prints it so; where local key and signature disagree, both are given. Lengths and speeds are not decided here.

mod neighbour;
mod realise;
mod surroundings;

#[cfg(test)]
mod tests;

pub use neighbour::{CERTAIN, LocalKey, Neighbour, Reason, neighbour};
pub use realise::{Alternative, OrnamentNotes, Start, realise};
pub use surroundings::{LiveAccidentals, Surroundings};

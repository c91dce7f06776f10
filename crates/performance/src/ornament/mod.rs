//! Which notes does an ornament use? The written sign, the key in force and the bar's accidentals made into notes.
//!
//! The upper note of a trill is taken in this order: a sign on the ornament; an accidental live in the same bar and
//! octave; the local key, where it is certain; the signature. It is never an augmented second above unless the page
//! prints it so; where local key and signature disagree, both are given. [`realise`] gives the notes; [`sounded`] lays them
//! into time by the rule of a period.

mod grace;
mod neighbour;
mod period;
mod realise;
mod sounded;
mod surroundings;
mod written_out;

#[cfg(test)]
mod tests;
#[cfg(test)]
mod worked;

pub use grace::{long_value, short_because};
pub use neighbour::{CERTAIN, LocalKey, Neighbour, Reason, neighbour};
pub use period::{Begin, Choice, Period};
pub use realise::{Alternative, OrnamentNotes, Start, realise};
pub use sounded::{After, Before, Setting, Sounded, sounded};
pub(crate) use sounded::{quick_value, tremolo_unit};
pub use surroundings::{LiveAccidentals, Surroundings};
pub use written_out::{SmallNote, values, written_out};

//! In what order and when does it sound? The road map unfolded, ornaments realised, the part played.
//!
//! [`road::unfold`] gives the bars in the order in which they are played, [`ornament::realise`] the notes of an
//! ornament, [`play::perform`] the notes of a part with their times, lengths and loudness.
//! What it does *not* do: find the key (the key in force is passed in), sound anything, or read a file.

pub mod ornament;
pub mod play;
pub mod road;

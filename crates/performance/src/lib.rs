//! In what order and when does it sound? The road map unfolded, ornaments realised.
//!
//! [`road::unfold`] gives the bars in the order in which they are played, [`ornament::realise`] the notes of an
//! ornament.
//! What it does *not* do: find the key (the key in force is passed in), sound anything, or read a file.

pub mod ornament;
pub mod road;

//! What happened in this recording? Bytes to samples, samples to pitch, level and onsets, these laid against the piece.
//!
//! [`decode`] reads a sound file; [`listen`] follows its pitch and loudness frame by frame into a [`Track`]; [`onsets`] says
//! where tones begin, slurred and tongued alike. What the player was to play comes from
//! [`perform`](performance::play::perform).
//!
//! What it does *not* do: read a file, record, or know the instrument beyond the range it is given in an [`Ear`].

mod align;
mod ear;
mod error;
mod expected;
pub mod heard;
pub mod judge;
mod listen;
mod numbers;
mod onset;
mod recording;
#[cfg(test)]
mod testing;
mod track;

pub use align::{Alignment, Jump, JumpKind, PulsePoint, Sounded, Was, align};
pub use ear::Ear;
pub use error::TakeError;
pub use expected::{Expected, Opening, compass, expected};
pub use listen::listen;
pub use onset::{Onset, OnsetBy, onsets};
pub use recording::{Recording, decode, decode_from};
pub use track::{CANDIDATES, Candidate, Frame, Track, hertz_of, key_of};

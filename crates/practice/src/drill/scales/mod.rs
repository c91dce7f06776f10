//! Which scales and broken chords does the piece ask for, and how are they played? In the forms its notes use, over the
//! player's range, in its own rhythm and articulation.

mod asked;
mod figure;
mod laid;
mod path;

pub(crate) use asked::{Asked, What, asked};
pub(crate) use figure::figure;
pub(crate) use laid::laid;
pub(crate) use path::{chord_path, scale_path};

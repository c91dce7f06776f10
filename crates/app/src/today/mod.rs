//! What is to be done today? The sitting of a player's plan: its turns, their notes, the timer, what was done; and how far it is.

mod act;
mod done;
mod notes;
mod plans;
mod program;
mod progress;
mod sight;
mod turns;
mod view;

pub(crate) use act::{log, strike, tick};
pub(crate) use done::{Sittings, read_at_sight};
pub(crate) use notes::{drill_file, figure, turn_notes};
pub(crate) use plans::Plans;
pub(crate) use plans::{from_memory, open_named, open_nothing, planning};
pub(crate) use program::{Practice, Program, call_pieces, programs};
pub(crate) use progress::picture as progress_picture;
pub(crate) use sight::read;
pub(crate) use view::{choose, screen};

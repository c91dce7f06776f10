//! The teacher's own pencil: what she adds, moves, erases, keeps and chooses, apart from what we propose.

mod apply;
mod change;
mod choose;
mod decided;
mod margin;
mod marks;
mod place;
mod tray;

pub(crate) use apply::{Hers, of};
pub(crate) use change::gesture;
pub(crate) use choose::is_hers;
pub(crate) use decided::{in_piece, keys};
pub(crate) use margin::{breaths_here, decisions, key_here, key_of_all};
pub(crate) use tray::tray;

//! The teacher's own pencil: what she adds, moves, erases, keeps and chooses, apart from what we propose.

mod apply;
mod change;
mod place;
mod tray;

pub(crate) use apply::{Hers, of};
pub(crate) use change::gesture;
pub(crate) use tray::tray;

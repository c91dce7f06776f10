//! The part, open: what a musician sees, reads and hears of one piece.

mod bar;
mod hear;
mod margin;
mod notes;
mod paper;
mod point;
mod rows;
mod view;

pub(crate) use hear::{Sounds, sound, sound_file};
pub(crate) use paper::{music, page as paper_page};
pub(crate) use point::{Labels, pointing};
pub(crate) use view::{Wanted, bar, margin, page, screen};

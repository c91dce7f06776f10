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
pub(crate) use paper::{page as paper_page, page_to_come as paper_page_to_come};
pub(crate) use point::{Labels, pointing};
pub(crate) use view::{Wanted, bar, margin, page, screen};

//! The folder: all her pieces, found by what a teacher needs, each with how it begins.

mod cards;
mod change;
mod comparison;
mod features;
mod opening;
mod pages;
mod summary;
mod view;
mod wish;

pub(crate) use change::{MOST_BYTES, add, away, bars as piece_bars, correct, purpose};
pub(crate) use comparison::compare;
pub(crate) use opening::{Openings, begin, opening};
pub(crate) use summary::of as summary_of;
pub(crate) use view::screen;

//! Look first, then see: the twelve questions answered on a clean part, what was missed, and over weeks what keeps being missed.

mod answers;
mod begin;
mod clean;
mod now;
mod seen;
mod weeks;
mod words;

pub(crate) use answers::answers;
pub(crate) use begin::{begin, index};
pub(crate) use clean::Copies;
pub(crate) use now::{now, page};
pub(crate) use seen::seen;
pub(crate) use weeks::weeks;
pub(crate) use words::title;

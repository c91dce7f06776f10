//! Question 6, tempo.

mod marked;

pub use marked::{Marked, MetronomeMark, Pace, TempoMark, convert, marked};

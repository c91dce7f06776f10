//! What to practise, made from the piece, as notation: each drill says what it is for and when to stop.

mod kind;

pub use kind::DrillKind;

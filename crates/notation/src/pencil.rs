//! Plain values that cross floors: pencil marks and key regions.

use crate::place::{Anchor, BarIndex};

/// A pencil mark on the part: which sign, where, and why it is there.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PencilMark {
    /// The kind of sign (`bracket`, `circle`, `eyeglasses`, `breath` …).
    pub kind: String,
    /// From where.
    pub from: Anchor,
    /// To where, for marks that reach.
    pub to: Option<Anchor>,
    /// Words or numbers written with it.
    pub text: String,
    /// Why it is there, a sentence.
    pub reason: String,
}

/// A stretch of bars in one key.
#[derive(Clone, PartialEq, Debug)]
pub struct KeyRegion {
    /// First bar.
    pub from: BarIndex,
    /// Last bar.
    pub to: BarIndex,
    /// The tonic as written.
    pub tonic: (crate::pitch::Step, i8),
    /// Major, minor or a mode by its name.
    pub mode: String,
    /// Probability from 0 to 1.
    pub certainty: f64,
}

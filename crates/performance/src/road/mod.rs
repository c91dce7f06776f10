//! In what order are the written bars played? Repeats, endings, D.C., D.S., Fine and coda, unfolded.
//!
//! Signs of all parts are pooled: a da capo written for the cello alone sends everybody back. What contradicts
//! itself is played in the most sensible way and said in a finding; whatever the signs, the order ends.
//!
//! Rules of order. Source: MusicXML 4.0 (`repeat`, `ending`, `sound`: `times`, `after-jump`, `time-only`, the defaults
//! "first time through" for D.C. and D.S., "second time through" for To Coda); Grove's Dictionary (1883), "Repeat":
//! a minuet after its trio is "gone once straight through without repeats". Türk (2nd ed.) says the opposite for his
//! time, so repeats after a jump are an option ([`RepeatsAfterJump`]). An end-repeat without a start returns to the
//! last end-repeat or to the beginning; Fine and To Coda are passed over before the jump: common practice.

mod build;
mod endings;
mod grid;
mod jump_ends;
mod jumps;
mod listed;
mod number;
mod placing;
mod repeats;
mod report;
mod sections;
mod signs;
mod unfolding;
mod walk;
mod words;

#[cfg(test)]
mod tests;

pub use jumps::{JumpKind, Until};
pub use sections::{Section, SectionStart};
pub use unfolding::{Ending, Leap, LeapKind, PlayedBar, RepeatPassage, Unfolding, WrittenJump};

use notation::Piece;

/// What the page does not say and somebody has to decide.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct RoadOptions {
    /// Whether repeats are taken again after a D.C. or D.S.
    pub repeats_after_jump: RepeatsAfterJump,
}

/// Are repeats taken again after a D.C. or D.S.? What the page says (`senza replica`, `con ripetizione`, MusicXML
/// `after-jump`) comes first; this is for pages that say nothing.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum RepeatsAfterJump {
    /// Not repeated, last ending only: the modern custom, and the default.
    /// Source: Grove's Dictionary (1883), vol. 3, "Repeat"; UC Davis, notes on form ("by convention, skip the repeat
    /// signs").
    #[default]
    No,
    /// Repeated as written, as 18th-century writers ask.
    /// Source: Türk, Klavierschule, 2nd ed., as summarised by S. Rosenblum after M. Rudolf, "Inner Repeats in the
    /// Minuet or Scherzo da Capo".
    Yes,
}

/// The order in which the bars of a piece are played, with everything that led to it.
#[must_use]
pub fn unfold(piece: &Piece, options: &RoadOptions) -> Unfolding {
    build::build(piece, *options)
}

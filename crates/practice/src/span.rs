//! Which written bars are meant?

use notation::BarIndex;

/// Written bars, both ends included. `from` is never after `to`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct BarSpan {
    /// First bar.
    pub from: BarIndex,
    /// Last bar.
    pub to: BarIndex,
}

impl BarSpan {
    /// The bars between two, whichever is first.
    #[must_use]
    pub fn new(one: BarIndex, other: BarIndex) -> Self {
        Self {
            from: one.min(other),
            to: one.max(other),
        }
    }

    /// Whether a bar is one of them.
    #[must_use]
    pub fn holds(&self, bar: BarIndex) -> bool {
        (self.from..=self.to).contains(&bar)
    }
}

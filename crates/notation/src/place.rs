//! Where is it? Bars by index, places by bar and offset, anchors of spans and marks.

use crate::id::Id;
use crate::rational::Quarters;
use std::fmt;

/// The identity of a bar: its index in the piece's one grid of bars, counted from 0 in printed order.
/// The printed label (`4a`, an unnumbered pickup) is text and kept in the bar.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub struct BarIndex(pub u32);

impl BarIndex {
    /// The index as a number for looking up in a list.
    #[must_use]
    pub const fn get(self) -> usize {
        self.0 as usize
    }

    /// The bar with a position in a list; saturates past four thousand million bars.
    #[must_use]
    pub fn from_usize(index: usize) -> Self {
        Self(u32::try_from(index).unwrap_or(u32::MAX))
    }

    /// The bar after this one.
    #[must_use]
    pub const fn next(self) -> Self {
        Self(self.0.saturating_add(1))
    }
}

impl fmt::Display for BarIndex {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// A position on the written page: a bar and an offset from its start in quarter notes.
/// The absolute onset is computed from the bar grid, never stored.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub struct Place {
    /// The bar.
    pub bar: BarIndex,
    /// Quarter notes from the start of the bar.
    pub offset: Quarters,
}

impl Place {
    /// The start of a bar.
    #[must_use]
    pub const fn start_of(bar: BarIndex) -> Self {
        Self {
            bar,
            offset: Quarters::ZERO,
        }
    }
}

/// What one end of a span, a mark or a piece of evidence holds on to.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Anchor {
    /// Where it stands.
    pub place: Place,
    /// The element it belongs to, if it belongs to one (an event or a head); `None` for a free place.
    pub element: Option<Id>,
}

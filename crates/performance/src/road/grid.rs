//! Where exactly does a bar line stand? Every place brought to one form, so that signs of all parts can be compared.

use notation::{BarIndex, BarSide, Barline, Piece, Place, Quarters};

/// The bars' lengths, and the one form of a place: the end of a bar is written as the start of the next.
#[derive(Debug)]
pub(super) struct Grid {
    lengths: Vec<Quarters>,
}

impl Grid {
    pub(super) fn new(piece: &Piece) -> Self {
        let length = |bar: &notation::Bar| {
            if bar.length.is_negative() {
                Quarters::ZERO
            } else {
                bar.length
            }
        };
        Self {
            lengths: piece.bars.iter().map(length).collect(),
        }
    }

    /// The place after the last bar.
    pub(super) fn end(&self) -> Place {
        Place::start_of(BarIndex::from_usize(self.lengths.len()))
    }

    pub(super) fn length(&self, bar: BarIndex) -> Quarters {
        self.lengths.get(bar.get()).copied().unwrap_or_default()
    }

    /// The end of a bar: the start of the next.
    pub(super) fn after(&self, bar: BarIndex) -> Place {
        Place::start_of(bar.next()).min(self.end())
    }

    /// A place in its one form; past the end of its bar it becomes the start of the next.
    pub(super) fn place(&self, place: Place) -> Place {
        if place >= self.end() {
            return self.end();
        }
        if place.offset.is_positive() && place.offset >= self.length(place.bar) {
            self.after(place.bar)
        } else if place.offset.is_negative() {
            Place::start_of(place.bar)
        } else {
            place
        }
    }

    /// Where a bar line stands.
    pub(super) fn barline(&self, line: &Barline) -> Place {
        match line.side {
            BarSide::Left => self.place(Place::start_of(line.place.bar)),
            BarSide::Middle => self.place(line.place),
            BarSide::Right => self.after(line.place.bar),
        }
    }

    /// The bar that ends at a place or is cut by it: the one whose music a player has just read there.
    pub(super) fn bar_before(&self, place: Place) -> BarIndex {
        if place.offset.is_positive() {
            place.bar
        } else {
            BarIndex(place.bar.0.saturating_sub(1))
        }
    }

    /// The start of the bar that ends at a place or is cut by it.
    pub(super) fn start_before(&self, place: Place) -> Place {
        Place::start_of(self.bar_before(place))
    }

    /// The stretch between two places, bar by bar: bar, from, to in quarter notes.
    pub(super) fn stretch(&self, from: Place, to: Place) -> Vec<(BarIndex, Quarters, Quarters)> {
        let mut pieces = Vec::new();
        let mut at = from;
        while at < to && at < self.end() {
            let stop = if to.bar == at.bar {
                to.offset
            } else {
                self.length(at.bar)
            };
            pieces.push((at.bar, at.offset, stop));
            at = Place::start_of(at.bar.next());
        }
        pieces
    }
}

//! How are places said? Bars by their labels, runs joined.

use crate::words::bar_runs;
use notation::{BarIndex, Piece, Place};

/// Looks labels up in the piece.
#[derive(Clone, Copy)]
pub(crate) struct Say<'a> {
    pub(crate) piece: &'a Piece,
}

/// More runs of bars than this are counted rather than listed.
const MOST_RUNS: usize = 10;

impl Say<'_> {
    /// Bars, runs joined.
    pub(crate) fn bars(self, bars: impl IntoIterator<Item = BarIndex>) -> Vec<String> {
        let labelled: Vec<(usize, String)> =
            bars.into_iter().map(|bar| (bar.get(), self.label(bar))).collect();
        bar_runs(&labelled, MOST_RUNS)
    }

    /// `bars 4, 7–9 and 12 more`: a few of many, where there is little room.
    pub(crate) fn few(self, bars: impl IntoIterator<Item = BarIndex>) -> String {
        let labelled: Vec<(usize, String)> =
            bars.into_iter().map(|bar| (bar.get(), self.label(bar))).collect();
        crate::terminal::said(&bar_runs(&labelled, 4))
    }

    /// The bars of places.
    pub(crate) fn places(self, places: impl IntoIterator<Item = Place>) -> Vec<String> {
        self.bars(places.into_iter().map(|place| place.bar))
    }

    /// The bar of one place.
    pub(crate) fn at(self, place: Place) -> Vec<String> {
        vec![self.label(place.bar)]
    }

    /// The bar in which something acts at its end: a place at the very start of a bar is the end of the one before.
    pub(crate) fn closing(self, place: Place) -> BarIndex {
        if place.offset.is_zero() && place.bar.0 > 0 {
            BarIndex(place.bar.0 - 1)
        } else {
            place.bar
        }
    }

    /// A bar's label; a bar printed without one is said by its place.
    pub(crate) fn label(self, bar: BarIndex) -> String {
        match self.piece.label(bar).trim() {
            "" => format!("({} from the start)", bar.0 + 1),
            label => label.to_owned(),
        }
    }

    /// `bar 4`.
    pub(crate) fn bar(self, bar: BarIndex) -> String {
        format!("bar {}", self.label(bar))
    }

    /// `bar 4`, `bars 4–7`: a run from one bar to another.
    pub(crate) fn run(self, from: BarIndex, to: BarIndex) -> String {
        if from == to {
            self.bar(from)
        } else {
            format!("bars {}–{}", self.label(from), self.label(to))
        }
    }

    /// `bars 4, 7–9`.
    pub(crate) fn said(self, bars: impl IntoIterator<Item = BarIndex>) -> String {
        crate::terminal::said(&self.bars(bars))
    }
}

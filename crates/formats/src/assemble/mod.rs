//! How do bars and parts become a Piece that hangs together? What every reader needs at the end of a bar and of the score,
//! whatever the standard: rests that fill bars, grace notes, the grid settled from all parts, bars that don't add up.

mod bar_end;
mod bar_repeats;
mod check;
mod grid;

pub(crate) use bar_end::{mark_after_graces, mark_lone_rests};
pub(crate) use grid::{bar_length, is_loose};

use crate::report::Report;
use notation::{Bar, Finding, Piece, Quarters, Severity};

/// More bars than any score has.
pub(crate) const MOST_BARS: usize = 100_000;
/// More parts than any score has.
pub(crate) const MOST_PARTS: usize = 1_000;
/// More notes, rests and signs than any score has; 64 MB of ordinary MusicXML hold fewer.
pub(crate) const MOST_EVENTS: usize = 300_000;
/// More bars times parts than any score has: room for 1,000 bars of 100 parts many times over.
pub(crate) const MOST_CELLS: usize = 2_000_000;
/// No bar lasts longer, in quarter notes.
pub(crate) const LONGEST_BAR: Quarters = Quarters::whole(100_000);

/// What is being read: the piece so far, and what the checks at the end need.
#[derive(Debug, Default)]
pub(crate) struct Score {
    pub piece: Piece,
    pub report: Report,
    /// For each part, for each bar, what it holds.
    pub facts: Vec<Vec<PartBar>>,
    /// Elements taken in so far, against [`MOST_EVENTS`].
    pub taken: usize,
}

/// What one bar of one part holds, for the checks at the end.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct PartBar {
    /// How far notes, rests and forwards reach, whole-bar rests left out.
    pub content: Quarters,
    /// The length that the metre asks for.
    pub metre: Option<Quarters>,
    /// Index of the event that is a whole-bar rest, if there is one.
    pub whole_rest: Option<u32>,
    /// Where a bar line ends a section in or after this bar: a repeat or a double bar.
    pub section_end: bool,
}

impl Score {
    /// The bar with an index, made if it does not exist yet.
    pub(crate) fn bar_mut(&mut self, index: usize) -> &mut Bar {
        while self.piece.bars.len() <= index {
            let id = self.piece.ids.give(notation::IdKind::Bar);
            self.piece.bars.push(Bar {
                id,
                label: String::new(),
                implicit: false,
                length: Quarters::ZERO,
                new_system: false,
                new_page: false,
            });
        }
        &mut self.piece.bars[index]
    }

    /// A finding about the whole piece.
    pub(crate) fn caution(&mut self, kind: &'static str, what: impl Into<String>, advice: &str) {
        self.report
            .push(Finding::new(Severity::Caution, kind, what, advice));
    }

    /// Settles the grid from all parts and reports what does not add up. The last step of a reader.
    pub(crate) fn settle(&mut self) {
        bar_repeats::fill(self);
        grid::settle(self);
        check::check(self);
    }
}

//! How fast? Speeds by named tables, the metronome's series, and what changes of tempo do.
//!
//! Published tables disagree widely (Andante 60-90, 73-80, 76-108), so every range names its table and nothing is
//! averaged. A range is in beats per minute on the beat that the table assumes ([`TempoTable::beat`]).

mod change;
mod marks;
mod ranges;
mod tables;

pub use change::{ChangeDirection, Onset, TempoChange, changes};
pub use marks::{METRONOME_MARKS, floor, nearest, steps_down};
pub use ranges::{TableRange, ranges};

/// A published table of tempo terms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TempoTable {
    /// Its name, as a musician may read it.
    pub name: &'static str,
    /// Where it was published.
    pub source: &'static str,
    /// The beat that its numbers count.
    pub beat: &'static str,
    /// Its rows, slow to fast.
    pub rows: &'static [TempoRow],
}

/// One row of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TempoRow {
    /// The terms it stands for, without accents: Italian first.
    pub names: &'static [&'static str],
    /// Slowest, in beats per minute; none when open ("under 40").
    pub low: Option<u16>,
    /// Fastest, in beats per minute; none when open ("184 and over").
    pub high: Option<u16>,
    /// The table says "about".
    pub approximate: bool,
}

/// Every table that is consulted.
pub fn tables() -> &'static [TempoTable] {
    tables::TABLES
}

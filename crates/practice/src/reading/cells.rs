//! Which rhythm cells suit a beat? One beat, two, or more, as they are usually written in this kind of time.
//!
//! Source: the figures are common practice; what each needs is how level tables name it (`load::levels::Rhythms`).

use super::figure::{Figure, Figures};
use super::measure::{BeatKind, Ticks};

/// A cell: notes that fill some beats.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Cell {
    pub(super) beats: usize,
    /// Lengths in order; a rest is negative.
    pub(super) lengths: &'static [Ticks],
    pub(super) needs: Figures,
    /// How usual it is.
    pub(super) share: f64,
}

impl Cell {
    /// Notes struck in a quarter note's time.
    pub(super) fn density(&self) -> f64 {
        let notes = self.lengths.iter().filter(|length| **length > 0).count();
        let ticks: Ticks = self.lengths.iter().map(|length| length.abs()).sum();
        f64::from(u8::try_from(notes).unwrap_or(u8::MAX)) * 24.0 / f64::from(ticks.max(1))
    }
}

const fn cell(beats: usize, lengths: &'static [Ticks], needs: &[Figure], share: f64) -> Cell {
    Cell {
        beats,
        lengths,
        needs: Figures::of(needs),
        share,
    }
}

use Figure::{DottedEighths, DottedQuarters, Eighths, Rests, Sixteenths, Syncopation, Triplets};

const QUARTER: &[Cell] = &[
    cell(1, &[24], &[], 4.0),
    cell(1, &[12, 12], &[Eighths], 4.0),
    cell(1, &[18, 6], &[DottedEighths, Sixteenths], 2.0),
    cell(1, &[6, 6, 6, 6], &[Sixteenths], 2.0),
    cell(1, &[12, 6, 6], &[Sixteenths], 2.0),
    cell(1, &[6, 6, 12], &[Sixteenths], 1.2),
    cell(1, &[8, 8, 8], &[Triplets], 2.0),
    cell(1, &[6, 12, 6], &[Sixteenths, Syncopation], 0.4),
    cell(1, &[-24], &[Rests], 0.7),
    cell(1, &[12, -12], &[Eighths, Rests], 0.5),
    cell(1, &[-12, 12], &[Eighths, Rests, Syncopation], 0.6),
    cell(2, &[48], &[], 3.0),
    cell(2, &[36, 12], &[DottedQuarters, Eighths], 3.0),
    cell(2, &[12, 24, 12], &[Syncopation, Eighths], 1.6),
    cell(3, &[72], &[], 0.8),
    cell(4, &[96], &[], 0.3),
    cell(4, &[24, 48, 24], &[Syncopation], 0.6),
];

const HALF: &[Cell] = &[
    cell(1, &[48], &[], 3.0),
    cell(1, &[24, 24], &[], 4.0),
    cell(1, &[36, 12], &[DottedQuarters, Eighths], 2.0),
    cell(1, &[24, 12, 12], &[Eighths], 2.0),
    cell(1, &[12, 12, 24], &[Eighths], 1.2),
    cell(1, &[12, 12, 12, 12], &[Eighths], 1.5),
    cell(1, &[12, 24, 12], &[Eighths, Syncopation], 0.5),
    cell(1, &[24, -24], &[Rests], 0.6),
    cell(2, &[96], &[], 1.0),
    cell(2, &[72, 24], &[], 2.0),
    cell(2, &[24, 48, 24], &[Syncopation], 1.0),
];

const DOTTED: &[Cell] = &[
    cell(1, &[36], &[], 2.5),
    cell(1, &[24, 12], &[], 4.0),
    cell(1, &[12, 12, 12], &[], 4.0),
    cell(1, &[18, 6, 12], &[DottedEighths, Sixteenths], 2.0),
    cell(1, &[12, 12, 6, 6], &[Sixteenths], 1.6),
    cell(1, &[12, 6, 6, 12], &[Sixteenths], 1.2),
    cell(1, &[6, 6, 6, 6, 6, 6], &[Sixteenths], 1.2),
    cell(1, &[12, 24], &[Syncopation], 0.8),
    cell(1, &[24, -12], &[Rests], 0.7),
    cell(2, &[72], &[], 1.0),
];

/// The cells of a kind of beat.
pub(super) const fn cells(kind: BeatKind) -> &'static [Cell] {
    match kind {
        BeatKind::Quarter => QUARTER,
        BeatKind::Half => HALF,
        BeatKind::Dotted => DOTTED,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_fill_their_beats() {
        for kind in [BeatKind::Quarter, BeatKind::Half, BeatKind::Dotted] {
            for cell in cells(kind) {
                let length: Ticks = cell.lengths.iter().map(|length| length.abs()).sum();
                let beats = Ticks::try_from(cell.beats).expect("small");
                assert_eq!(length, beats * kind.length(), "{cell:?}");
            }
            assert!(
                cells(kind)
                    .iter()
                    .any(|cell| cell.beats == 1 && cell.needs == Figures::PLAIN)
            );
        }
    }
}

//! Where is ink? A map of square cells, each with ink or without.

use serde::{Deserialize, Serialize};

/// Which cells of a rectangle hold ink: those in which any pixel is not wholly transparent. A system's map ends where its ink
/// ends, and counts ink a tenth of a cell beyond its edges, where pixels blur them.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Ink {
    /// The left edge of the first column, in units.
    pub x: f64,
    /// The upper edge of the first row, in units.
    pub y: f64,
    /// The side of a cell, in units.
    pub cell: f64,
    /// How many columns.
    pub columns: u32,
    /// How many rows.
    pub rows: u32,
    /// Row by row, the lengths of runs: without ink, with ink, without … ; the sum is columns × rows.
    pub runs: Vec<u32>,
}

impl Ink {
    /// From one truth value a cell, row by row; cells beyond `columns × rows` are left out, missing ones are without ink.
    #[must_use]
    pub fn from_cells(
        place: (f64, f64),
        cell: f64,
        columns: u32,
        rows: u32,
        cells: impl IntoIterator<Item = bool>,
    ) -> Ink {
        let all = u64::from(columns) * u64::from(rows);
        let mut runs = Vec::new();
        let (mut inked, mut length, mut seen) = (false, 0_u32, 0_u64);
        for with in cells {
            if seen == all {
                break;
            }
            seen += 1;
            if with != inked {
                runs.push(length);
                (inked, length) = (with, 0);
            }
            length = length.saturating_add(1);
        }
        runs.push(length);
        Ink {
            x: place.0,
            y: place.1,
            cell,
            columns,
            rows,
            runs,
        }
    }

    /// One truth value a cell, row by row, always `columns × rows` of them, up to a billion.
    #[must_use]
    pub fn cells(&self) -> Vec<bool> {
        let all = (u64::from(self.columns) * u64::from(self.rows)).min(1_000_000_000);
        let all = usize::try_from(all).unwrap_or(0);
        let mut cells = Vec::with_capacity(all);
        for (index, run) in self.runs.iter().enumerate() {
            let length = usize::try_from(*run).unwrap_or(usize::MAX).min(all - cells.len());
            cells.extend(std::iter::repeat_n(index % 2 == 1, length));
        }
        cells.resize(all, false);
        cells
    }
}

#[cfg(test)]
mod tests {
    use super::Ink;

    #[test]
    fn cells_come_back_as_they_went_in() {
        let cells = [true, true, false, false, true, false];
        let ink = Ink::from_cells((0.0, 0.0), 1.0, 3, 2, cells);
        assert_eq!(ink.runs, [0, 2, 2, 1, 1]);
        assert_eq!(ink.cells(), cells);
    }

    #[test]
    fn runs_that_promise_too_much_or_too_little_are_held_to_the_size() {
        let mut ink = Ink::from_cells((0.0, 0.0), 1.0, 2, 2, [true]);
        assert_eq!(ink.cells(), [true, false, false, false]);
        ink.runs = vec![1, u32::MAX, u32::MAX];
        assert_eq!(ink.cells(), [false, true, true, true]);
    }
}

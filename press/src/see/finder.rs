//! Where on a straightened picture is text? The trained finder's map of hearts of lines, and boxes made of it.
//!
//! The same as `train/words/score.py`, `lines_of`.

#![expect(
    clippy::cast_precision_loss,
    reason = "cells and pixels of a picture of some thousand pixels"
)]

use super::crop::{Crop, ROWS};
use super::net::Net;
use super::reader::prepared;
use job::Refusal;

/// The trained finder: `train/model/finder.onnx`, described in `train/model/words.json`.
static MODEL: &[u8] = include_bytes!("../../../train/model/finder.onnx");

/// Pixels of a cell of its map.
const CELL: usize = 4;
/// Rows of its map.
const DOWN: usize = ROWS / CELL;
/// Pixels for one unit of its distances.
const REACH: f32 = 8.0;
/// A cell is the heart of a line from this raw score on (one half).
const HEART: f32 = 0.0;
/// A heart is shorter than its line by so many heights at each end.
const SHORTER: f32 = 0.15;
/// The lowest line that can be read, in pixels.
const LOWEST: f32 = 4.0;

/// Left, upper, right and lower edge, in pixels of the picture.
pub type Bounds = (f32, f32, f32, f32);

/// Finds lines of text on pictures of one width.
#[derive(Clone, Debug)]
pub struct Finder {
    net: Net,
}

impl Finder {
    /// Prepares the finder for pictures up to a width in pixels.
    ///
    /// # Errors
    /// If the network does not run on this machine.
    pub fn for_width(width: usize) -> Result<Self, Refusal> {
        Net::new(MODEL, ROWS, prepared(width)).map(|net| Self { net })
    }

    /// Whether it is the one for pictures up to a width.
    pub fn is_for(&self, width: usize) -> bool {
        self.net.width == prepared(width)
    }

    /// The boxes of all lines.
    ///
    /// # Errors
    /// If the network does not run.
    pub fn lines(&self, crop: &Crop) -> Result<Vec<Bounds>, Refusal> {
        let map = self.net.run(&crop.padded(self.net.width))?;
        Ok(boxes(&map, self.net.width / CELL))
    }
}

/// Boxes of what hangs together in a map of three layers: hearts, distances to the top and to the bottom.
fn boxes(map: &[f32], across: usize) -> Vec<Bounds> {
    let size = DOWN * across;
    let (Some(heart), Some(up), Some(down)) = (
        map.get(..size),
        map.get(size..2 * size),
        map.get(2 * size..3 * size),
    ) else {
        return Vec::new();
    };
    let mut seen = vec![false; size];
    let mut out = Vec::new();
    for from in 0..size {
        if seen[from] || heart[from] <= HEART {
            continue;
        }
        seen[from] = true;
        let mut open = vec![from];
        let (mut count, mut weight, mut top, mut bottom) = (0_usize, 0.0_f32, 0.0_f32, 0.0_f32);
        let (mut left, mut right) = (usize::MAX, 0);
        while let Some(cell) = open.pop() {
            let (x, y) = (cell % across, cell / across);
            let here = 1.0 / (1.0 + (-heart[cell]).exp());
            let middle = (y * CELL) as f32 + 1.5;
            count += 1;
            weight += here;
            top += here * (middle - REACH * up[cell]);
            bottom += here * (middle + REACH * down[cell]);
            left = left.min(x);
            right = right.max(x);
            for ny in y.saturating_sub(1)..(y + 2).min(DOWN) {
                for nx in x.saturating_sub(1)..(x + 2).min(across) {
                    let next = ny * across + nx;
                    if !seen[next] && heart[next] > HEART {
                        seen[next] = true;
                        open.push(next);
                    }
                }
            }
        }
        let (top, bottom) = (top / weight, bottom / weight);
        let height = bottom - top;
        if count < 2 || height < LOWEST {
            continue;
        }
        let beyond = SHORTER * height;
        out.push((
            (left * CELL) as f32 - 0.5 - beyond,
            top,
            (right * CELL) as f32 + 3.5 + beyond,
            bottom,
        ));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_hearts_are_two_lines_and_their_heights_come_from_the_distances() {
        let across = 32;
        let size = DOWN * across;
        let mut map = vec![-5.0_f32; size];
        map.extend(vec![1.0; 2 * size]);
        for x in 4..10 {
            map[10 * across + x] = 3.0;
        }
        for x in 20..24 {
            map[11 * across + x] = 3.0;
        }
        let found = boxes(&map, across);
        assert_eq!(found.len(), 2);
        let (left, top, right, bottom) = found[0];
        // Row 10 is pixels 40 to 43: eight pixels up and down from its middle.
        assert!((top - 33.5).abs() < 0.01 && (bottom - 49.5).abs() < 0.01);
        assert!((left - (15.5 - 2.4)).abs() < 0.01 && (right - (39.5 + 2.4)).abs() < 0.01);
    }

    #[test]
    fn a_map_that_is_too_short_says_nothing() {
        assert!(boxes(&[1.0; 10], 32).is_empty());
    }
}

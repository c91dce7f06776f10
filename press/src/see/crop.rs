//! How is one system handed to the reader? Straightened: 240 rows, ten pixels a staff space, middle line at row 112, ink 1.
//!
//! The same as training does (`train/degrade.py`, `level`): paper to 0, the darkest ink to 1.

#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "pixel arithmetic: sizes are held under MOST_PIXELS, coordinates are clamped before they are used"
)]

use super::grey::{Grey, cell_at};
use super::staves::{SPACE, Staff};

/// Rows of a system's picture.
pub const ROWS: usize = 240;
/// Row of the middle line.
pub const MIDDLE_ROW: f32 = 112.0;
/// The widest system that is read at once, in pixels.
pub const WIDEST: usize = 2304;
/// What is shown left and right of the staff, in pixels.
const BESIDE: f32 = 14.0;

/// One straightened system and where it was cut from.
#[derive(Clone, Debug)]
pub struct Crop {
    /// The picture, [`ROWS`] rows.
    pub grey: Grey,
    /// x on the page (in pixels of the file) of the left edge, and pixels of the file for one of the picture.
    pub left: f32,
    /// Pixels of the file for one pixel here.
    pub scale: f32,
    /// y in the file of the middle line at the left and the right end.
    pub middle: (f32, f32),
    /// Where it was cut, on the page brought to size.
    staff: Staff,
    /// The size there over the size in the file.
    sized: f32,
    /// Whether a staff stands on it: not on what is cut above the first system and below the last.
    pub has_staff: bool,
}

impl Crop {
    /// Whether hardly anything stands on it.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        self.grey.ink.iter().filter(|ink| **ink > 0.5).count() < DARK
    }

    /// The picture with paper beside it, to so many pixels across; what is wider is cut off.
    #[must_use]
    pub fn padded(&self, width: usize) -> Vec<f32> {
        let mut ink = vec![0.0_f32; ROWS * width];
        let wide = self.grey.width.min(width);
        for row in 0..ROWS.min(self.grey.height) {
            let from = row * self.grey.width;
            ink[row * width..row * width + wide].copy_from_slice(&self.grey.ink[from..from + wide]);
        }
        ink
    }
}

/// Cuts a staff out of a page that was brought to size; `scale` is the size here over the size in the file.
#[must_use]
pub fn crop(page: &Grey, staff: &Staff, scale: f32) -> Crop {
    let mean = staff.along.iter().map(|p| p.2).sum::<f32>() / staff.along.len().max(1) as f32;
    let step = mean / SPACE;
    let left = staff.left - BESIDE * step;
    let width = (((staff.right - staff.left) / step + 2.0 * BESIDE) as usize).clamp(64, WIDEST);
    let mut grey = Grey::blank(width, ROWS);
    for u in 0..width {
        let x = left + u as f32 * step;
        let (middle, space) = staff.middle(x);
        let (before, after) = (staff.middle(x - 30.0).0, staff.middle(x + 30.0).0);
        let slope = ((after - before) / 60.0).clamp(-0.2, 0.2);
        for v in 0..ROWS {
            let t = (v as f32 - MIDDLE_ROW) * space / SPACE;
            // Straight up from the staff, not from the page.
            grey.ink[v * width + u] = page.between(x - t * slope, middle + t);
        }
    }
    Crop {
        grey: level(&grey),
        left: left / scale,
        scale: step / scale,
        middle: (staff.middle(left).0 / scale, staff.middle(staff.right).0 / scale),
        staff: staff.clone(),
        sized: scale,
        has_staff: true,
    }
}

/// Fewer dark pixels than a short word has.
const DARK: usize = 40;

/// Rows that two pictures without a staff share, so that a line cut by one is whole in the other.
const SHARED: f32 = 60.0;
/// At most so many pictures above the first system, and below the last.
const MOST_BEYOND: usize = 6;

/// What stands above the first system and below the last, cut along those staves to the edges of the page.
#[must_use]
pub fn beyond(page: &Grey, staves: &[Staff], scale: f32) -> Vec<Crop> {
    let (Some(first), Some(last)) = (staves.first(), staves.last()) else {
        return Vec::new();
    };
    let left = staves.iter().map(|staff| staff.left).fold(f32::MAX, f32::min);
    let right = staves.iter().map(|staff| staff.right).fold(f32::MIN, f32::max);
    let rows = ROWS as f32;
    let mut out = Vec::new();
    for (staff, up) in [(first, true), (last, false)] {
        for n in 0..MOST_BEYOND {
            let away = (rows - SHARED) * (n as f32 + 1.0) * if up { -1.0 } else { 1.0 };
            let moved = Staff {
                left,
                right,
                along: staff
                    .along
                    .iter()
                    .map(|(x, y, space)| (*x, *y + away, *space))
                    .collect(),
            };
            let middle = moved.middle(f32::midpoint(left, right)).0;
            let (top, bottom) = (middle - MIDDLE_ROW, middle + rows - MIDDLE_ROW);
            if bottom < SHARED / 2.0 || top > page.height as f32 - SHARED / 2.0 {
                break;
            }
            let mut cut = crop(page, &moved, scale);
            cut.has_staff = false;
            out.push(cut);
        }
    }
    out
}

/// Pixels of a picture to be looked at for one of the reader's.
const FINER: f32 = 1.5;
/// Greys of a picture to be looked at: what the eye needs, and a third of the bytes.
const GREYS: f32 = 15.0;

/// The same system out of the file's own page, finer, as a picture for the eye: paper white, ink dark.
#[must_use]
pub fn strip(page: &Grey, crop: &Crop) -> Grey {
    let (staff, sized) = (&crop.staff, crop.sized);
    let step = crop.scale * sized;
    let left = crop.left * sized;
    let width = ((crop.grey.width as f32 * FINER) as usize).max(1);
    let rows = (ROWS as f32 * FINER) as usize;
    let mut grey = Grey::blank(width, rows);
    for u in 0..width {
        let x = left + u as f32 / FINER * step;
        let (middle, space) = staff.middle(x);
        let (before, after) = (staff.middle(x - 30.0).0, staff.middle(x + 30.0).0);
        let slope = ((after - before) / 60.0).clamp(-0.2, 0.2);
        for v in 0..rows {
            let t = (v as f32 / FINER - MIDDLE_ROW) * space / SPACE;
            grey.ink[v * width + u] = page.between((x - t * slope) / sized, (middle + t) / sized);
        }
    }
    let mut out = level(&grey);
    for ink in &mut out.ink {
        *ink = (*ink * GREYS).round() / GREYS;
    }
    out
}

/// Paper to 0, ink to 1, as in training.
fn level(grey: &Grey) -> Grey {
    const HIGH: usize = 30;
    const WIDE: usize = 40;
    // Whole cells, as the training's pooling takes them.
    let (across, down) = ((grey.width / WIDE).max(1), (grey.height / HIGH).max(1));
    let mut cells = vec![0.0; across * down];
    for cy in 0..down {
        for cx in 0..across {
            let (mut sum, mut count) = (0.0, 0.0_f32);
            for y in cy * HIGH..((cy + 1) * HIGH).min(grey.height) {
                for x in cx * WIDE..((cx + 1) * WIDE).min(grey.width) {
                    sum += grey.ink[y * grey.width + x];
                    count += 1.0;
                }
            }
            cells[cy * across + cx] = sum / count.max(1.0);
        }
    }
    let mut least = cells.clone();
    for cy in 0..down {
        for cx in 0..across {
            for ny in cy.saturating_sub(1)..(cy + 2).min(down) {
                for nx in cx.saturating_sub(1)..(cx + 2).min(across) {
                    let here = &mut least[cy * across + cx];
                    *here = here.min(cells[ny * across + nx]);
                }
            }
        }
    }
    let mut out = grey.clone();
    for y in 0..grey.height {
        for x in 0..grey.width {
            let (cx, cy) = (
                (x as f32 + 0.5) / grey.width as f32,
                (y as f32 + 0.5) / grey.height as f32,
            );
            let paper = cell_at(&least, across, down, cx * across as f32, cy * down as f32);
            let ink = &mut out.ink[y * grey.width + x];
            *ink = (*ink - paper).max(0.0);
        }
    }
    let mut sample: Vec<f32> = out.ink.iter().step_by(37).copied().collect();
    let take = (sample.len() / 200).max(1);
    sample.sort_by(|a, b| b.total_cmp(a));
    let top = sample.get(take - 1).copied().unwrap_or(1.0).max(0.15);
    for ink in &mut out.ink {
        *ink = (*ink / top).clamp(0.0, 1.0);
    }
    out
}

//! Which words stand on a page, and to which system do they belong? Every straightened picture is looked through, and the stretches of
//! the page above the first system and below the last as well; what is seen from two systems belongs to the nearer one.

#![expect(
    clippy::cast_precision_loss,
    reason = "pixel arithmetic: sizes are held under MOST_PIXELS"
)]

use super::crop::{Crop, MIDDLE_ROW};
use super::finder::{Bounds, Finder};
use super::speller::Speller;
use super::staves::SPACE;
use super::together;
use job::{Refusal, SeenWords};

/// Letters less sure than this are none.
const SURE: f32 = 0.35;
/// Two boxes that share so much of the smaller are one line.
const SAME: f32 = 0.4;
/// What lies so near to the middle line, in staff spaces, lies on the staff and is no text.
const ON_STAFF: f32 = 1.6;

/// Reads the words of all pictures of a page (the systems', then those of the page above and below them): for every picture those
/// that belong to it, from left to right, in pixels of the picture.
///
/// # Errors
/// If a network doesn't run.
pub fn words(crops: &[Crop], finder: &Finder, speller: &mut Speller) -> Result<Vec<Vec<SeenWords>>, Refusal> {
    let found = together(crops.len(), |at| finder.lines(&crops[at]))?;
    let kept = nearest(crops, &found);
    speller.prepare(kept.iter().map(|(_, line)| line))?;
    let speller = &*speller;
    let texts = together(kept.len(), |at| {
        let (crop, line) = &kept[at];
        speller.read(&crops[*crop], line)
    })?;
    let mut of = vec![Vec::new(); crops.len()];
    for ((crop, bounds), (text, sure)) in kept.into_iter().zip(texts) {
        if !text.is_empty() && sure >= SURE {
            of[crop].push(SeenWords { bounds, text, sure });
        }
    }
    for words in &mut of {
        words.sort_by(|a, b| a.bounds.0.total_cmp(&b.bounds.0));
    }
    Ok(of)
}

/// A box of a picture in pixels of the file.
pub fn on_page(crop: &Crop, line: &Bounds) -> Bounds {
    let (left, top, right, bottom) = *line;
    let x = |x: f32| crop.left + x * crop.scale;
    let part = (f32::midpoint(left, right) / crop.grey.width.max(1) as f32).clamp(0.0, 1.0);
    let middle = crop.middle.0 + (crop.middle.1 - crop.middle.0) * part;
    let y = |y: f32| middle + (y - MIDDLE_ROW) * crop.scale;
    (x(left), y(top), x(right), y(bottom))
}

/// Every line once, at the picture whose staff is nearest to it; what is cut by a picture's edge only where no other shows it whole.
fn nearest(crops: &[Crop], found: &[Vec<Bounds>]) -> Vec<(usize, Bounds)> {
    let mut all: Vec<(f32, usize, Bounds, Bounds)> = Vec::new();
    for (at, lines) in found.iter().enumerate() {
        for line in lines {
            let middle = (f32::midpoint(line.1, line.3) - MIDDLE_ROW) / SPACE;
            if crops[at].has_staff && middle.abs() < ON_STAFF {
                continue;
            }
            let beyond = if crops[at].has_staff { 0.0 } else { 9.0 };
            let edge = if line.1 < 1.0 || line.3 > (crops[at].grey.height - 1) as f32 {
                1000.0
            } else {
                0.0
            };
            all.push((middle.abs() + beyond + edge, at, *line, on_page(&crops[at], line)));
        }
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut kept: Vec<(usize, Bounds, Bounds)> = Vec::new();
    for (_, at, line, page) in all {
        if !kept.iter().any(|(_, _, other)| shared(&page, other) > SAME) {
            kept.push((at, line, page));
        }
    }
    kept.into_iter().map(|(at, line, _)| (at, line)).collect()
}

/// What two boxes share, as a part of the smaller.
fn shared(a: &Bounds, b: &Bounds) -> f32 {
    let across = (a.2.min(b.2) - a.0.max(b.0)).max(0.0);
    let down = (a.3.min(b.3) - a.1.max(b.1)).max(0.0);
    let size = |c: &Bounds| ((c.2 - c.0) * (c.3 - c.1)).max(1.0);
    across * down / size(a).min(size(b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_two_boxes_share_is_a_part_of_the_smaller() {
        assert!((shared(&(0.0, 0.0, 10.0, 10.0), &(0.0, 0.0, 20.0, 20.0)) - 1.0).abs() < 1e-6);
        assert!(shared(&(0.0, 0.0, 10.0, 10.0), &(11.0, 0.0, 20.0, 20.0)) < 1e-6);
    }
}

//! Where are the staves? Five dark lines at even distance, followed from strip to strip across the page.
//!
//! The distance of staff lines is found first, from the commonest sum of a black and the white run under it; the page is
//! brought to ten pixels a staff space; then a comb of five teeth looks for staves in narrow strips, and what lies on one line is
//! joined. A tilted, bent or unevenly photographed staff is followed where it goes.
//! Source for the run lengths: Cardoso and Rebelo, "Robust staffline thickness and distance estimation in binary and gray-level
//! music scores", ICPR 2010, section III.

#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "pixel arithmetic: sizes are held under MOST_PIXELS, coordinates are clamped before they are used"
)]

use super::grey::Grey;

/// Pixels of a staff space once the page has been brought to size.
pub const SPACE: f32 = 10.0;
/// Width of a strip in pixels.
const STRIP: usize = 24;
/// Ink of three rows together from which a line may be there.
const LINE: f32 = 0.5;
/// Distances of lines that a comb tries, in pixels.
const COMBS: [f32; 7] = [9.1, 9.4, 9.7, 10.0, 10.3, 10.6, 10.9];
/// The same of a staff of cue notes or an ossia: from five to eight tenths of the usual one. Source: Gould, "Behind Bars", sizes of staves
/// (from memory).
const SMALL_COMBS: [f32; 9] = [5.2, 5.5, 5.8, 6.1, 6.5, 6.9, 7.3, 7.7, 8.1];
/// A staff takes at least this part of the page's width: the last system may be a bar. Judgement.
const LEAST_PART: usize = 16;
/// Strips that may be missing in a staff (a thick cluster of notes, a fold).
const MOST_MISSING: usize = 8;

/// One staff of a page, in pixels of the page brought to size.
#[derive(Clone, PartialEq, Debug)]
pub struct Staff {
    /// Where its lines begin.
    pub left: f32,
    /// Where its lines end.
    pub right: f32,
    /// Across the page: x, height of the middle line, distance of two lines.
    pub along: Vec<(f32, f32, f32)>,
}

impl Staff {
    /// Whether lines were seen on most of its way: the letters of a title make five rows here and there.
    fn goes_through(&self) -> bool {
        self.along.len() as f32 * STRIP as f32 > 0.7 * (self.right - self.left)
    }

    /// Whether its lines run through all of its way: those of a staff do, behind whatever stands on it; the strokes of thick letters, which
    /// lie at one distance here and there, don't.
    fn has_lines(&self, page: &Grey) -> bool {
        let (mut with, mut all, mut x) = (0.0_f32, 0.0_f32, self.left);
        while x <= self.right {
            all += 1.0;
            with += if lines_at(page, self, x) >= MOST_LINES {
                1.0
            } else {
                0.0
            };
            x += 2.0;
        }
        with >= RUN_THROUGH * all
    }

    /// Height of the middle line and distance of two lines at x; straight on beyond the ends.
    #[must_use]
    pub fn middle(&self, x: f32) -> (f32, f32) {
        let at = self
            .along
            .partition_point(|(px, ..)| *px <= x)
            .clamp(1, self.along.len().max(2) - 1);
        let (Some(a), Some(b)) = (self.along.get(at - 1), self.along.get(at)) else {
            return self
                .along
                .first()
                .map_or((0.0, SPACE), |(_, y, space)| (*y, *space));
        };
        let part = (x - a.0) / (b.0 - a.0).max(1.0);
        // Far beyond the ends a small error of slope would carry away.
        let held = part.clamp(-2.0, 3.0);
        (
            a.1 + (b.1 - a.1) * held,
            (a.2 + (b.2 - a.2) * held.clamp(0.0, 1.0)).clamp(7.0, 13.0),
        )
    }
}

/// Ink from which a pixel counts as black: thin lines of a small picture are grey, and lie over two rows where they lie between them.
const BLACK: [f32; 3] = [0.4, 0.25, 0.15];

/// Distance of two staff lines in pixels; `None` where no distance stands out. Of several ways to tell black from white the one is
/// taken by which most lines lie at one distance.
#[must_use]
pub fn line_distance(page: &Grey) -> Option<f32> {
    let ways = BLACK.into_iter().filter_map(|black| distance_at(page, black));
    let (count, distance) = ways.max_by(|a, b| a.0.total_cmp(&b.0))?;
    (count >= page.width as f32 * 0.2).then_some(distance)
}

/// How often the commonest distance comes, and what it is.
fn distance_at(page: &Grey, from: f32) -> Option<(f32, f32)> {
    let mut sums = [0.0_f32; 160];
    for x in (0..page.width).step_by(2) {
        let (mut black, mut white) = (0_usize, 0_usize);
        for y in 0..page.height {
            if page.ink[y * page.width + x] > from {
                if white > 0 && black > 0 {
                    // A staff line is thin; what is under it is wider.
                    if black < white && black + white < sums.len() {
                        sums[black + white] += 1.0;
                    }
                    black = 0;
                }
                white = 0;
                black += 1;
            } else if black > 0 {
                white += 1;
            }
        }
    }
    let smooth = |k: usize| sums[k - 1] * 0.5 + sums[k] + sums[k + 1] * 0.5;
    let best = (4..sums.len() - 1).max_by(|a, b| smooth(*a).total_cmp(&smooth(*b)))?;
    let (mut weight, mut sum) = (0.0, 0.0);
    for (k, count) in sums.iter().enumerate().skip(best - 1).take(3) {
        weight += count;
        sum += count * k as f32;
    }
    (weight > 0.0).then(|| (smooth(best), sum / weight))
}

#[derive(Clone, Copy)]
struct Tooth {
    strip: usize,
    y: f32,
    space: f32,
}

/// The staves of a page with [`SPACE`] pixels a staff space, from top to bottom.
#[must_use]
pub fn staves(page: &Grey) -> Vec<Staff> {
    let mut found = joined(combed(page, &COMBS));
    found.retain(|staff| staff.has_lines(page));
    found
}

/// Smaller staves that stand beside the known ones: cue notes, ossias. They are not read.
#[must_use]
pub fn small_staves(page: &Grey, known: &[Staff]) -> Vec<Staff> {
    let apart = |small: &Staff| {
        let x = (small.left + small.right) / 2.0;
        let y = small.middle(x).0;
        known
            .iter()
            .filter(|staff| staff.left < small.right && small.left < staff.right)
            .all(|staff| (staff.middle(x).0 - y).abs() > 3.5 * SPACE)
    };
    let wide = |small: &Staff| small.right - small.left > 8.0 * SPACE;
    let mut found = combed(page, &SMALL_COMBS);
    found.retain(|small| apart(small) && wide(small));
    let mut found = joined(found);
    found.retain(Staff::goes_through);
    found
}

fn combed(page: &Grey, combs: &[f32]) -> Vec<Staff> {
    let mut chains: Vec<Vec<Tooth>> = Vec::new();
    for strip in 0..page.width / STRIP {
        for tooth in teeth(page, strip, combs) {
            let fit = chains
                .iter_mut()
                .filter_map(|chain| Some((miss(chain, tooth)?, chain)))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            match fit {
                Some((_, chain)) => chain.push(tooth),
                None => chains.push(vec![tooth]),
            }
        }
    }
    let least = (page.width / STRIP / LEAST_PART).max(4);
    let mut found: Vec<Staff> = chains
        .iter()
        .filter(|chain| chain.len() >= least)
        .map(|chain| staff_of(page, chain))
        .collect();
    found.sort_by(|a, b| a.middle(a.left).0.total_cmp(&b.middle(b.left).0));
    found
}

/// How far a tooth lies from where a chain would go on; `None` where it is none of it.
fn miss(chain: &[Tooth], tooth: Tooth) -> Option<f32> {
    let last = chain.last()?;
    let gap = tooth
        .strip
        .checked_sub(last.strip)
        .filter(|gap| *gap > 0 && *gap <= MOST_MISSING)?;
    let back = chain.len().saturating_sub(6);
    let first = chain.get(back)?;
    let slope = if last.strip > first.strip {
        (last.y - first.y) / (last.strip - first.strip) as f32
    } else {
        0.0
    };
    let off = (tooth.y - last.y - slope * gap as f32).abs();
    (off < 3.5 + gap as f32 * 0.5).then_some(off)
}

/// Staves in one strip: the teeth of the best combs, apart from each other.
fn teeth(page: &Grey, strip: usize, combs: &[f32]) -> Vec<Tooth> {
    let from = strip * STRIP;
    let mut dark = vec![0.0_f32; page.height];
    let mut mean = vec![0.0_f32; page.height];
    for y in 1..page.height.saturating_sub(1) {
        let row = |y: usize| &page.ink[y * page.width + from..y * page.width + from + STRIP];
        let (above, here, below) = (row(y - 1), row(y), row(y + 1));
        // A thin line may lie between two rows, and climbs within the strip: three rows together.
        let count = (0..STRIP)
            .filter(|x| above[*x] + here[*x] + below[*x] > LINE)
            .count();
        dark[y] = count as f32 / STRIP as f32;
        mean[y] = here.iter().sum::<f32>() / STRIP as f32;
    }
    let at = |values: &[f32], y: f32| values.get(y.round().max(0.0) as usize).copied().unwrap_or(0.0);
    let mut found: Vec<(f32, Tooth)> = Vec::new();
    let reach = (2.0 * SPACE * 1.1) as usize + 2;
    for y in reach..page.height.saturating_sub(reach) {
        if dark[y] < 0.5 {
            continue;
        }
        let y = y as f32;
        let best = combs
            .iter()
            .filter_map(|space| {
                let lines = [-2.0, -1.0, 0.0, 1.0, 2.0].map(|k| at(&dark, y + k * space));
                let least = lines.iter().copied().fold(1.0, f32::min);
                let exact: f32 = [-2.0, -1.0, 0.0, 1.0, 2.0]
                    .iter()
                    .map(|k| at(&mean, y + k * space))
                    .sum::<f32>()
                    / 5.0;
                let between: f32 = [-1.5, -0.5, 0.5, 1.5]
                    .iter()
                    .map(|k| at(&dark, y + k * space))
                    .sum::<f32>()
                    / 4.0;
                let score = lines.iter().sum::<f32>() / 5.0 + exact * 0.5 - between * 0.8;
                (least > 0.45 && score > 0.5).then_some((score, *space))
            })
            .max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((score, space)) = best {
            found.push((score, Tooth { strip, y, space }));
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut kept: Vec<Tooth> = Vec::new();
    for (_, tooth) in found {
        if kept.iter().all(|other| (other.y - tooth.y).abs() > 4.0 * SPACE) {
            kept.push(tooth);
        }
    }
    kept
}

/// A chain made into a staff: smoothed, and its ends found pixel by pixel.
fn staff_of(page: &Grey, chain: &[Tooth]) -> Staff {
    let median = |at: usize, of: fn(&Tooth) -> f32, reach: usize| {
        let from = at.saturating_sub(reach);
        let mut values: Vec<f32> = chain[from..(at + reach + 1).min(chain.len())]
            .iter()
            .map(of)
            .collect();
        values.sort_by(f32::total_cmp);
        values[values.len() / 2]
    };
    let rough: Vec<(f32, f32, f32)> = chain
        .iter()
        .enumerate()
        .map(|(at, tooth)| {
            let x = (tooth.strip * STRIP) as f32 + STRIP as f32 / 2.0 - 0.5;
            (
                x,
                settled(page, x, median(at, |t| t.y, 1), median(at, |t| t.space, 6)),
                median(at, |t| t.space, 6),
            )
        })
        .collect();
    let along = smoothed(&rough);
    let mut staff = Staff {
        left: along.first().map_or(0.0, |(x, ..)| *x),
        right: along.last().map_or(0.0, |(x, ..)| *x),
        along,
    };
    staff.left = end_of_lines(page, &staff, staff.left, -1.0);
    staff.right = end_of_lines(page, &staff, staff.right, 1.0);
    staff
}

/// The middle line's height to a part of a pixel: where the ink of all five lines weighs.
fn settled(page: &Grey, x: f32, y: f32, space: f32) -> f32 {
    let ink_at = |shift: f32| -> f32 {
        let mut sum = 0.0;
        for step in 0..12 {
            let px = x - STRIP as f32 / 2.0 + 2.0 * step as f32;
            for k in [-2.0, -1.0, 0.0, 1.0, 2.0] {
                sum += page.between(px, y + shift + k * space);
            }
        }
        sum
    };
    let shifts = [
        -1.5, -1.25, -1.0, -0.75, -0.5, -0.25, 0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5,
    ];
    let values = shifts.map(ink_at);
    let top = values.iter().copied().fold(0.0, f32::max);
    let (mut weight, mut sum) = (0.0, 0.0);
    for (shift, value) in shifts.iter().zip(values) {
        let over = (value - top * 0.7).max(0.0);
        weight += over;
        sum += over * shift;
    }
    if weight > 0.0 { y + sum / weight } else { y }
}

fn smoothed(rough: &[(f32, f32, f32)]) -> Vec<(f32, f32, f32)> {
    (0..rough.len())
        .map(|at| {
            // A straight line through the neighbours, at this x.
            let near = &rough[at.saturating_sub(3)..(at + 4).min(rough.len())];
            let n = near.len() as f32;
            let (mx, my) = (
                near.iter().map(|p| p.0).sum::<f32>() / n,
                near.iter().map(|p| p.1).sum::<f32>() / n,
            );
            let (mut xx, mut xy) = (0.0, 0.0);
            for p in near {
                xx += (p.0 - mx) * (p.0 - mx);
                xy += (p.0 - mx) * (p.1 - my);
            }
            let slope = if xx > 0.0 { xy / xx } else { 0.0 };
            (rough[at].0, my + slope * (rough[at].0 - mx), rough[at].2)
        })
        .collect()
}

/// So many of the five lines count as all: one may be thin or covered.
const MOST_LINES: usize = 4;
/// A staff shows its lines in so much of its way. On 531 pages (straight, tilted, as by a phone; 100 to 300 dots) all that were none showed
/// them in no more than 0.46 of it, all that were one in no less than 0.99.
const RUN_THROUGH: f32 = 0.7;

/// How many of a staff's lines are there at x.
fn lines_at(page: &Grey, staff: &Staff, x: f32) -> usize {
    let (middle, space) = staff.middle(x);
    let there = |k: &f32| {
        let y = middle + k * space;
        let ink: f32 = [-1.0, 0.0, 1.0].iter().map(|d| page.between(x, y + d)).sum();
        ink > LINE * 0.8
    };
    [-2.0, -1.0, 0.0, 1.0, 2.0].iter().filter(|k| there(k)).count()
}

/// The last x on one side at which at least four of the five lines are there, small gaps passed over.
fn end_of_lines(page: &Grey, staff: &Staff, from: f32, step: f32) -> f32 {
    let (mut x, mut last, mut gap) = (from, from, 0.0);
    while x >= 0.0 && x < page.width as f32 && gap <= 6.0 {
        if lines_at(page, staff, x) >= MOST_LINES {
            last = x;
            gap = 0.0;
        } else {
            gap += 1.0;
        }
        x += step;
    }
    last
}

/// Two staves lie farther apart than this from middle to middle, in staff spaces: four are their own height.
const APART: f32 = 5.0;

/// Pieces of one staff put together, and the smaller of two that lie over each other left out.
fn joined(found: Vec<Staff>) -> Vec<Staff> {
    let mut out: Vec<Staff> = Vec::new();
    for staff in found {
        let same = out.iter_mut().find(|other| {
            let x = (staff.left + staff.right) / 2.0;
            let near = other.along.iter().map(|p| p.0).fold(f32::MAX, |best, px| {
                if (px - x).abs() < (best - x).abs() {
                    px
                } else {
                    best
                }
            });
            let apart = (other.middle(near).0 - staff.middle(staff.left.max(near.min(staff.right))).0).abs();
            apart < APART * SPACE
        });
        let Some(other) = same else {
            out.push(staff);
            continue;
        };
        if staff.left >= other.right - STRIP as f32 {
            other
                .along
                .extend(staff.along.iter().filter(|p| p.0 > other.right));
            other.right = staff.right;
        } else if staff.right <= other.left + STRIP as f32 {
            let mut along: Vec<_> = staff.along.iter().filter(|p| p.0 < other.left).copied().collect();
            along.append(&mut other.along);
            other.along = along;
            other.left = staff.left;
        } else if staff.right - staff.left > other.right - other.left {
            *other = staff;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Staves drawn at known places: climbing by `slope`, bent by `bend`, at `space` pixels.
    fn drawn(middles: &[f32], slope: f32, bend: f32, space: f32) -> Grey {
        let mut page = Grey::blank(1000, 900);
        for middle in middles {
            for x in 60..940 {
                let t = x as f32 / 1000.0;
                let y = middle + slope * (x as f32 - 500.0) + bend * (t * 3.0).sin();
                for k in [-2.0, -1.0, 0.0, 1.0, 2.0] {
                    let at = y + k * space;
                    for (row, ink) in [(at.floor(), 1.0 - at.fract()), (at.floor() + 1.0, at.fract())] {
                        let p = &mut page.ink[row as usize * 1000 + x];
                        *p = p.max(ink * 0.95).max(if ink > 0.3 { 0.6 } else { 0.0 });
                    }
                }
                // Heads and stems here and there.
                if x % 37 < 9 {
                    for dy in 0..10 {
                        page.ink[(y + 2.0) as usize * 1000 + dy * 1000 + x] = 1.0;
                    }
                }
            }
        }
        page
    }

    #[test]
    fn straight_tilted_and_bent_staves_are_followed() {
        for (slope, bend, space) in [(0.0, 0.0, 10.0), (0.02, 0.0, 9.8), (-0.015, 6.0, 10.2)] {
            let page = drawn(&[150.0, 380.0, 640.0], slope, bend, space);
            let found = staves(&page);
            assert_eq!(found.len(), 3, "{slope} {bend}");
            for (staff, middle) in found.iter().zip([150.0, 380.0, 640.0]) {
                assert!(
                    (staff.left - 60.0).abs() < 4.0 && (staff.right - 939.0).abs() < 4.0,
                    "{staff:?}"
                );
                for x in [100.0_f32, 500.0, 900.0] {
                    let y = middle + slope * (x - 500.0) + bend * (x / 1000.0 * 3.0).sin();
                    assert!(
                        (staff.middle(x).0 - y).abs() < 1.0,
                        "{x} {} {y}",
                        staff.middle(x).0
                    );
                }
            }
        }
    }

    #[test]
    fn a_small_staff_beside_is_told_apart_and_a_page_without_one_has_none() {
        let mut page = drawn(&[150.0, 380.0, 640.0], 0.004, 0.0, 10.0);
        assert!(small_staves(&page, &staves(&page)).is_empty());
        // An ossia over the second line: two thirds of its size, a third of its length.
        for x in 400..700 {
            for k in 0..5 {
                for row in 0..2 {
                    page.ink[(290 + k * 13 / 2 + row) * 1000 + x] = if row == 0 { 0.9 } else { 0.4 };
                }
            }
        }
        let known = staves(&page);
        assert_eq!(known.len(), 3);
        let small = small_staves(&page, &known);
        assert_eq!(small.len(), 1);
        assert!(
            (small[0].left - 400.0).abs() < 30.0 && (small[0].right - 700.0).abs() < 30.0,
            "{small:?}"
        );
        assert!((small[0].middle(550.0).0 - 303.0).abs() < 3.0);
    }

    #[test]
    fn the_letters_of_a_thick_title_are_no_staff() {
        let mut page = drawn(&[380.0, 640.0], 0.004, 0.0, 10.0);
        // Capital letters whose five strokes lie as far apart as lines: half of the way is white.
        for letter in 0..13 {
            for x in 0..16 {
                for k in 0..5 {
                    for row in 0..4 {
                        page.ink[(120 + k * 10 + row) * 1000 + 250 + letter * 34 + x] = 1.0;
                    }
                }
            }
        }
        assert_eq!(staves(&page).len(), 2);
    }

    #[test]
    fn a_last_line_of_one_bar_is_found() {
        let mut page = drawn(&[150.0, 380.0], 0.0, 0.0, 10.0);
        for x in 72..168 {
            for k in 0..5 {
                page.ink[(600 + k * 10) * 1000 + x] = 0.9;
            }
        }
        let found = staves(&page);
        assert_eq!(found.len(), 3);
        assert!((found[2].right - 167.0).abs() < 4.0, "{:?}", found[2]);
    }

    #[test]
    fn the_distance_of_lines_stands_out() {
        let page = drawn(&[150.0, 380.0, 640.0], 0.0, 0.0, 10.0);
        let distance = line_distance(&page).unwrap();
        assert!((distance - 10.0).abs() < 0.5, "{distance}");
        assert_eq!(line_distance(&Grey::blank(300, 300)), None);
        // Thin lines of a small picture: no pixel of them is darker than a third.
        let mut thin = page;
        thin.ink.iter_mut().for_each(|ink| *ink *= 0.33);
        let distance = line_distance(&thin).unwrap();
        assert!((distance - 10.0).abs() < 0.5, "{distance}");
    }
}

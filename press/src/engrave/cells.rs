//! Which cells does a shape touch? Every cell that its outline passes through or that lies inside.

use super::outline::Outline;
use crate::svg::{step, whole};
use job::{Ink, Rect};

/// The most cells of one map: beyond it the map is given up.
const MOST_CELLS: u64 = 50_000_000;

/// How far beyond a shape's edge ink is counted, in cells: where pixels show a shape, its edges are blurred by that much.
const BLUR: f64 = 0.1;

/// A map in the making.
pub struct Cells {
    left: f64,
    top: f64,
    cell: f64,
    columns: usize,
    rows: usize,
    inked: Vec<bool>,
    // Kept only to be used again: where the outline crosses the middles of rows.
    crossings: Vec<Crossing>,
}

/// An outline crosses the middle of a row.
struct Crossing {
    row: usize,
    x: f64,
    /// 1 downwards, -1 upwards.
    turn: i32,
}

impl Cells {
    /// An empty map over these bounds, on the grid of whole cells. `None` if that would be too many.
    pub fn over(bounds: &Rect, cell: f64) -> Option<Cells> {
        let (left, top) = ((bounds.x / cell).floor(), (bounds.y / cell).floor());
        // One more for what ends exactly at an edge.
        let (columns, rows) = (
            whole(bounds.right() / cell - left).max(1),
            whole(bounds.bottom() / cell - top).max(1),
        );
        if u64::from(columns) * u64::from(rows) > MOST_CELLS {
            return None;
        }
        let (columns, rows) = (usize::try_from(columns).ok()?, usize::try_from(rows).ok()?);
        Some(Cells {
            left: left * cell,
            top: top * cell,
            cell,
            columns,
            rows,
            inked: vec![false; columns * rows],
            crossings: Vec::new(),
        })
    }

    /// The map.
    pub fn ink(self) -> Ink {
        let short = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
        let (columns, rows) = (short(self.columns), short(self.rows));
        Ink::from_cells((self.left, self.top), self.cell, columns, rows, self.inked)
    }

    /// Inks an outline; inside is what it winds around in all.
    pub fn fill(&mut self, outline: &Outline) {
        let mut crossings = std::mem::take(&mut self.crossings);
        crossings.clear();
        for contour in &outline.contours {
            let next = contour.iter().skip(1).chain(contour.first());
            for (from, to) in contour.iter().zip(next) {
                let from = ((from.0 - self.left) / self.cell, (from.1 - self.top) / self.cell);
                let to = ((to.0 - self.left) / self.cell, (to.1 - self.top) / self.cell);
                self.edge(from, to);
                cross(&mut crossings, from, to);
            }
        }
        crossings.sort_unstable_by(|one, other| one.row.cmp(&other.row).then(one.x.total_cmp(&other.x)));
        let (mut winding, mut start) = (0, 0.0);
        for crossing in &crossings {
            if winding == 0 {
                start = crossing.x;
            }
            winding += crossing.turn;
            if winding == 0 {
                self.run(crossing.row, start, crossing.x);
            }
        }
        self.crossings = crossings;
    }

    /// Inks the cells that an edge passes through or nearly touches.
    fn edge(&mut self, from: (f64, f64), to: (f64, f64)) {
        let (upper, lower) = if from.1 <= to.1 { (from, to) } else { (to, from) };
        let (first, last) = (step(upper.1 - BLUR), step(lower.1 + BLUR));
        let slope = (lower.0 - upper.0) / (lower.1 - upper.1);
        for row in first..=last {
            let reach = |y: f64| {
                if slope.is_finite() {
                    upper.0 + (y.clamp(upper.1, lower.1) - upper.1) * slope
                } else {
                    upper.0
                }
            };
            let (top, bottom) = (reach(float(row) - BLUR), reach(float(row + 1) + BLUR));
            let (left, right) = if slope.is_finite() {
                (top.min(bottom), top.max(bottom))
            } else {
                (upper.0.min(lower.0), upper.0.max(lower.0))
            };
            self.run(row, left - BLUR, right + BLUR);
        }
    }

    fn run(&mut self, row: usize, from: f64, to: f64) {
        if row >= self.rows {
            return;
        }
        let start = step(from).min(self.columns);
        let end = (step(to) + 1).clamp(start, self.columns);
        if let Some(cells) = self
            .inked
            .get_mut(row * self.columns + start..row * self.columns + end)
        {
            cells.fill(true);
        }
    }
}

/// Notes where an edge crosses the middles of rows.
fn cross(crossings: &mut Vec<Crossing>, from: (f64, f64), to: (f64, f64)) {
    let (upper, lower, turn) = if from.1 <= to.1 {
        (from, to, 1)
    } else {
        (to, from, -1)
    };
    let mut row = step(upper.1);
    while float(row) + 0.5 < lower.1 {
        let middle = float(row) + 0.5;
        if middle >= upper.1 {
            let x = upper.0 + (lower.0 - upper.0) * (middle - upper.1) / (lower.1 - upper.1);
            crossings.push(Crossing { row, x, turn });
        }
        row += 1;
    }
}

fn float(row: usize) -> f64 {
    u32::try_from(row).map_or(f64::MAX, f64::from)
}

#[cfg(test)]
mod tests {
    use super::Cells;
    use crate::engrave::outline::Outline;
    use job::Rect;

    fn map(path: &str) -> String {
        let bounds = Rect {
            x: 0.0,
            y: 0.0,
            w: 6.0,
            h: 4.0,
        };
        let mut cells = Cells::over(&bounds, 1.0).unwrap();
        cells.fill(&Outline::of_path(path, 8.0));
        let ink = cells.ink();
        assert_eq!((ink.columns, ink.rows), (6, 4));
        let rows: Vec<String> = ink
            .cells()
            .chunks(6)
            .map(|row| row.iter().map(|inked| if *inked { '#' } else { '.' }).collect())
            .collect();
        rows.join("/")
    }

    #[test]
    fn what_lies_inside_or_is_passed_through_is_inked() {
        assert_eq!(map("M1.2 1.2 H4.8 V2.8 H1.2 Z"), "....../.####./.####./......");
        assert_eq!(map("M0.5 0.2 L3.5 3.2 Z"), "##..../.##.../..##../...#..");
        assert_eq!(map("M0.1 0.1 H5.9 V3.9 H0.1 Z"), "######/######/######/######");
        assert_eq!(
            map("M2.1 0.2 L2.2 3.9 L2.15 0.2 Z"),
            "..#.../..#.../..#.../..#..."
        );
    }

    #[test]
    fn a_hole_stays_without_ink() {
        let ring = "M0.5 0.5 H5.5 V3.5 H0.5 Z M1.9 1.9 V2.1 H4.1 V1.9 Z";
        assert_eq!(map(ring), "######/######/######/######");
        let mut cells = Cells::over(
            &Rect {
                x: 0.0,
                y: 0.0,
                w: 6.0,
                h: 6.0,
            },
            1.0,
        )
        .unwrap();
        cells.fill(&Outline::of_path(
            "M0.5 0.5 H5.5 V5.5 H0.5 Z M0.9 0.9 V5.1 H5.1 V0.9 Z",
            8.0,
        ));
        let inked = cells.ink().cells();
        assert!(!inked[2 * 6 + 2] && inked[2 * 6] && inked[0]);
    }

    #[test]
    fn what_reaches_out_of_the_map_is_cut() {
        assert_eq!(map("M-5 -5 H2.5 V1.5 H-5 Z"), "###.../###.../....../......");
    }
}

//! What does a mark consist of? Lines, letters, a picture: where their ink is, and how they stand in the SVG.

use super::hand::{Hand, Sample};
use job::Rect;
use std::fmt::Write;

/// A mark as it would be drawn somewhere.
#[derive(Clone, Debug, Default)]
pub(super) struct Sketch {
    lines: Vec<Vec<Sample>>,
    letters: Vec<Letters>,
    pictures: Vec<Picture>,
}

/// Letters standing on one line.
#[derive(Clone, Debug, Default)]
pub(super) struct Letters {
    pub size: f64,
    pub y: f64,
    /// Each with its x and the box of its ink.
    pub glyphs: Vec<(char, f64, Option<Rect>)>,
}

#[derive(Clone, Debug)]
struct Picture {
    svg: String,
    scale: f64,
    rect: Rect,
}

/// A cell of the ink map, by column and row; may lie outside of it.
pub(super) type Cell = (i32, i32);

impl Sketch {
    /// Adds a line drawn by hand.
    pub fn line(&mut self, hand: &mut Hand, points: &[(f64, f64)], width: f64, taper: f64) {
        let samples = hand.line(points, width, taper);
        if !samples.is_empty() {
            self.lines.push(samples);
        }
    }

    /// The same with care, where there is little room.
    pub fn careful_line(&mut self, hand: &mut Hand, points: &[(f64, f64)], width: f64, taper: f64) {
        let samples = hand.careful_line(points, width, taper);
        if !samples.is_empty() {
            self.lines.push(samples);
        }
    }

    /// Adds letters.
    pub fn write(&mut self, letters: Letters) {
        if !letters.glyphs.is_empty() {
            self.letters.push(letters);
        }
    }

    /// Adds a picture with its upper left corner at a place.
    pub fn picture(&mut self, svg: &str, (x, y): (f64, f64), scale: f64, (width, height): (f64, f64)) {
        self.pictures.push(Picture {
            svg: svg.to_owned(),
            scale,
            rect: Rect {
                x,
                y,
                w: width * scale,
                h: height * scale,
            },
        });
    }

    /// Adds all of another.
    pub fn add(&mut self, other: Sketch) {
        self.lines.extend(other.lines);
        self.letters.extend(other.letters);
        self.pictures.extend(other.pictures);
    }

    /// True if there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty() && self.letters.is_empty() && self.pictures.is_empty()
    }

    /// The same elsewhere.
    pub fn moved(mut self, dx: f64, dy: f64) -> Self {
        for sample in self.lines.iter_mut().flatten() {
            sample.x += dx;
            sample.y += dy;
        }
        for letters in &mut self.letters {
            letters.y += dy;
            for (_, x, ink) in &mut letters.glyphs {
                *x += dx;
                if let Some(ink) = ink {
                    ink.x += dx;
                    ink.y += dy;
                }
            }
        }
        for picture in &mut self.pictures {
            picture.rect.x += dx;
            picture.rect.y += dy;
        }
        self
    }

    /// The boxes of its ink, line by line, letter by letter.
    fn boxes(&self) -> impl Iterator<Item = Rect> + '_ {
        let lines = self.lines.iter().flatten().map(|sample| Rect {
            x: sample.x - sample.half,
            y: sample.y - sample.half,
            w: 2.0 * sample.half,
            h: 2.0 * sample.half,
        });
        let glyphs = self.letters.iter().flat_map(|letters| &letters.glyphs);
        let letters = glyphs.filter_map(|(_, _, ink)| *ink);
        lines
            .chain(letters)
            .chain(self.pictures.iter().map(|picture| picture.rect))
    }

    /// The points of its lines: for tests.
    #[cfg(test)]
    pub fn samples(&self) -> impl Iterator<Item = &Sample> {
        self.lines.iter().flatten()
    }

    /// The box of all its ink; `None` without any.
    pub fn bounds(&self) -> Option<Rect> {
        self.boxes().reduce(|all, one| all.around(&one))
    }

    /// The cells of a grid with its corner at `origin` that its ink may touch, with so much room around it; each once, in order.
    pub fn cells(&self, origin: (f64, f64), cell: f64, room: f64) -> Vec<Cell> {
        let mut cells = Vec::new();
        self.all_cells(origin, cell, room, |cell| {
            cells.push(cell);
            true
        });
        cells.sort_unstable();
        cells.dedup();
        cells
    }

    /// Whether something holds of all these cells, some of them asked about several times; the first that fails ends it.
    pub fn all_cells(
        &self,
        origin: (f64, f64),
        cell: f64,
        room: f64,
        mut holds: impl FnMut(Cell) -> bool,
    ) -> bool {
        let place = |x: f64, y: f64| (index(x - origin.0, cell), index(y - origin.1, cell));
        for sample in self.lines.iter().flatten() {
            let middle = (sample.x - origin.0, sample.y - origin.1);
            if !disc(middle, sample.half + room, cell, &mut holds) {
                return false;
            }
        }
        let letters = self
            .letters
            .iter()
            .flat_map(|letters| &letters.glyphs)
            .filter_map(|(_, _, ink)| *ink);
        for ink in letters.chain(self.pictures.iter().map(|picture| picture.rect)) {
            let (left, top) = place(ink.x - room, ink.y - room);
            let (right, bottom) = place(ink.right() + room, ink.bottom() + room);
            for row in top..=bottom {
                if !(left..=right).all(|column| holds((column, row))) {
                    return false;
                }
            }
        }
        true
    }

    /// Its SVG elements, without the group of the mark.
    pub fn svg(&self) -> String {
        let mut out = String::new();
        if !self.lines.is_empty() {
            out.push_str("<path class=\"ink\" d=\"");
            for line in &self.lines {
                outline(&mut out, line);
            }
            out.push_str("\"/>");
        }
        for letters in &self.letters {
            let placed: Vec<&(char, f64, Option<Rect>)> = letters
                .glyphs
                .iter()
                .filter(|(letter, _, _)| *letter != ' ')
                .collect();
            let xs: Vec<String> = placed.iter().map(|(_, x, _)| whole(*x)).collect();
            let text: String = placed.iter().map(|(letter, _, _)| *letter).collect();
            let _ = write!(
                out,
                "<text class=\"ink hand\" x=\"{}\" y=\"{}\" font-size=\"{}\">{}</text>",
                xs.join(" "),
                whole(letters.y),
                whole(letters.size),
                escaped(&text)
            );
        }
        for picture in &self.pictures {
            let _ = write!(
                out,
                "<g transform=\"translate({} {}) scale({:.4})\">{}</g>",
                whole(picture.rect.x),
                whole(picture.rect.y),
                picture.scale,
                picture.svg
            );
        }
        out
    }
}

/// Whether something holds of every cell that a disc touches.
fn disc((x, y): (f64, f64), radius: f64, cell: f64, holds: &mut impl FnMut(Cell) -> bool) -> bool {
    let side = f64::from;
    for row in index(y - radius, cell)..=index(y + radius, cell) {
        // The nearest point of the row, then of the cell.
        let off_y = y.clamp(side(row) * cell, side(row + 1) * cell) - y;
        for column in index(x - radius, cell)..=index(x + radius, cell) {
            let off_x = x.clamp(side(column) * cell, side(column + 1) * cell) - x;
            if off_x * off_x + off_y * off_y <= radius * radius && !holds((column, row)) {
                return false;
            }
        }
    }
    true
}

/// The cell in which a length from the origin lies.
pub(super) fn index(length: f64, cell: f64) -> i32 {
    let index = (length / cell).floor().clamp(-1e6, 1e6);
    // Clamped to a million either way.
    #[expect(clippy::cast_possible_truncation, reason = "clamped just above")]
    let index = index as i32;
    index
}

/// The outline of a line of changing width: down one side, round the end, back on the other.
fn outline(out: &mut String, line: &[Sample]) {
    let [first, .., last] = line else { return };
    let side = |way: f64| {
        move |at: usize| {
            let before = line[at.saturating_sub(1)];
            let after = line[(at + 1).min(line.len() - 1)];
            let (dx, dy) = (after.x - before.x, after.y - before.y);
            let norm = dx.hypot(dy).max(1e-9);
            let here = line[at];
            (
                here.x - way * dy / norm * here.half,
                here.y + way * dx / norm * here.half,
            )
        }
    };
    let beyond = |from: &Sample, to: &Sample| {
        let (dx, dy) = (to.x - from.x, to.y - from.y);
        let norm = dx.hypot(dy).max(1e-9);
        (to.x + dx / norm * to.half * 0.9, to.y + dy / norm * to.half * 0.9)
    };
    let mut points: Vec<(f64, f64)> = Vec::with_capacity(2 * line.len() + 2);
    points.push(beyond(&line[1.min(line.len() - 1)], first));
    points.extend((0..line.len()).map(side(1.0)));
    points.push(beyond(&line[line.len().saturating_sub(2)], last));
    points.extend((0..line.len()).rev().map(side(-1.0)));
    let middle = |a: (f64, f64), b: (f64, f64)| ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0);
    // Smooth through the middles: each point bends, none is a corner.
    let start = middle(points[points.len() - 1], points[0]);
    let _ = write!(out, "M{} {}", whole(start.0), whole(start.1));
    for at in 0..points.len() {
        let here = points[at];
        let next = middle(here, points[(at + 1) % points.len()]);
        let _ = write!(
            out,
            "Q{} {} {} {}",
            whole(here.0),
            whole(here.1),
            whole(next.0),
            whole(next.1)
        );
    }
    out.push('Z');
}

/// A length as a whole number of units: a hundredth of a millimetre at the usual size.
fn whole(length: f64) -> String {
    index(length + 0.5, 1.0).to_string()
}

/// For text and attributes of SVG.
pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_cover_the_ink_with_room_around_it() {
        let mut sketch = Sketch::default();
        sketch.line(&mut Hand::new(3), &[(100.0, 100.0), (300.0, 100.0)], 20.0, 0.0);
        let ink = sketch.bounds().expect("ink");
        let bare = sketch.cells((0.0, 0.0), 22.5, 0.0);
        let roomy = sketch.cells((0.0, 0.0), 22.5, 22.5);
        assert!(bare.iter().all(|cell| roomy.binary_search(cell).is_ok()) && roomy.len() > bare.len());
        let rows = (bare.iter().map(|c| c.1).min(), bare.iter().map(|c| c.1).max());
        assert_eq!(rows, (Some(index(ink.y, 22.5)), Some(index(ink.bottom(), 22.5))));
    }

    #[test]
    fn a_sketch_moves_with_its_letters() {
        let sketch = crate::pencil::letters::written("a♯", 0.0, 0.0, 300.0, &mut Hand::new(1));
        let (here, there) = (
            sketch.bounds().expect("ink"),
            sketch.clone().moved(50.0, -20.0).bounds().expect("ink"),
        );
        assert!((there.x - here.x - 50.0).abs() < 1e-6 && (there.y - here.y + 20.0).abs() < 1e-6);
        assert!(sketch.svg().contains("class=\"ink hand\"") && !sketch.svg().contains("style"));
    }
}

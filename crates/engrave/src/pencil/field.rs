//! Where is room? The system's ink in cells, what lines may be crossed there, and the marks that stand already.

use super::scene::Scene;
use super::sketch::{Cell, Sketch, index};
use job::{Boxed, Rect, STAFF_SPACE, System};

/// How far marks may stand above and below a system's ink, in staff spaces.
const BEYOND: f64 = 14.0;
/// How far they may stand out to its sides, in staff spaces.
const ASIDE: f64 = 0.8;

const INK: u8 = 1;
const SOLID: u8 = 2;
const MARK: u8 = 4;
/// Solid even for a circle that crosses slurs and beams: everything else.
const HARD: u8 = 8;
/// What no mark ever touches: heads, accidentals, rests, signs, words, and ink of which nothing is known.
const KEEP: u8 = 16;

/// What a mark may touch.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum May {
    /// Nothing at all.
    TouchNothing,
    /// The lines of the staff, ledger lines, stems and bar lines: for the few signs that go round or in front of notes.
    CrossLines,
    /// Slurs, ties and beams, too: for a circle that else finds no room.
    CrossCurves,
    /// Flags, hairpins and brackets, too, all but what is read by itself: a circle crosses them rather than not be drawn.
    CrossStrokes,
}

/// The cells of a system and the space around it.
pub(super) struct Field {
    origin: (f64, f64),
    cell: f64,
    columns: i32,
    rows: i32,
    cells: Vec<u8>,
}

impl Field {
    /// The field of a system: its ink map, or its boxes where none was asked for.
    pub fn of(scene: &Scene) -> Self {
        let system = scene.system;
        let cell = system
            .ink
            .as_ref()
            .map_or(job::INK_CELL, |ink| ink.cell)
            .clamp(5.0, 200.0);
        let corner = system
            .ink
            .as_ref()
            .map_or((system.bounds.x, system.bounds.y), |ink| (ink.x, ink.y));
        let left = system.bounds.x.min(system.staff.x) - ASIDE * STAFF_SPACE;
        let top = system.bounds.y.min(system.staff.y) - BEYOND * STAFF_SPACE;
        let right = system.staff.right() + ASIDE * STAFF_SPACE;
        let bottom = system.bounds.bottom().max(system.staff.bottom()) + BEYOND * STAFF_SPACE;
        let origin = (
            corner.0 + f64::from(index(left - corner.0, cell)) * cell,
            corner.1 + f64::from(index(top - corner.1, cell)) * cell,
        );
        // Whatever a system claims to be, the field stays within a few million cells.
        let columns = (index(right - origin.0, cell) + 1).clamp(1, 6000);
        let rows = (index(bottom - origin.1, cell) + 1).clamp(1, 3000);
        let count = usize::try_from(i64::from(columns) * i64::from(rows)).unwrap_or(0);
        let mut field = Self {
            origin,
            cell,
            columns,
            rows,
            cells: vec![0; count],
        };
        field.ink(system);
        field.solid(scene);
        field
    }

    fn at(&mut self, (column, row): Cell) -> Option<&mut u8> {
        if !(0..self.columns).contains(&column) || !(0..self.rows).contains(&row) {
            return None;
        }
        let at = i64::from(row) * i64::from(self.columns) + i64::from(column);
        self.cells.get_mut(usize::try_from(at).ok()?)
    }

    fn look(&self, (column, row): Cell) -> Option<u8> {
        if !(0..self.columns).contains(&column) || !(0..self.rows).contains(&row) {
            return None;
        }
        let at = i64::from(row) * i64::from(self.columns) + i64::from(column);
        self.cells.get(usize::try_from(at).ok()?).copied()
    }

    fn ink(&mut self, system: &System) {
        let Some(ink) = &system.ink else {
            for thing in system.boxes.iter().filter(|thing| !is_frame(thing)) {
                self.fill(&thing.rect, INK);
            }
            for line in 0..5 {
                let y = system.staff.y + f64::from(line) * STAFF_SPACE;
                self.fill(
                    &Rect {
                        x: system.staff.x,
                        y: y - 7.0,
                        w: system.staff.w,
                        h: 14.0,
                    },
                    INK,
                );
            }
            return;
        };
        let shift = (
            index(ink.x - self.origin.0 + 0.5, self.cell),
            index(ink.y - self.origin.1 + 0.5, self.cell),
        );
        let columns = i32::try_from(ink.columns).unwrap_or(i32::MAX).max(1);
        let (mut column, mut row) = (0, 0);
        for inked in ink.cells() {
            if inked && let Some(cell) = self.at((column + shift.0, row + shift.1)) {
                *cell |= INK;
            }
            column += 1;
            if column == columns {
                (column, row) = (0, row + 1);
            }
        }
    }

    /// Ink is solid unless it belongs to lines that can't be helped and to nothing else.
    fn solid(&mut self, scene: &Scene) {
        for cell in &mut self.cells {
            if *cell & INK != 0 {
                *cell |= SOLID | HARD | KEEP;
            }
        }
        for line in scene.lines(self.cell) {
            self.ease(&line, SOLID | HARD | KEEP);
        }
        for thing in &scene.system.boxes {
            match thing.class.as_str() {
                "slur" | "tie" | "lv" | "beam" => self.ease(&thing.rect, HARD | KEEP),
                _ if is_stroke(thing) => self.ease(&thing.rect, KEEP),
                _ => {}
            }
        }
        for thing in scene.system.boxes.iter().filter(|thing| is_thing(thing)) {
            let what = if is_stroke(thing) {
                SOLID | HARD
            } else {
                SOLID | HARD | KEEP
            };
            for cell in self.inside(&thing.rect) {
                if let Some(cell) = self.at(cell).filter(|cell| **cell & INK != 0) {
                    *cell |= what;
                }
            }
        }
    }

    /// Takes away from the cells of a rectangle what forbids to cross them.
    fn ease(&mut self, rect: &Rect, what: u8) {
        for cell in self.inside(rect) {
            if let Some(cell) = self.at(cell) {
                *cell &= !what;
            }
        }
    }

    /// The cells that a rectangle touches.
    fn inside(&self, rect: &Rect) -> Vec<Cell> {
        let (left, right) = (
            self.column(rect.x).max(0),
            self.column(rect.right()).min(self.columns - 1),
        );
        let (top, bottom) = (
            self.row(rect.y).max(0),
            self.row(rect.bottom()).min(self.rows - 1),
        );
        (top..=bottom)
            .flat_map(|row| (left..=right).map(move |column| (column, row)))
            .collect()
    }

    fn fill(&mut self, rect: &Rect, what: u8) {
        for cell in self.inside(rect) {
            if let Some(cell) = self.at(cell) {
                *cell |= what;
            }
        }
    }

    fn column(&self, x: f64) -> i32 {
        index(x - self.origin.0, self.cell)
    }

    fn row(&self, y: f64) -> i32 {
        index(y - self.origin.1, self.cell)
    }

    /// The side of a cell, in units.
    pub const fn cell(&self) -> f64 {
        self.cell
    }

    /// The cells that a sketch needs: its ink with a cell of room around it; less round notes, where a cell has ink if any of
    /// it has and so keeps some room by itself.
    pub fn footprint(&self, sketch: &Sketch, may: May) -> Vec<Cell> {
        sketch.cells(self.origin, self.cell, self.room(may))
    }

    fn room(&self, may: May) -> f64 {
        if may == May::TouchNothing {
            self.cell
        } else {
            0.4 * self.cell
        }
    }

    /// Whether a sketch is free where it is.
    pub fn fits(&self, sketch: &Sketch, may: May) -> bool {
        let blocked = blocked(may);
        sketch.all_cells(self.origin, self.cell, self.room(may), |cell| {
            self.look(cell).is_some_and(|cell| cell & blocked == 0)
        })
    }

    /// Whether a loop that is drawn round these boxes at a known distance is free where it is: the cells at their edges don't count.
    pub fn fits_round(&self, sketch: &Sketch, may: May, boxes: &[Rect]) -> bool {
        let own = |cell: Cell| boxes.iter().any(|own| self.holds(own, cell));
        sketch.all_cells(self.origin, self.cell, self.room(may), |cell| {
            self.look(cell)
                .is_some_and(|what| what & blocked(may) == 0 || (what & MARK == 0 && own(cell)))
        })
    }

    /// Whether a cell is one that a rectangle touches.
    fn holds(&self, rect: &Rect, (column, row): Cell) -> bool {
        (self.column(rect.x)..=self.column(rect.right())).contains(&column)
            && (self.row(rect.y)..=self.row(rect.bottom())).contains(&row)
    }

    /// Whether all of a rectangle is free: a quick look before a sign is drawn.
    pub fn is_clear(&self, rect: &Rect, may: May) -> bool {
        let blocked = blocked(may);
        let (left, right) = (self.column(rect.x), self.column(rect.right()));
        let (top, bottom) = (self.row(rect.y), self.row(rect.bottom()));
        (top..=bottom).all(|row| {
            (left..=right).all(|column| self.look((column, row)).is_some_and(|cell| cell & blocked == 0))
        })
    }

    /// Whether these cells, moved by so many columns and rows, are free; outside of the field nothing is.
    pub fn is_free(&self, cells: &[Cell], (columns, rows): Cell, may: May) -> bool {
        let blocked = blocked(may);
        cells.iter().all(|(column, row)| {
            self.look((column.saturating_add(columns), row.saturating_add(rows)))
                .is_some_and(|cell| cell & blocked == 0)
        })
    }

    /// Takes the room of a mark that is drawn, with a little around it, so that marks are told from each other.
    pub fn take(&mut self, sketch: &Sketch) {
        for cell in sketch.cells(self.origin, self.cell, self.cell) {
            if let Some(cell) = self.at(cell) {
                *cell |= MARK;
            }
        }
    }

    /// The lower edge of the lowest music ink between two x, not above `least`.
    pub fn lowest(&self, from: f64, to: f64, least: f64) -> f64 {
        let (left, right) = (self.column(from).max(0), self.column(to).min(self.columns - 1));
        let inked = |row: i32| {
            (left..=right).any(|column| self.look((column, row)).is_some_and(|cell| cell & INK != 0))
        };
        let row = (0..self.rows).rev().find(|row| inked(*row));
        row.map_or(least, |row| {
            (self.origin.1 + f64::from(row + 1) * self.cell).max(least)
        })
    }

    /// Whether any of the music's ink lies under a sketch, and any that no mark may touch, beside the boxes that it goes round: for
    /// tests.
    #[cfg(test)]
    pub fn shares(&self, sketch: &Sketch, own: &[Rect]) -> (bool, bool) {
        let (mut ink, mut kept) = (false, false);
        for cell in sketch.cells(self.origin, self.cell, 0.0) {
            let what = self.look(cell).unwrap_or(0);
            ink |= what & INK != 0;
            kept |= what & KEEP != 0 && !own.iter().any(|own| self.holds(own, cell));
        }
        (ink, kept)
    }
}

const fn blocked(may: May) -> u8 {
    match may {
        May::TouchNothing => INK | MARK,
        May::CrossLines => SOLID | MARK,
        May::CrossCurves => HARD | MARK,
        May::CrossStrokes => KEEP | MARK,
    }
}

/// Boxes that are no ink of their own.
fn is_frame(thing: &Boxed) -> bool {
    matches!(
        thing.class.as_str(),
        "staff" | "measure" | "system" | "layer" | "chord" | "section" | "ending"
    ) || thing.rect.w <= 0.0
        || thing.rect.h <= 0.0
}

/// Strokes and lines that are still read if a circle crosses them.
fn is_stroke(thing: &Boxed) -> bool {
    matches!(
        thing.class.as_str(),
        "flag" | "hairpin" | "tupletBracket" | "tuplet" | "octave"
    )
}

/// Signs whose box is filled by them.
fn is_thing(thing: &Boxed) -> bool {
    !is_frame(thing)
        && !matches!(
            thing.class.as_str(),
            "stem"
                | "barLine"
                | "beam"
                | "slur"
                | "tie"
                | "lv"
                | "hairpin"
                | "tupletBracket"
                | "tuplet"
                | "octave"
        )
}

//! How does a mark find its place? It is tried where it would be liked best, then farther off, until it touches nothing.

use super::field::{Field, May};
use super::hand::{Hand, seed};
use super::scene::Scene;
use super::sketch::{Sketch, index};
use job::{Rect, STAFF_SPACE};
use notation::PencilMark;

/// One mark on its way to the paper.
pub(super) struct Pen<'a> {
    pub scene: &'a Scene<'a>,
    pub field: &'a mut Field,
    pub mark: &'a PencilMark,
    pub hand: Hand,
    /// All that is drawn of it so far.
    drawn: Sketch,
}

/// On which side of the staff.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Side {
    Above,
    Below,
}

/// The farthest, in staff spaces.
const FARTHEST: f64 = 13.0;
/// Standing aside is worse than standing off, by so much.
const ASIDE_IS_WORSE: f64 = 1.3;

impl<'a> Pen<'a> {
    /// The pen for a mark; its hand is the same each time for the same mark of the same piece.
    pub fn new(scene: &'a Scene<'a>, field: &'a mut Field, mark: &'a PencilMark) -> Self {
        let piece = scene.piece;
        let name = piece.credits.name().unwrap_or_default();
        let place = mark.from.place;
        let text = format!(
            "{name}|{}|{}|{}|{}|{}",
            piece.bars.len(),
            place.bar,
            place.offset,
            mark.sign.name(),
            mark.text
        );
        Self {
            scene,
            field,
            mark,
            hand: Hand::new(seed(&text)),
            drawn: Sketch::default(),
        }
    }

    /// The staff.
    pub fn staff(&self) -> Rect {
        self.scene.system.staff
    }

    /// Draws where it stands, if it is free there.
    pub fn put(&mut self, sketch: Sketch, may: May) -> bool {
        let free = self.field.fits(&sketch, may);
        if free {
            self.keep(sketch);
        }
        free
    }

    /// Draws where it stands.
    pub fn keep(&mut self, sketch: Sketch) {
        self.field.take(&sketch);
        self.drawn.add(sketch);
    }

    /// Draws as near as there is room: away from the staff on its side, or a little aside, by so many staff spaces. False if
    /// there is none within reach.
    pub fn off(&mut self, sketch: &Sketch, side: Side, asides: &[f64]) -> bool {
        match self.way_off(sketch, side, asides) {
            Some((_, dx, dy)) => {
                self.keep(sketch.clone().moved(dx, dy));
                true
            }
            None => false,
        }
    }

    /// The same on whichever side is nearer; above is liked better, by so many staff spaces.
    pub fn off_either(&mut self, above: &Sketch, below: &Sketch, better: f64, asides: &[f64]) -> bool {
        let up = self.way_off(above, Side::Above, asides);
        let down = self.way_off(below, Side::Below, asides);
        let chosen = match (&up, &down) {
            (Some(up), Some(down)) if up.0 > down.0 + better * STAFF_SPACE => Some((below, *down)),
            (Some(up), _) => Some((above, *up)),
            (None, Some(down)) => Some((below, *down)),
            (None, None) => None,
        };
        let Some((sketch, (_, dx, dy))) = chosen else {
            return false;
        };
        self.keep(sketch.clone().moved(dx, dy));
        true
    }

    /// How far off it would stand (the distance, then x and y); `None` if nowhere within reach.
    pub fn way_off(&self, sketch: &Sketch, side: Side, asides: &[f64]) -> Option<(f64, f64, f64)> {
        let cells = self.field.footprint(sketch, May::TouchNothing);
        let cell = self.field.cell();
        let step = match side {
            Side::Above => -1,
            Side::Below => 1,
        };
        let mut best: Option<(f64, f64, f64)> = None;
        for aside in asides {
            let columns = index(aside * STAFF_SPACE + cell / 2.0, cell);
            let dx = f64::from(columns) * cell;
            for steps in 0..index(FARTHEST * STAFF_SPACE, cell) {
                let dy = f64::from(steps) * cell;
                let distance = dy + ASIDE_IS_WORSE * dx.abs();
                if best.is_some_and(|(least, _, _)| least <= distance) {
                    break;
                }
                if self
                    .field
                    .is_free(&cells, (columns, steps * step), May::TouchNothing)
                {
                    best = Some((distance, dx, dy * f64::from(step)));
                    break;
                }
            }
        }
        best
    }

    /// All that was drawn.
    pub fn done(self) -> Option<Sketch> {
        (!self.drawn.is_empty()).then_some(self.drawn)
    }

    /// What was drawn so far.
    pub fn bounds(&self) -> Option<Rect> {
        self.drawn.bounds()
    }
}

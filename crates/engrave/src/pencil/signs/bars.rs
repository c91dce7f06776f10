//! Where do signs about bars belong? Brackets, hooks, eyeglasses, arrows, letters, words.

use super::{BRACKET, NEAR, OFF_STAFF, WIDE, above, near};
use crate::pencil::field::May;
use crate::pencil::glyphs;
use crate::pencil::letters;
use crate::pencil::pen::{Pen, Side};
use crate::pencil::sketch::Sketch;
use job::{Rect, STAFF_SPACE as SPACE};
use notation::BarIndex;

/// Square brackets through the staff before and after a spot, where the staff is empty.
pub(super) fn brackets(pen: &mut Pen) -> bool {
    let (from, to) = (pen.mark.from.place.bar, pen.mark.end().place.bar);
    let mut belongs = false;
    if let Some(bar) = pen.scene.bar(from) {
        belongs = true;
        let music = pen.scene.music_from(from).unwrap_or(bar.x + 2.0 * SPACE);
        // Just after the bar line, or after the signs at the start of a line: as near as its first note allows.
        let ideal = if pen.scene.is_first(from) {
            music - 0.75 * SPACE
        } else {
            f64::midpoint(bar.x, music)
        };
        bracket(pen, ideal, (bar.x - 1.1 * SPACE, music - 0.2 * SPACE), 1.0);
    }
    if let Some(bar) = pen.scene.bar(to) {
        belongs = true;
        let music = pen.scene.music_to(to).unwrap_or(bar.right() - 2.0 * SPACE);
        let ideal = (bar.right() - 0.8 * SPACE).max((bar.right() + music) / 2.0);
        bracket(pen, ideal, (music + 0.2 * SPACE, bar.right() + 1.1 * SPACE), -1.0);
    }
    belongs
}

/// One bracket near `ideal` within limits; `way` is where its arms point: 1 to the right. Standing aside and reaching farther
/// out are both worse, the nearest to what is liked best is taken; first with clear paper round its ends, then without.
fn bracket(pen: &mut Pen, ideal: f64, (least, most): (f64, f64), way: f64) {
    let mut tries = tries(ideal, pen.field.cell(), way);
    tries.retain(|one| (least..=most).contains(&one.x));
    for roomy in [true, false] {
        for one in &tries {
            if one.is_clear(pen, roomy) {
                let sketch = one.drawn(pen);
                if pen.put(sketch, May::CrossLines) {
                    return;
                }
            }
        }
    }
    // No clear column: a corner over the staff.
    let mut sketch = Sketch::default();
    let staff = pen.staff();
    let (top, low) = (staff.y - 1.5 * SPACE, staff.y - OFF_STAFF * SPACE);
    let width = BRACKET * SPACE;
    sketch.line(&mut pen.hand, &[(ideal, low), (ideal, top)], width, 0.0);
    sketch.line(
        &mut pen.hand,
        &[(ideal, top), (ideal + way * 0.8 * SPACE, top)],
        width,
        0.2,
    );
    pen.off(&sketch, Side::Above, &NEAR);
}

/// A bracket as it may be drawn: where, how far beyond the staff, how long its arms are (to the left below zero).
struct Bracket {
    off: f64,
    x: f64,
    up: f64,
    down: f64,
    arm: f64,
}

/// Every bracket that is tried, the best liked first.
fn tries(ideal: f64, cell: f64, way: f64) -> Vec<Bracket> {
    const REACHES: [f64; 6] = [1.0, 0.65, 1.4, 1.9, 2.5, 3.1];
    const ARMS: [(f64, f64); 2] = [(0.9, 0.0), (0.5, 0.25)];
    let mut tries = Vec::new();
    for step in -40..=40 {
        let aside = f64::from(step) * cell;
        for up in REACHES {
            for down in REACHES {
                for (arm, worse) in ARMS {
                    let reach = (up - 1.0).abs() + (down - 1.0).abs();
                    tries.push(Bracket {
                        off: aside.abs() / SPACE + 0.55 * reach + worse,
                        x: ideal + aside,
                        up: up * SPACE,
                        down: down * SPACE,
                        arm: way * arm * SPACE,
                    });
                }
            }
        }
    }
    tries.sort_by(|a, b| a.off.total_cmp(&b.off));
    tries
}

impl Bracket {
    /// A look at its way before it is drawn, which takes longer; with room, its ends keep a third of a space from all ink.
    fn is_clear(&self, pen: &Pen, roomy: bool) -> bool {
        let staff = pen.staff();
        let half = 0.35 * BRACKET * SPACE;
        let stroke = Rect {
            x: self.x - half,
            y: staff.y - self.up,
            w: 2.0 * half,
            h: staff.h + self.up + self.down,
        };
        if !pen.field.is_clear(&stroke, May::CrossLines) {
            return false;
        }
        let room = 0.33 * SPACE;
        let end = |y: f64| Rect {
            x: self.x.min(self.x + self.arm) - room,
            y: y - room,
            w: self.arm.abs() + 2.0 * room,
            h: 2.0 * room,
        };
        let ends = [end(staff.y - self.up), end(staff.bottom() + self.down)];
        !roomy || ends.iter().all(|end| pen.field.is_clear(end, May::CrossLines))
    }

    fn drawn(&self, pen: &Pen) -> Sketch {
        let staff = pen.staff();
        square(
            pen,
            self.x,
            (staff.y - self.up, staff.bottom() + self.down),
            self.arm,
        )
    }
}

fn square(pen: &Pen, x: f64, (top, bottom): (f64, f64), arm: f64) -> Sketch {
    let mut sketch = Sketch::default();
    let mut hand = pen.hand.clone();
    let width = BRACKET * SPACE;
    sketch.line(
        &mut hand,
        &[(x, top), (x, (top + bottom) / 2.0), (x, bottom)],
        width,
        0.0,
    );
    sketch.line(&mut hand, &[(x, top), (x + arm, top)], width, 0.2);
    sketch.line(&mut hand, &[(x, bottom), (x + arm, bottom)], width, 0.2);
    sketch
}

/// Crooks over the staff where a repeat begins and ends.
pub(super) fn hooks(pen: &mut Pen) -> bool {
    let (from, to) = (pen.mark.from.place, pen.mark.end().place);
    let foot = above(pen);
    let mut belongs = false;
    if let Some(bar) = pen.scene.bar(from.bar) {
        belongs = true;
        let x = if pen.scene.is_first(from.bar) {
            pen.scene.music_from(from.bar).unwrap_or(bar.x + SPACE) - 1.2 * SPACE
        } else {
            bar.x + 0.1 * SPACE
        };
        hook(pen, (x, foot), false);
    }
    if let Some(bar) = pen.scene.bar(to.bar) {
        belongs = true;
        hook(pen, (bar.right() - 0.1 * SPACE, foot), true);
    }
    belongs
}

fn hook(pen: &mut Pen, foot: (f64, f64), end: bool) {
    let mut sketch = Sketch::default();
    glyphs::hook(&mut sketch, &mut pen.hand, foot, 1.1 * SPACE, end);
    pen.off(&sketch, Side::Above, &[0.0, -0.4, 0.4, -0.9, 0.9, -1.5, 1.5]);
}

/// Eyeglasses over the bar line or the place before which one looks up.
pub(super) fn eyeglasses(pen: &mut Pen) -> bool {
    let place = pen.mark.from.place;
    let Some(bar) = pen.scene.bar(place.bar) else {
        return false;
    };
    let note = pen.mark.from.element.and_then(|_| pen.scene.stop(&pen.mark.from));
    let x = if let Some(note) = note {
        note.rect.x + note.rect.w / 2.0
    } else if place.offset.is_positive() {
        pen.scene.x_of(place).unwrap_or(bar.x) - 0.6 * SPACE
    } else if pen.scene.is_first(place.bar) {
        bar.x + 2.2 * SPACE
    } else {
        bar.x - 0.5 * SPACE
    };
    let mut sketch = Sketch::default();
    glyphs::eyeglasses(&mut sketch, &mut pen.hand, (x, 0.0), 1.12 * SPACE);
    near(pen, sketch, &WIDE)
}

/// An arrow at the end of a bar, with the bar that it goes to.
pub(super) fn arrow(pen: &mut Pen) -> bool {
    let place = pen.mark.from.place;
    let Some(bar) = pen.scene.bar(place.bar) else {
        return false;
    };
    let label = &pen.mark.text;
    let goes_to = pen.scene.piece.bars.iter().position(|bar| bar.label == *label);
    let text = if goes_to.is_some() {
        format!("bar {label}")
    } else {
        label.clone()
    };
    let back = goes_to.is_none_or(|index| BarIndex::from_usize(index) <= place.bar);
    let size = 1.95 * SPACE;
    let width = letters::width(&text, size);
    let mut sketch = Sketch::default();
    let middle = (0.0, -0.72 * SPACE);
    glyphs::arrow(&mut sketch, &mut pen.hand, middle, 1.25 * SPACE, back);
    sketch.add(letters::written(&text, 1.8 * SPACE, 0.0, size, &mut pen.hand));
    // It ends at the bar line.
    let sketch = sketch.moved(bar.right() - 1.7 * SPACE - width, 0.0);
    near(pen, sketch, &WIDE)
}

pub(super) fn letter(pen: &mut Pen) -> bool {
    let bar = pen.mark.from.place.bar;
    let Some(rect) = pen.scene.bar(bar) else {
        return false;
    };
    let x = pen.scene.music_from(bar).unwrap_or(rect.x + SPACE);
    // With a stroke of a bracket: a lone b would be a flat, a lone p would be soft.
    let text = format!("{})", pen.mark.text);
    let sketch = letters::centred(&text, x, 0.0, 1.9 * SPACE, &mut pen.hand);
    near(pen, sketch, &WIDE)
}

/// The longest words that are written on a part, in letters.
const LONGEST: usize = 28;

pub(super) fn words(pen: &mut Pen) -> bool {
    let Some(x) = pen.scene.x_of(pen.mark.from.place) else {
        return false;
    };
    let text: String = pen.mark.text.chars().take(LONGEST).collect();
    let sketch = letters::written(&text, x - 0.5 * SPACE, 0.0, 1.6 * SPACE, &mut pen.hand);
    near(pen, sketch, &WIDE)
}

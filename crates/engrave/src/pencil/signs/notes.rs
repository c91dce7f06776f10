//! Where do signs at one note belong? Circles, courtesies, breaths, fingerings.

use super::{NEAR, OTHER_SIDE, above, hanging, near, standing};
use crate::pencil::field::May;
use crate::pencil::glyphs::{self, LINE};
use crate::pencil::letters;
use crate::pencil::pen::{Pen, Side};
use crate::pencil::scene::Stop;
use crate::pencil::sketch::Sketch;
use job::{Rect, STAFF_SPACE as SPACE};
use notation::PencilSign;

/// A circle round the head and its accidental; where there is no room for one, round the accidental or the head alone; where other
/// notes leave none for that, a small arrow to it.
pub(super) fn circle(pen: &mut Pen) -> bool {
    let Some(stop) = pen.scene.stop(&pen.mark.from) else {
        return false;
    };
    let around = pen.scene.with_accidental(&stop);
    let accidental = Rect {
        w: (stop.rect.x - around.x).max(0.0),
        ..around
    };
    // What it may go round, the likeliest first: the boxes of each loop.
    let mut inside = vec![vec![stop.rect]];
    let close = pen.scene.close_to(&stop.rect);
    if !close.is_empty() {
        inside.push([vec![stop.rect], close].concat());
    }
    if accidental.w > 0.4 * SPACE {
        let with = |boxes: &Vec<Rect>| [boxes.clone(), vec![accidental]].concat();
        inside = [inside.iter().map(with).collect(), vec![vec![accidental]], inside].concat();
    }
    // A slur, a beam or a flag may be crossed rather than the note be left without its circle; a loop that hugs it is better than
    // an oval round half of it.
    let ringed = inside.iter().any(|boxes| loops(pen, boxes));
    if !ringed {
        pointer(pen, &stop);
    }
    if !pen.mark.text.is_empty() {
        note_text(pen, &stop);
    }
    true
}

/// Tries rings from the one that a hand would draw first to tight, wide and shifted ones.
fn ring(pen: &mut Pen, around: &Rect, may: May) -> bool {
    let alone = around.w < 1.5 * SPACE;
    let (wide, high) = if alone { (1.16, 1.1) } else { (1.06, 1.0) };
    for (beside, over) in [
        (0.40, 0.38),
        (0.32, 0.30),
        (0.50, 0.48),
        (0.30, 0.20),
        (0.24, 0.16),
        (0.26, 0.50),
        (0.62, 0.62),
        (0.40, 0.85),
        (0.75, 0.75),
    ] {
        for shift in [
            (0.0, 0.0),
            (0.0, -0.14),
            (0.0, 0.14),
            (0.12, 0.0),
            (-0.12, 0.0),
            (0.0, -0.3),
            (0.0, 0.3),
        ] {
            let centre = (
                around.x + around.w / 2.0 + shift.0 * SPACE,
                around.y + around.h / 2.0 + shift.1 * SPACE,
            );
            let radii = (
                around.w / 2.0 * wide + beside * SPACE,
                around.h / 2.0 * high + over * SPACE,
            );
            // A look at its way first: drawing takes longer.
            let clear = |(x, y): (f64, f64)| {
                let point = Rect { x, y, w: 1.0, h: 1.0 };
                pen.field.is_clear(&point, may)
            };
            if !glyphs::oval(centre, radii, 0.0, std::f64::consts::TAU, 32)
                .into_iter()
                .all(clear)
            {
                continue;
            }
            let mut sketch = Sketch::default();
            let mut hand = pen.hand.clone();
            glyphs::ring(&mut sketch, &mut hand, centre, radii, LINE * SPACE, -0.9);
            if pen.put(sketch, may) {
                return true;
            }
        }
    }
    false
}

/// Tries an oval round these boxes, then loops that keep close to them, crossing as little as may be.
fn loops(pen: &mut Pen, boxes: &[Rect]) -> bool {
    let Some(around) = boxes.iter().copied().reduce(|all, one| all.around(&one)) else {
        return false;
    };
    // Heads are ovals, signs nearly fill their boxes.
    let close: Vec<(f64, f64)> = boxes
        .iter()
        .flat_map(|one| rounded(one, if one.h < 1.1 * SPACE { 0.9 } else { 0.5 }))
        .collect();
    let wide = rounded(&around, 0.62);
    [May::CrossLines, May::CrossCurves, May::CrossStrokes]
        .into_iter()
        .any(|may| ring(pen, &around, may) || hug(pen, &close, boxes, may) || hug(pen, &wide, &[], may))
}

/// A box without its corners: the smaller the power, the less is cut off.
fn rounded(around: &Rect, power: f64) -> Vec<(f64, f64)> {
    let middle = (around.x + around.w / 2.0, around.y + around.h / 2.0);
    let square = |part: f64| part.signum() * part.abs().powf(power);
    (0..24)
        .map(|step| {
            let (y, x) = (f64::from(step) * std::f64::consts::TAU / 24.0).sin_cos();
            (
                middle.0 + around.w / 2.0 * square(x),
                middle.1 + around.h / 2.0 * square(y),
            )
        })
        .collect()
}

/// How near the middle of a loop's line may come to what it goes round, in staff spaces: with 0.16 one loop in 4,000 came too near, and
/// some touched it.
const CLOSEST: f64 = 0.17;

/// Tries loops that keep close to these points.
fn hug(pen: &mut Pen, points: &[(f64, f64)], own: &[Rect], may: May) -> bool {
    for margin in [0.42, 0.36, 0.30, 0.25, 0.21, 0.18, CLOSEST] {
        for shift in [
            (0.0, 0.0),
            (0.04, 0.0),
            (-0.04, 0.0),
            (0.08, 0.0),
            (-0.08, 0.0),
            (0.0, 0.06),
            (0.0, -0.06),
        ] {
            if margin - f64::hypot(shift.0, shift.1) < CLOSEST - 1e-9 {
                continue;
            }
            let moved: Vec<(f64, f64)> = points
                .iter()
                .map(|(x, y)| (x + shift.0 * SPACE, y + shift.1 * SPACE))
                .collect();
            let mut sketch = Sketch::default();
            let mut hand = pen.hand.clone();
            glyphs::hugging(&mut sketch, &mut hand, &moved, margin * SPACE, LINE * SPACE, -0.9);
            if pen.field.fits_round(&sketch, may, own) {
                pen.keep(sketch);
                return true;
            }
        }
    }
    false
}

/// Down to the note, or up to it where that is nearer.
fn pointer(pen: &mut Pen, stop: &Stop) {
    let x = stop.rect.x + stop.rect.w / 2.0;
    let (top, low) = (
        stop.rect.y.min(pen.staff().y) - 0.3 * SPACE,
        stop.rect.bottom().max(pen.staff().bottom()) + 0.3 * SPACE,
    );
    let hand = pen.hand.clone();
    let drawn = |tip: f64, size: f64| {
        let mut sketch = Sketch::default();
        glyphs::pointer(&mut sketch, &mut hand.clone(), (x, tip), size);
        sketch
    };
    let (down, up) = (drawn(top, 1.3 * SPACE), drawn(low, -1.3 * SPACE));
    pen.off_either(&down, &up, 0.8, &NEAR);
}

/// What is written by a circled note: what it is fingered like.
fn note_text(pen: &mut Pen, stop: &Stop) {
    let x = stop.rect.x + stop.rect.w / 2.0;
    let ring = pen.bounds().unwrap_or(stop.rect);
    let text = pen.mark.text.clone();
    let sketch = letters::centred(&text, x, 0.0, 1.95 * SPACE, &mut pen.hand);
    let up = standing(sketch.clone(), ring.y - 0.15 * SPACE);
    let down = hanging(sketch, ring.bottom() + 0.15 * SPACE);
    pen.off_either(&up, &down, 0.6, &NEAR);
}

/// A courtesy accidental before its head where it touches nothing there, else over the note: in the staff it would be drawn into
/// its lines, and a sign that is half hidden is no help.
pub(super) fn courtesy(pen: &mut Pen) -> bool {
    let Some(stop) = pen.scene.stop(&pen.mark.from) else {
        return false;
    };
    let text = pen.mark.text.clone();
    let middle = stop.rect.y + stop.rect.h / 2.0;
    for size in [1.0, 0.85] {
        let half = glyphs::courtesy_half_width(&text) * size * SPACE;
        for gap in [0.2, 0.3, 0.12, 0.45] {
            let x = stop.left - gap * SPACE - half;
            let mut sketch = Sketch::default();
            let mut hand = pen.hand.clone();
            glyphs::courtesy(&mut sketch, &mut hand, &text, (x, middle), size * SPACE);
            if pen.put(sketch, May::TouchNothing) {
                return true;
            }
        }
    }
    let mut sketch = Sketch::default();
    let x = stop.rect.x + stop.rect.w / 2.0;
    glyphs::courtesy(&mut sketch, &mut pen.hand, &text, (x, 0.0), 0.78 * SPACE);
    let top = stop.rect.y.min(pen.staff().y) - 0.3 * SPACE;
    let low = stop.rect.bottom().max(pen.staff().bottom()) + 0.3 * SPACE;
    let (up, down) = (standing(sketch.clone(), top), hanging(sketch, low));
    pen.off_either(&up, &down, OTHER_SIDE, &NEAR);
    true
}

/// A comma over the staff after its note, before whatever comes next.
pub(super) fn breath(pen: &mut Pen) -> bool {
    let Some(stop) = pen.scene.stop(&pen.mark.from) else {
        return false;
    };
    let next = pen.scene.after(&stop);
    let gap = (next - stop.rect.right()).max(0.0);
    let (least, most) = (stop.rect.right() + 0.3 * SPACE, next - 0.35 * SPACE);
    let x = (stop.rect.right() + gap * 0.62).min(most).max(least);
    let mut sketch = Sketch::default();
    if pen.mark.sign == PencilSign::Breath {
        glyphs::comma(&mut sketch, &mut pen.hand, (x, 0.0), 1.35 * SPACE);
    } else {
        glyphs::light_comma(&mut sketch, &mut pen.hand, (x, 0.0), 1.25 * SPACE);
    }
    if !pen.mark.text.is_empty() {
        let text = pen.mark.text.clone();
        let from = x + 0.5 * SPACE;
        sketch.add(letters::written(
            &text,
            from,
            0.4 * SPACE,
            1.3 * SPACE,
            &mut pen.hand,
        ));
    }
    // Anywhere between its note and the next, nearer to the next.
    let steps = [0.0, -0.3, 0.3, -0.6, 0.6, -0.9, 0.9, -1.3, 1.3, -1.8, -2.4, -3.0];
    let inside = |aside: &f64| (least - 1.0..=most + 1.0).contains(&(x + aside * SPACE));
    let mut asides: Vec<f64> = steps.into_iter().filter(inside).collect();
    asides.extend(if asides.len() < 3 {
        vec![-0.2, 0.2]
    } else {
        Vec::new()
    });
    let sketch = standing(sketch, above(pen) + 0.1 * SPACE);
    pen.off(&sketch, Side::Above, &asides);
    true
}

pub(super) fn fingering(pen: &mut Pen) -> bool {
    let Some(stop) = pen.scene.stop(&pen.mark.from) else {
        return false;
    };
    let text = pen.mark.text.clone();
    let x = stop.rect.x + stop.rect.w / 2.0;
    let sketch = letters::centred(&text, x, 0.0, 1.7 * SPACE, &mut pen.hand);
    near(pen, sketch, &NEAR)
}

/// The drawing of a fingering over its note, five and a half staff spaces high unless that makes it too wide.
pub(super) fn diagram(pen: &mut Pen) -> bool {
    let Some(stop) = pen.scene.stop(&pen.mark.from) else {
        return false;
    };
    let Some(picture) = &pen.mark.picture else {
        return fingering(pen);
    };
    let (width, height) = (picture.width.max(1.0), picture.height.max(1.0));
    let scale = (5.5 * SPACE / height).min(6.0 * SPACE / width);
    let x = stop.rect.x + stop.rect.w / 2.0 - width * scale / 2.0;
    let mut sketch = Sketch::default();
    sketch.picture(&picture.svg, (x, 0.0), scale, (width, height));
    near(pen, sketch, &[0.0, -0.5, 0.5, -1.0, 1.0, -2.0, 2.0, -3.5, 3.5])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pencil::hand::Hand;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        /// The closest loop that is ever tried: round a head and, perhaps, a sign before it.
        #[test]
        fn a_loop_keeps_off_the_note_that_it_goes_round(
            seed in any::<u64>(),
            gap in 20.0f64..90.0,
            sign in proptest::option::of((100.0f64..200.0, 240.0f64..520.0)),
        ) {
            let head = Rect { x: 1000.0, y: 1000.0, w: 212.0, h: 180.0 };
            let mut points = rounded(&head, 0.9);
            let mut boxes = vec![rounded(&Rect { x: head.x + 4.0, y: head.y + 4.0, w: head.w - 8.0, h: head.h - 8.0 }, 0.9)];
            if let Some((w, h)) = sign {
                let sign = Rect { x: head.x - gap - w, y: head.y + 90.0 - h / 2.0, w, h };
                points.extend(rounded(&sign, 0.5));
                boxes.push(rounded(&sign, 0.5));
            }
            let mut sketch = Sketch::default();
            glyphs::hugging(&mut sketch, &mut Hand::new(seed), &points, CLOSEST * SPACE, LINE * SPACE, -0.9);
            for sample in sketch.samples() {
                for (x, y) in boxes.iter().flatten() {
                    let apart = (sample.x - x).hypot(sample.y - y) - sample.half;
                    prop_assert!(apart > 1.0, "{apart} at {x}, {y}");
                }
            }
        }
    }
}

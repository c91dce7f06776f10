//! Where does each sign belong? One function a sign: what is tried first, and what instead.

use super::field::May;
use super::glyphs::{self, LINE};
use super::letters;
use super::pen::{Pen, Side};
use super::scene::Stop;
use super::sketch::Sketch;
use job::{Rect, STAFF_SPACE as SPACE};
use notation::{BarIndex, PencilSign};

/// A little to either side, in staff spaces.
const NEAR: [f64; 7] = [0.0, -0.25, 0.25, -0.5, 0.5, -0.8, 0.8];
/// Farther to either side: for signs that mean a stretch, not a note.
const WIDE: [f64; 9] = [0.0, -0.5, 0.5, -1.0, 1.0, -1.8, 1.8, -2.8, -4.0];
/// The line of brackets and strokes, beside a staff space: seen from afar, and never taken for a bar line.
const BRACKET: f64 = 0.23;
/// Clear paper between the staff and a mark outside of it, in staff spaces.
const OFF_STAFF: f64 = 0.4;

/// How much farther a mark may stand above the staff than below it before it goes below, in staff spaces.
const OTHER_SIDE: f64 = 2.5;

/// Draws the pen's mark. False if nothing of it belongs in this system.
pub(super) fn draw(pen: &mut Pen) -> bool {
    match pen.mark.sign {
        PencilSign::SpotBracket => brackets(pen),
        PencilSign::RepeatHook => hooks(pen),
        PencilSign::Circle => circle(pen),
        PencilSign::Eyeglasses => eyeglasses(pen),
        PencilSign::BeatStrokes => strokes(pen),
        PencilSign::Counts => counts(pen),
        PencilSign::Courtesy => courtesy(pen),
        PencilSign::Breath | PencilSign::SlowBreath => breath(pen),
        PencilSign::Fingering => fingering(pen),
        PencilSign::FingeringDiagram => diagram(pen),
        PencilSign::JumpArrow => arrow(pen),
        PencilSign::LookAlike => letter(pen),
        PencilSign::Words => words(pen),
    }
}

/// The line above the staff on which marks like to stand.
fn above(pen: &Pen) -> f64 {
    pen.staff().y - OFF_STAFF * SPACE
}

fn below(pen: &Pen) -> f64 {
    pen.staff().bottom() + OFF_STAFF * SPACE
}

/// The same sketch with its lower edge, or its upper one, at a height.
fn standing(sketch: Sketch, bottom: f64) -> Sketch {
    let shift = sketch.bounds().map_or(0.0, |ink| bottom - ink.bottom());
    sketch.moved(0.0, shift)
}

fn hanging(sketch: Sketch, top: f64) -> Sketch {
    let shift = sketch.bounds().map_or(0.0, |ink| top - ink.y);
    sketch.moved(0.0, shift)
}

/// A sign near a place, above the staff or where there is more room below it.
fn near(pen: &mut Pen, sketch: Sketch, asides: &[f64]) -> bool {
    let (up, down) = (standing(sketch.clone(), above(pen)), hanging(sketch, below(pen)));
    pen.off_either(&up, &down, OTHER_SIDE, asides);
    true
}

/// A circle round the head and its accidental; where there is no room for one, a small arrow down to it.
fn circle(pen: &mut Pen) -> bool {
    let Some(stop) = pen.scene.stop(&pen.mark.from) else {
        return false;
    };
    let around = pen.scene.with_accidental(&stop);
    // A slur or a beam may be crossed rather than the note be left without its circle.
    if !ring(pen, &around, May::CrossLines) && !ring(pen, &around, May::CrossCurves) {
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

/// A courtesy accidental before its head where there is room, else over the note.
fn courtesy(pen: &mut Pen) -> bool {
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
            if pen.put(sketch, May::CrossLines) {
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

/// Square brackets through the staff before and after a spot, where the staff is empty.
fn brackets(pen: &mut Pen) -> bool {
    let (from, to) = (pen.mark.from.place.bar, pen.mark.end().place.bar);
    let mut belongs = false;
    if let Some(bar) = pen.scene.bar(from) {
        belongs = true;
        let music = pen.scene.music_from(from).unwrap_or(bar.x + 2.0 * SPACE);
        // Just after the bar line, or after the signs at the start of a line: as near as its first note allows.
        let ideal = if pen.scene.is_first(from) {
            music - 0.75 * SPACE
        } else {
            bar.x + 0.32 * SPACE
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
/// out are both worse, the nearest to what is liked best is taken.
fn bracket(pen: &mut Pen, ideal: f64, (least, most): (f64, f64), way: f64) {
    const REACHES: [f64; 5] = [1.0, 1.4, 1.9, 2.5, 3.1];
    const ARMS: [(f64, f64); 2] = [(0.9, 0.0), (0.5, 0.25)];
    let staff = pen.staff();
    let cell = pen.field.cell();
    let mut tries: Vec<(f64, f64, f64, f64, f64)> = Vec::new();
    for step in -40..=40 {
        let aside = f64::from(step) * cell;
        if !(least..=most).contains(&(ideal + aside)) {
            continue;
        }
        for up in REACHES {
            for down in REACHES {
                for (arm, worse) in ARMS {
                    let off = aside.abs() / SPACE + 0.55 * (up + down - 2.0) + worse;
                    tries.push((off, ideal + aside, up, down, arm));
                }
            }
        }
    }
    tries.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (_, x, up, down, arm) in tries {
        let span = (staff.y - up * SPACE, staff.bottom() + down * SPACE);
        // A look at the long stroke's way first: drawing takes longer.
        let thin = Rect {
            x: x - 0.35 * BRACKET * SPACE,
            y: span.0,
            w: 0.7 * BRACKET * SPACE,
            h: span.1 - span.0,
        };
        if !pen.field.is_clear(&thin, May::CrossLines) {
            continue;
        }
        let sketch = square(pen, x, span, way * arm * SPACE);
        if pen.put(sketch, May::CrossLines) {
            return;
        }
    }
    // No clear column: a corner over the staff.
    let mut sketch = Sketch::default();
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
fn hooks(pen: &mut Pen) -> bool {
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
fn eyeglasses(pen: &mut Pen) -> bool {
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

/// Strokes over the beats, on one line where the notes let them.
fn strokes(pen: &mut Pen) -> bool {
    let places = pen.mark.at.clone();
    let foot = above(pen);
    let mut all = Vec::new();
    for (place, _) in &places {
        let Some(x) = pen.scene.x_of(*place) else { continue };
        let lean = 0.2 * SPACE + pen.hand.about(0.04 * SPACE);
        let mut stroke = Sketch::default();
        let points = [(x + lean, foot - 1.45 * SPACE), (x - 0.05 * SPACE, foot)];
        stroke.line(&mut pen.hand, &points, BRACKET * SPACE, 0.3);
        all.push(stroke);
    }
    if all.is_empty() {
        return false;
    }
    let mut together = Sketch::default();
    for stroke in &all {
        together.add(stroke.clone());
    }
    match pen.way_off(&together, Side::Above, &[0.0, 0.12, -0.12]) {
        Some((distance, dx, dy)) if distance < 3.0 * SPACE => pen.keep(together.moved(dx, dy)),
        _ => {
            for stroke in all {
                pen.off(&stroke, Side::Above, &[0.0, 0.2, -0.2]);
            }
        }
    }
    true
}

/// The words of a count on one line under everything that stands below the bar, each centred under its note.
fn counts(pen: &mut Pen) -> bool {
    let words: Vec<(f64, String)> = pen
        .mark
        .at
        .iter()
        .filter_map(|(place, word)| Some((pen.scene.x_of(*place)?, word.clone())))
        .collect();
    let (Some(first), Some(last)) = (words.first(), words.last()) else {
        return false;
    };
    let (left, right) = (first.0 - SPACE, last.0 + SPACE);
    let top = pen.field.lowest(left, right, pen.staff().bottom()) + 0.35 * SPACE;
    let (words, size) = fitted(words);
    let mut sketch = Sketch::default();
    for (x, word) in &words {
        sketch.add(letters::centred(word, *x, 0.0, size, &mut pen.hand));
    }
    pen.off(&hanging(sketch, top), Side::Below, &[0.0]);
    true
}

/// The size at which words don't run into each other; what is only held or rested falls away before they become small.
fn fitted(mut words: Vec<(f64, String)>) -> (Vec<(f64, String)>, f64) {
    const SIZES: [&[f64]; 2] = [&[2.2, 2.0], &[2.2, 2.0, 1.8, 1.6]];
    const LEAST: f64 = 1.5;
    let fits = |words: &[(f64, String)], size: f64| {
        words.windows(2).all(|pair| {
            let halves = (letters::width(&pair[0].1, size) + letters::width(&pair[1].1, size)) / 2.0;
            pair[0].0 + halves + 0.22 * SPACE <= pair[1].0
        })
    };
    for (sizes, all) in SIZES.into_iter().zip([true, false]) {
        if !all {
            words.retain(|(_, word)| !word.starts_with(['(', '[']));
        }
        if let Some(size) = sizes.iter().find(|size| fits(&words, **size * SPACE)) {
            return (words, size * SPACE);
        }
    }
    (words, LEAST * SPACE)
}

/// A comma over the staff after its note, before whatever comes next.
fn breath(pen: &mut Pen) -> bool {
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

fn fingering(pen: &mut Pen) -> bool {
    let Some(stop) = pen.scene.stop(&pen.mark.from) else {
        return false;
    };
    let text = pen.mark.text.clone();
    let x = stop.rect.x + stop.rect.w / 2.0;
    let sketch = letters::centred(&text, x, 0.0, 1.7 * SPACE, &mut pen.hand);
    near(pen, sketch, &NEAR)
}

/// The drawing of a fingering over its note, five and a half staff spaces high unless that makes it too wide.
fn diagram(pen: &mut Pen) -> bool {
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

/// An arrow at the end of a bar, with the bar that it goes to.
fn arrow(pen: &mut Pen) -> bool {
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

fn letter(pen: &mut Pen) -> bool {
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

fn words(pen: &mut Pen) -> bool {
    let Some(x) = pen.scene.x_of(pen.mark.from.place) else {
        return false;
    };
    let text: String = pen.mark.text.chars().take(LONGEST).collect();
    let sketch = letters::written(&text, x - 0.5 * SPACE, 0.0, 1.6 * SPACE, &mut pen.hand);
    near(pen, sketch, &WIDE)
}

//! Where do strokes and counts belong? On one line over the staff, on one line under everything.

use super::{BRACKET, above, hanging};
use crate::pencil::letters;
use crate::pencil::pen::{Pen, Side};
use crate::pencil::sketch::Sketch;
use job::STAFF_SPACE as SPACE;

/// Strokes over the beats, on one line where the notes let them.
pub(super) fn strokes(pen: &mut Pen) -> bool {
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
pub(super) fn counts(pen: &mut Pen) -> bool {
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

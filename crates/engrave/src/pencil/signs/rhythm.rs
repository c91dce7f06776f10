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
    let (rows, size) = fitted(words);
    let mut sketch = Sketch::default();
    for (row, words) in (0_u8..).zip(&rows) {
        for (x, word) in words {
            let y = f64::from(row) * 1.05 * size;
            sketch.add(letters::centred(word, *x, y, size, &mut pen.hand));
        }
    }
    pen.off(&hanging(sketch, top), Side::Below, &[0.0]);
    true
}

type Words = Vec<(f64, String)>;

/// The words in one row, or what is only held or rested in a row below, and the size at which none runs into the next. Where
/// even that is too close, only the beats are said.
fn fitted(words: Words) -> (Vec<Words>, f64) {
    const SIZES: [f64; 4] = [2.2, 2.0, 1.8, 1.6];
    const LEAST: f64 = 1.4;
    let apart = |words: &Words, size: f64| {
        words.windows(2).all(|pair| {
            let halves = (letters::width(&pair[0].1, size) + letters::width(&pair[1].1, size)) / 2.0;
            pair[0].0 + halves + 0.22 * SPACE <= pair[1].0
        })
    };
    let fits = |rows: &[Words]| {
        let sizes = SIZES.into_iter().chain([LEAST]).map(|size| size * SPACE);
        sizes
            .into_iter()
            .find(|size| rows.iter().all(|row| apart(row, *size)))
    };
    let silent = |word: &(f64, String)| word.1.starts_with(['(', '[']);
    let one = vec![words];
    if let Some(size) = fits(&one).filter(|size| *size > LEAST * SPACE) {
        return (one, size);
    }
    let (below, above): (Words, Words) = one.into_iter().flatten().partition(silent);
    let two = vec![above, below];
    if let Some(size) = fits(&two) {
        return (two, size);
    }
    let on_beat = |(_, word): &(f64, String)| {
        word.trim_start_matches(['(', '['])
            .starts_with(|c: char| c.is_ascii_digit())
    };
    let mut beats: Words = two.into_iter().flatten().filter(on_beat).collect();
    beats.sort_by(|a, b| a.0.total_cmp(&b.0));
    let beats = vec![beats];
    let size = fits(&beats).unwrap_or(LEAST * SPACE);
    (beats, size)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(gap: f64, text: &str) -> Words {
        text.split(' ')
            .zip(0_u8..)
            .map(|(word, at)| (f64::from(at) * gap, word.to_owned()))
            .collect()
    }

    #[test]
    fn a_roomy_count_stands_in_one_row_a_close_one_in_two_and_the_closest_says_the_beats() {
        let count = "(1) & (2) & (3) & 4 &";
        assert_eq!(fitted(words(600.0, count)).0.len(), 1);
        let (rows, _) = fitted(words(250.0, count));
        let of = |row: &Words| {
            row.iter()
                .map(|(_, word)| word.clone())
                .collect::<Vec<_>>()
                .join(" ")
        };
        assert_eq!(
            rows.iter().map(of).collect::<Vec<_>>(),
            ["& & & 4 &", "(1) (2) (3)"]
        );
        let (rows, _) = fitted(words(120.0, "1 e & a 2 e & a"));
        assert_eq!(rows.iter().map(of).collect::<Vec<_>>(), ["1 2"]);
    }
}

//! How wide are pencilled letters, and where is their ink? Read from the font itself; accidentals are drawn, not set.

use super::glyphs;
use super::hand::Hand;
use super::sketch::{Letters, Sketch};
use job::Rect;
use std::sync::OnceLock;
use ttf_parser::Face;

/// The line's width of an accidental among letters, beside the letters' size.
const ACCIDENTAL_LINE: f64 = 0.07;
/// Height of a staff space that an accidental among letters is drawn for, beside the letters' size.
const ACCIDENTAL_SPACE: f64 = 0.36;
/// Room that an accidental takes among letters, beside the letters' size.
const ACCIDENTAL_WIDTH: f64 = 0.36;

fn face() -> Option<&'static Face<'static>> {
    static FACE: OnceLock<Option<Face<'static>>> = OnceLock::new();
    FACE.get_or_init(|| Face::parse(fonts::HAND.bytes, 0).ok())
        .as_ref()
}

/// A letter's advance and ink box (relative to its origin on the line, y downwards), both for a size of 1.
fn measure(letter: char) -> (f64, Option<Rect>) {
    let Some(face) = face() else { return (0.6, None) };
    let units = f64::from(face.units_per_em());
    let Some(glyph) = face.glyph_index(letter) else {
        return (0.6, None);
    };
    let advance = face
        .glyph_hor_advance(glyph)
        .map_or(0.6, |advance| f64::from(advance) / units);
    let ink = face.glyph_bounding_box(glyph).map(|ink| Rect {
        x: f64::from(ink.x_min) / units,
        y: -f64::from(ink.y_max) / units,
        w: f64::from(i32::from(ink.x_max) - i32::from(ink.x_min)) / units,
        h: f64::from(i32::from(ink.y_max) - i32::from(ink.y_min)) / units,
    });
    (advance, ink)
}

fn is_accidental(letter: char) -> bool {
    matches!(letter, '♯' | '♭' | '♮' | '𝄪')
}

fn advance(letter: char) -> f64 {
    match letter {
        letter if is_accidental(letter) => ACCIDENTAL_WIDTH,
        '′' => 0.28,
        letter => measure(plain(letter)).0,
    }
}

/// Letters that the font lacks as their plain kin.
fn plain(letter: char) -> char {
    let known = face().is_some_and(|face| face.glyph_index(letter).is_some());
    match letter {
        _ if known => letter,
        '–' | '—' | '‑' => '-',
        '“' | '”' => '"',
        '‘' | '’' => '\'',
        _ => '?',
    }
}

/// The width of words at a size.
pub(super) fn width(text: &str, size: f64) -> f64 {
    text.chars().map(|letter| advance(letter) * size).sum()
}

/// Words with their middle at `x`, standing on the line `y`.
pub(super) fn centred(text: &str, x: f64, y: f64, size: f64, hand: &mut Hand) -> Sketch {
    written(text, x - width(text, size) / 2.0, y, size, hand)
}

/// Words beginning at `x`, standing on the line `y`.
pub(super) fn written(text: &str, x: f64, y: f64, size: f64, hand: &mut Hand) -> Sketch {
    let mut sketch = Sketch::default();
    let mut letters = Letters {
        size,
        y,
        ..Letters::default()
    };
    let mut at = x;
    for letter in text.chars() {
        if is_accidental(letter) {
            let space = ACCIDENTAL_SPACE * size;
            let middle = (at + ACCIDENTAL_WIDTH * size / 2.0, y - 0.36 * size);
            glyphs::accidental(&mut sketch, hand, letter, middle, space, ACCIDENTAL_LINE * size);
        } else if letter == '′' {
            let points = [
                (at + 0.2 * size, y - 0.78 * size),
                (at + 0.08 * size, y - 0.48 * size),
            ];
            sketch.line(hand, &points, 0.09 * size, 0.3);
        } else {
            let letter = plain(letter);
            let (_, ink) = measure(letter);
            let ink = ink.map(|ink| Rect {
                x: at + ink.x * size,
                y: y + ink.y * size,
                w: ink.w * size,
                h: ink.h * size,
            });
            letters.glyphs.push((letter, at, ink));
        }
        at += advance(letter) * size;
    }
    sketch.write(letters);
    sketch
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_of_a_count_is_in_the_font() {
        for letter in "0123456789&()[]=+-,.abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ".chars() {
            assert_eq!(plain(letter), letter);
            assert!(measure(letter).0 > 0.1, "{letter}");
        }
    }

    #[test]
    fn the_ink_of_centred_words_lies_about_the_middle() {
        let sketch = centred("1 & 2", 1000.0, 500.0, 300.0, &mut Hand::new(1));
        let ink = sketch.bounds().expect("ink");
        assert!((ink.x + ink.w / 2.0 - 1000.0).abs() < 40.0, "{ink:?}");
        assert!(ink.y > 200.0 && ink.bottom() < 560.0, "{ink:?}");
    }
}

//! How does a sign look by itself? For the block of a legend.

use super::glyphs;
use super::hand::Hand;
use super::letters;
use super::sketch::Sketch;
use super::small_notes;
use job::STAFF_SPACE as SPACE;
use notation::{NoteValue, Pencil, PencilSign, SmallNote, Written};

/// A sign by itself.
#[derive(Clone, PartialEq, Debug)]
pub struct Sample {
    /// An SVG fragment with its upper left corner at 0, 0.
    pub svg: String,
    /// Width, in the engraver's units.
    pub width: f64,
    /// Height, in the engraver's units.
    pub height: f64,
}

/// The sign as it is drawn on a part; without one a short stroke, which shows a pencil's colour.
#[must_use]
pub fn sample(sign: Option<PencilSign>, pencil: Pencil) -> Sample {
    let sketch = drawn(sign);
    let bounds = sketch.bounds().unwrap_or_default();
    Sample {
        svg: format!(
            "<g class=\"{}\">{}</g>",
            class(sign, pencil),
            sketch.moved(-bounds.x, -bounds.y).svg()
        ),
        width: bounds.w,
        height: bounds.h,
    }
}

/// The classes of a sign by itself.
pub(super) fn class(sign: Option<PencilSign>, pencil: Pencil) -> String {
    let sign = sign.map_or_else(|| "mark-pencil".to_owned(), PencilSign::class);
    let pencil = match pencil {
        Pencil::Graphite => "graphite",
        Pencil::First => "first",
        Pencil::Second => "second",
    };
    format!("mark {sign} pencil-{pencil}")
}

/// The sign, about anywhere.
pub(super) fn drawn(sign: Option<PencilSign>) -> Sketch {
    let mut hand = Hand::new(11);
    let mut sketch = Sketch::default();
    let width = glyphs::LINE * SPACE;
    let hand = &mut hand;
    match sign {
        Some(PencilSign::SpotBracket) => {
            for (x, way) in [(0.0, 1.0), (2.6 * SPACE, -1.0)] {
                for line in [
                    [(x, -1.2 * SPACE), (x, 1.2 * SPACE)],
                    [(x, -1.2 * SPACE), (x + way * 0.6 * SPACE, -1.2 * SPACE)],
                    [(x, 1.2 * SPACE), (x + way * 0.6 * SPACE, 1.2 * SPACE)],
                ] {
                    sketch.line(hand, &line, width, 0.0);
                }
            }
        }
        Some(PencilSign::RepeatHook) => {
            glyphs::hook(&mut sketch, hand, (0.0, 0.0), SPACE, false);
            glyphs::hook(&mut sketch, hand, (3.2 * SPACE, 0.0), SPACE, true);
        }
        Some(PencilSign::Circle) => {
            glyphs::ring(
                &mut sketch,
                hand,
                (0.0, 0.0),
                (0.95 * SPACE, 0.85 * SPACE),
                width,
                -1.0,
            );
        }
        Some(PencilSign::Eyeglasses) => glyphs::eyeglasses(&mut sketch, hand, (0.0, 0.0), SPACE),
        Some(PencilSign::BeatStrokes) => {
            for beat in 0..3 {
                let x = f64::from(beat) * 1.1 * SPACE;
                sketch.line(hand, &[(x + 0.1 * SPACE, -SPACE), (x, 0.0)], width * 1.1, 0.3);
            }
        }
        Some(PencilSign::Counts) => sketch.add(letters::written("1 & 2", 0.0, 0.0, 1.9 * SPACE, hand)),
        Some(PencilSign::Courtesy) => glyphs::courtesy(&mut sketch, hand, "♯", (0.0, 0.0), SPACE * 0.95),
        Some(PencilSign::Breath) => glyphs::comma(&mut sketch, hand, (0.0, 0.0), SPACE),
        Some(PencilSign::SlowBreath) => glyphs::light_comma(&mut sketch, hand, (0.0, 0.0), SPACE),
        Some(PencilSign::Fingering) => sketch.add(letters::written("1-2", 0.0, 0.0, 1.8 * SPACE, hand)),
        Some(PencilSign::FingeringDiagram) => {
            for hole in 0..3 {
                let middle = (f64::from(hole) * 0.9 * SPACE, 0.0);
                glyphs::ring(&mut sketch, hand, middle, (0.3 * SPACE, 0.3 * SPACE), width, -1.0);
            }
            sketch.line(
                hand,
                &[(-0.05 * SPACE, 0.0), (0.05 * SPACE, 0.0)],
                0.5 * SPACE,
                0.0,
            );
        }
        Some(PencilSign::JumpArrow) => glyphs::arrow(&mut sketch, hand, (0.0, 0.0), SPACE, false),
        Some(PencilSign::LookAlike) => sketch.add(letters::written("a  a′", 0.0, 0.0, 1.9 * SPACE, hand)),
        Some(PencilSign::Words) => sketch.add(letters::written("abc", 0.0, 0.0, 1.7 * SPACE, hand)),
        Some(PencilSign::SmallNotes) => {
            let eighth = |position| SmallNote::Note {
                position,
                accidental: None,
                values: vec![Written {
                    value: NoteValue::Eighth,
                    dots: 0,
                    tuplets: Vec::new(),
                }],
            };
            let notes = [eighth(5), eighth(4), eighth(3), eighth(4)];
            sketch.add(small_notes::drawn(&notes, 0.4 * SPACE, hand));
        }
        None => sketch.line(
            hand,
            &[(0.0, 0.0), (1.0 * SPACE, -0.2 * SPACE), (2.2 * SPACE, 0.0)],
            2.0 * width,
            0.2,
        ),
    }
    sketch
}

//! How is a fingering drawn? Two hands' holes with the keys pressed beside them, valves in a row, a slide with its place.
//!
//! Our own design: a teacher's pencil beside the note. A filled hole is covered, a half-filled one half covered, an
//! empty one open; a named frame is a key pressed, joined by a stroke to the finger that reaches for it.

mod pencil;
mod woodwind;

use super::chart::{Fingering, Layout, Position};
use super::hand::Digit;
use super::words::fingering_words;
use pencil::{Cover, Drawing, Stands};

/// The fingering as an SVG picture of its own, with a title in words for a screen reader.
#[must_use]
pub fn diagram(fingering: &Fingering) -> String {
    let drawing = match (fingering.layout, fingering.position) {
        (Layout::Slide, Some(position)) => slide(position),
        (Layout::Valves(count), _) => valves(fingering, count),
        _ => woodwind::hands(fingering),
    };
    let name = &fingering.name;
    let words = fingering_words(fingering);
    let named = !matches!(name.as_ref(), "plain" | "") && fingering.harmonic.is_none();
    let title = if named { format!("{name}: {words}") } else { words };
    drawing.finish(&title)
}

const VALVES: [(Digit, &str); 4] = [
    (Digit::R1, "1"),
    (Digit::R2, "2"),
    (Digit::R3, "3"),
    (Digit::R4, "4"),
];

/// Valves in a row as the hand has them, pressed ones filled; the horn's thumb before them.
fn valves(fingering: &Fingering, count: u8) -> Drawing {
    let horn = fingering.chart == "horn";
    let start = if horn { 330 } else { 110 };
    let width = start + 220 * i32::from(count) - 110;
    let mut drawing = Drawing::new(width, 350);
    if horn {
        let thumb = !fingering.state.of(Digit::LT).is_empty();
        drawing.text(110, 330, 100, if thumb { "B♭" } else { "F" });
        if thumb {
            drawing.key(110, 120, "T", Stands::On, false);
        } else {
            drawing.line((80, 120), (140, 120));
        }
    }
    for ((digit, number), place) in VALVES.into_iter().take(usize::from(count)).zip(0..) {
        let x = start + 220 * place;
        let cover = if fingering.state.of(digit).is_empty() {
            Cover::Open
        } else {
            Cover::Closed
        };
        drawing.hole(x, 120, 80, cover);
        drawing.text(x, 330, 100, number);
    }
    drawing
}

/// The slide from first position (left) to seventh, a filled mark where it stands.
fn slide(position: Position) -> Drawing {
    let start = if position.trigger { 330 } else { 110 };
    let at = |tenths: i32| start + (tenths - 10) * 13;
    let mut drawing = Drawing::new(at(75) + 100, 350);
    if position.trigger {
        drawing.key(110, 130, "T", Stands::On, false);
    }
    drawing.line((at(10), 130), (at(70), 130));
    for tick in 1..=7 {
        drawing.line((at(10 * tick), 90), (at(10 * tick), 170));
    }
    let x = at(i32::from(position.tenths));
    drawing.hole(x, 130, 60, Cover::Closed);
    let nearest = i32::from(position.tenths / 10);
    let beyond = if position.tenths.is_multiple_of(10) {
        ""
    } else {
        "+"
    };
    drawing.text(x, 330, 130, &format!("{nearest}{beyond}"));
    drawing
}

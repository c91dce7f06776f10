//! How are two hands drawn? The holes of both in a column, thumbs and palm on the left, side and little-finger keys on the
//! right and below.

use super::pencil::{Cover, Drawing, Stands};
use crate::fingering::chart::Fingering;
use crate::fingering::hand::{Digit, Keys};

const WIDTH: i32 = 1290;
const HEIGHT: i32 = 1590;
const COLUMN: i32 = 680;
const RADIUS: i32 = 80;
/// Where frames on the left end and those on the right begin.
const LEFT: i32 = 540;
const RIGHT: i32 = 830;
/// Where the thumb's own hole is.
const THUMB: i32 = 460;
/// The fingers with a hole in the column, from the top.
const HOLES: [(Digit, i32); 6] = [
    (Digit::L1, 150),
    (Digit::L2, 370),
    (Digit::L3, 590),
    (Digit::R1, 870),
    (Digit::R2, 1090),
    (Digit::R3, 1310),
];
const BETWEEN_HANDS: i32 = 730;
const KEY_STEP: i32 = 165;

/// The drawing of a woodwind fingering.
pub(super) fn hands(fingering: &Fingering) -> Drawing {
    let recorder = fingering.chart == "recorder";
    let mut drawing = Drawing::new(WIDTH, if recorder { HEIGHT + 50 } else { HEIGHT });
    drawing.line((COLUMN - 110, BETWEEN_HANDS), (COLUMN + 110, BETWEEN_HANDS));
    for (digit, y) in HOLES {
        finger(&mut drawing, fingering, digit, y);
    }
    thumb(&mut drawing, fingering);
    stack(&mut drawing, fingering, Digit::LP, Stands::Before, 370);
    stack(&mut drawing, fingering, Digit::RT, Stands::Before, 870);
    stack(&mut drawing, fingering, Digit::L4, Stands::After, BETWEEN_HANDS);
    stack(&mut drawing, fingering, Digit::RP, Stands::After, 920);
    if recorder {
        drawing.hole(COLUMN, 1530, RADIUS, cover(fingering.state.of(Digit::R4)));
    } else {
        little(&mut drawing, fingering);
    }
    drawing
}

fn cover(keys: Keys) -> Cover {
    if keys.contains(Keys::HALF) {
        Cover::Half
    } else if keys.contains(Keys::HOME) {
        Cover::Closed
    } else {
        Cover::Open
    }
}

/// A hole of the column, and the other key that its finger presses, joined by a stroke.
fn finger(drawing: &mut Drawing, fingering: &Fingering, digit: Digit, y: i32) {
    let keys = fingering.state.of(digit);
    drawing.hole(COLUMN, y, RADIUS, cover(keys));
    let others = keys.without(Keys::HOME).without(Keys::HALF);
    for (name, place) in others.names().zip(0..) {
        let y = y + KEY_STEP * place;
        drawing.line((COLUMN + RADIUS, y), (RIGHT, y));
        drawing.key(RIGHT, y, &label(fingering, digit, name), Stands::After, false);
    }
}

/// The left thumb: its hole, where the instrument has one, and its keys.
fn thumb(drawing: &mut Drawing, fingering: &Fingering) {
    let keys = fingering.state.of(Digit::LT);
    let mut y = 150;
    if matches!(fingering.chart, "flute" | "clarinet" | "recorder") {
        drawing.hole(THUMB, y, 60, cover(keys));
        y += KEY_STEP;
    }
    for name in keys.without(Keys::HOME).without(Keys::HALF).names() {
        drawing.key(LEFT, y, &label(fingering, Digit::LT, name), Stands::Before, false);
        y += KEY_STEP - 10;
    }
    if !fingering.flick.is_empty() {
        let flick = format!("flick {}", fingering.flick.replace(" or ", "/"));
        drawing.key(LEFT, y, &flick, Stands::Before, true);
    }
}

/// The keys of a thumb, palm, side or little finger, one under the other.
fn stack(drawing: &mut Drawing, fingering: &Fingering, digit: Digit, stands: Stands, top: i32) {
    let x = if stands == Stands::Before { LEFT } else { RIGHT };
    for (name, place) in fingering.state.of(digit).names().zip(0..) {
        drawing.key(
            x,
            top + KEY_STEP * place,
            &label(fingering, digit, name),
            stands,
            false,
        );
    }
}

/// The right little finger, below its hand; a key that may be added is dashed.
fn little(drawing: &mut Drawing, fingering: &Fingering) {
    let y = 1490;
    for name in fingering.state.of(Digit::R4).names() {
        drawing.key(COLUMN, y, &label(fingering, Digit::R4, name), Stands::On, false);
    }
    if let Some((Digit::R4, keys)) = fingering.optional
        && fingering.state.of(Digit::R4).is_empty()
    {
        for name in keys.names() {
            drawing.key(COLUMN, y, &label(fingering, Digit::R4, name), Stands::On, true);
        }
    }
}

/// A key's short name on paper; on the saxophone, whose keys repeat names, with where it is.
fn label(fingering: &Fingering, digit: Digit, key: &str) -> String {
    let place = match (fingering.chart, digit) {
        ("saxophone", Digit::LP) => "palm ",
        ("saxophone", Digit::RP) => "side ",
        ("saxophone", Digit::L4 | Digit::R4) if !matches!(key, "G#" | "Eb") => "low ",
        _ => "",
    };
    match key {
        "O" => "8va".to_owned(),
        "O1" => "8va 1".to_owned(),
        "O2" => "8va 2".to_owned(),
        "lev" => "lever".to_owned(),
        "slEb" => "sliver".to_owned(),
        "slBF#" | "f#" => "fork".to_owned(),
        "fF" => "front".to_owned(),
        "hF#" => "high F♯".to_owned(),
        "s1" | "s2" | "s3" | "s4" => format!("side {}", key.trim_start_matches('s')),
        "bis" | "o" => key.to_owned(),
        low if low.len() > 1 && low.starts_with('l') => format!("low {}", signs(&low[1..])),
        other => format!("{place}{}", signs(other)),
    }
}

fn signs(name: &str) -> String {
    name.replace('#', "♯")
        .replace("Ab", "A♭")
        .replace("Bb", "B♭")
        .replace("Eb", "E♭")
}

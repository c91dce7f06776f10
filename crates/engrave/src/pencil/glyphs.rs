//! What shapes have the signs? Each drawn with a few lines of a hand, about a middle, for a staff space of such a size.

use super::hand::Hand;
use super::sketch::Sketch;

/// The usual line of a pencil, beside a staff space.
pub(super) const LINE: f64 = 0.17;

type Point = (f64, f64);

/// Points given in staff spaces about a middle.
fn about(middle: Point, space: f64, points: &[Point]) -> Vec<Point> {
    points
        .iter()
        .map(|(x, y)| (middle.0 + x * space, middle.1 + y * space))
        .collect()
}

/// An accidental with its middle on the line or space of its note.
pub(super) fn accidental(
    sketch: &mut Sketch,
    hand: &mut Hand,
    sign: char,
    middle: Point,
    space: f64,
    width: f64,
) {
    let lines: &[(&[Point], f64)] = match sign {
        '♯' => &[
            (&[(-0.17, -0.98), (-0.19, 1.12)], 0.8),
            (&[(0.19, -1.12), (0.17, 0.98)], 0.8),
            (&[(-0.42, -0.22), (0.42, -0.46)], 1.35),
            (&[(-0.42, 0.46), (0.42, 0.22)], 1.35),
        ],
        '♭' => &[
            (&[(-0.27, -1.55), (-0.26, 0.55)], 0.85),
            (
                &[
                    (-0.26, -0.12),
                    (0.04, -0.42),
                    (0.32, -0.22),
                    (0.2, 0.18),
                    (-0.26, 0.62),
                ],
                1.1,
            ),
        ],
        '♮' => &[
            (&[(-0.24, -1.25), (-0.26, 0.48)], 0.85),
            (&[(0.25, -0.5), (0.23, 1.25)], 0.85),
            (&[(-0.25, -0.3), (0.26, -0.5)], 1.3),
            (&[(-0.25, 0.5), (0.26, 0.3)], 1.3),
        ],
        '𝄪' => &[
            (&[(-0.36, -0.36), (0.36, 0.36)], 1.25),
            (&[(0.36, -0.36), (-0.36, 0.36)], 1.25),
        ],
        _ => &[],
    };
    for (points, thick) in lines {
        sketch.line(hand, &about(middle, space, points), width * thick, 0.08);
    }
}

/// How wide an accidental is, in staff spaces.
pub(super) fn accidental_width(text: &str) -> f64 {
    let one = |sign: char| match sign {
        '♯' => 0.9,
        '♭' => 0.68,
        '♮' => 0.62,
        _ => 0.84,
    };
    text.chars().map(one).sum()
}

/// One or two accidentals in parentheses about a middle.
pub(super) fn courtesy(sketch: &mut Sketch, hand: &mut Hand, text: &str, middle: Point, space: f64) {
    let width = LINE * space;
    let inside = accidental_width(text);
    let mut x = -inside / 2.0;
    for sign in text.chars() {
        let wide = accidental_width(&sign.to_string());
        // A flat's belly hangs to the right of its stem: its ink's middle is a little left of its own.
        let at = (middle.0 + (x + wide / 2.0) * space, middle.1);
        accidental(sketch, hand, sign, at, space * 0.9, width * 0.95);
        x += wide;
    }
    for way in [-1.0, 1.0] {
        let edge = way * (inside / 2.0 + 0.14);
        let points = [
            (edge, -1.12),
            (edge + way * 0.24, -0.45),
            (edge + way * 0.24, 0.45),
            (edge, 1.12),
        ];
        sketch.line(hand, &about(middle, space, &points), width * 0.85, 0.15);
    }
}

/// Half the width of a courtesy in parentheses, in staff spaces.
pub(super) fn courtesy_half_width(text: &str) -> f64 {
    accidental_width(text) / 2.0 + 0.14 + 0.24 + LINE / 2.0
}

/// Eyeglasses about a middle: 3.2 staff spaces wide, 1.2 high.
pub(super) fn eyeglasses(sketch: &mut Sketch, hand: &mut Hand, middle: Point, space: f64) {
    let width = LINE * space;
    for way in [-1.0, 1.0] {
        let centre = (middle.0 + way * 0.78 * space, middle.1);
        ring(
            sketch,
            hand,
            centre,
            (0.54 * space, 0.46 * space),
            width,
            if way < 0.0 { -0.6 } else { -2.4 },
        );
        let temple = [(way * 1.3, -0.14), (way * 1.5, -0.34), (way * 1.62, -0.62)];
        sketch.line(hand, &about(middle, space, &temple), width * 0.9, 0.35);
    }
    let bridge = [(-0.27, -0.1), (0.0, -0.26), (0.27, -0.1)];
    sketch.line(hand, &about(middle, space, &bridge), width * 0.9, 0.0);
}

/// An oval round a middle, begun at an angle and closed with a little overlap, as a hand does.
pub(super) fn ring(sketch: &mut Sketch, hand: &mut Hand, middle: Point, radii: Point, width: f64, from: f64) {
    let from = from + hand.about(0.25);
    let over = 0.35 + hand.about(0.12);
    let turn = std::f64::consts::TAU + over;
    // It closes a little outside of where it began.
    let mut points = oval(middle, radii, from, turn, 24);
    let last = f64::from(u32::try_from(points.len()).unwrap_or(1)).max(2.0) - 1.0;
    for (point, at) in points.iter_mut().zip(0_u32..) {
        let grow = 0.985 + 0.04 * f64::from(at) / last;
        *point = (
            middle.0 + (point.0 - middle.0) * grow,
            middle.1 + (point.1 - middle.1) * grow,
        );
    }
    sketch.line(hand, &points, width, 0.3);
}

/// A loop round all these points at a distance, begun and closed like a [`ring`].
pub(super) fn hugging(
    sketch: &mut Sketch,
    hand: &mut Hand,
    points: &[Point],
    margin: f64,
    width: f64,
    from: f64,
) {
    const STEPS: u32 = 36;
    let from = from + hand.about(0.25);
    let turn = std::f64::consts::TAU + 0.3 + hand.about(0.1);
    let way: Vec<Point> = (0..=STEPS)
        .filter_map(|step| {
            let part = f64::from(step) / f64::from(STEPS);
            let (y, x) = (from + turn * part).sin_cos();
            let farthest = points
                .iter()
                .max_by(|a, b| (a.0 * x + a.1 * y).total_cmp(&(b.0 * x + b.1 * y)))?;
            // It closes a little outside of where it began.
            let margin = margin + 0.05 * job::STAFF_SPACE * (part - 0.5);
            Some((farthest.0 + x * margin, farthest.1 + y * margin))
        })
        .collect();
    // A hand cuts corners.
    let round = |at: usize| {
        let near = |by: usize| way.get(by).copied().unwrap_or(way[at]);
        let (before, here, after) = (near(at.saturating_sub(1)), way[at], near(at + 1));
        (
            (before.0 + 2.0 * here.0 + after.0) / 4.0,
            (before.1 + 2.0 * here.1 + after.1) / 4.0,
        )
    };
    let points: Vec<Point> = (0..way.len()).map(round).collect();
    sketch.careful_line(hand, &points, width, 0.3);
}

/// Points on an oval, from an angle on over a turn. A little squarer than an ellipse: so a hand goes round a note with its
/// accidental.
pub(super) fn oval(middle: Point, radii: Point, from: f64, turn: f64, steps: u32) -> Vec<Point> {
    let square = |part: f64| part.signum() * part.abs().powf(0.9);
    (0..=steps)
        .map(|step| {
            let angle = from + turn * f64::from(step) / f64::from(steps.max(1));
            (
                middle.0 + radii.0 * square(angle.cos()),
                middle.1 + radii.1 * square(angle.sin()),
            )
        })
        .collect()
}

/// A breath comma, its head at the middle.
pub(super) fn comma(sketch: &mut Sketch, hand: &mut Hand, middle: Point, space: f64) {
    let points = [(-0.06, -0.38), (0.12, -0.2), (0.14, 0.12), (-0.22, 0.66)];
    sketch.line(hand, &about(middle, space, &points), 0.34 * space, 0.7);
}

/// A breath comma for slow practice only: thin, in parentheses.
pub(super) fn light_comma(sketch: &mut Sketch, hand: &mut Hand, middle: Point, space: f64) {
    let width = LINE * space;
    let points = [(-0.04, -0.32), (0.1, -0.16), (0.11, 0.08), (-0.16, 0.5)];
    sketch.line(hand, &about(middle, space, &points), 0.2 * space, 0.6);
    for way in [-1.0, 1.0] {
        let points = [
            (way * 0.34, -0.66),
            (way * 0.56, -0.2),
            (way * 0.56, 0.34),
            (way * 0.34, 0.8),
        ];
        sketch.line(hand, &about(middle, space, &points), width * 0.7, 0.2);
    }
}

/// An arrow, forward or back, 2.2 staff spaces long.
pub(super) fn arrow(sketch: &mut Sketch, hand: &mut Hand, middle: Point, space: f64, back: bool) {
    let width = LINE * space;
    let way = if back { -1.0 } else { 1.0 };
    let shaft = [(-1.1 * way, 0.18), (-0.3 * way, -0.06), (1.05 * way, 0.0)];
    sketch.line(hand, &about(middle, space, &shaft), width * 1.1, 0.0);
    let head = [(0.55 * way, -0.42), (0.84 * way, -0.14), (1.08 * way, 0.0)];
    sketch.line(hand, &about(middle, space, &head), width, 0.0);
    let head = [(1.08 * way, 0.0), (0.82 * way, 0.16), (0.6 * way, 0.42)];
    sketch.line(hand, &about(middle, space, &head), width, 0.2);
}

/// A crook over the staff, its foot at a place: at the start of a repeat it bends to the right, at its end to the left.
pub(super) fn hook(sketch: &mut Sketch, hand: &mut Hand, foot: Point, space: f64, end: bool) {
    let way = if end { -1.0 } else { 1.0 };
    let points = [
        (0.0, 0.0),
        (-0.04 * way, -1.0),
        (0.14 * way, -1.75),
        (0.66 * way, -2.05),
        (1.12 * way, -1.7),
        (1.08 * way, -1.25),
    ];
    sketch.line(hand, &about(foot, space, &points), 0.28 * space, 0.25);
}

/// A small arrow down to a note, its tip at a place; up to it for a size below zero.
pub(super) fn pointer(sketch: &mut Sketch, hand: &mut Hand, tip: Point, space: f64) {
    let width = LINE * space.abs();
    sketch.line(
        hand,
        &about(tip, space, &[(0.06, -1.5), (0.0, -0.08)]),
        width,
        0.0,
    );
    sketch.line(
        hand,
        &about(tip, space, &[(-0.32, -0.42), (0.0, 0.0)]),
        width,
        0.0,
    );
    sketch.line(hand, &about(tip, space, &[(0.34, -0.45), (0.0, 0.0)]), width, 0.0);
}

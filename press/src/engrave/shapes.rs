//! What does one drawn element of the engraver's drawing look like, and where? Its outline, from its attributes.

use super::outline::{Outline, Place, Point};
use super::scan::Tag;

/// The pen of what says no other.
const PEN: f64 = 1.0;
/// A pen so thin that nobody sees its breadth around a filled shape, in units.
const HAIR: f64 = 2.0;

/// The outline of what a tag draws, in the coordinates around it; `glyph` knows the glyphs by name. `None` if it draws nothing.
pub fn outline<'a>(tag: &Tag<'_>, glyph: impl Fn(&str) -> Option<&'a Outline>) -> Option<Outline> {
    match tag.name {
        "use" => {
            let glyph = glyph(tag.get("href")?.strip_prefix('#')?)?;
            Some(glyph.placed(&Place::read(tag.get("transform")?)?))
        }
        "path" => Some(drawn(Outline::of_path(tag.get("d")?, 1.0), false, tag)),
        "polygon" => Some(drawn(Outline::of_points(points(tag)?), true, tag)),
        "polyline" => Some(drawn(Outline::of_points(points(tag)?), false, tag)),
        "rect" => {
            let (x, y) = (tag.number("x")?, tag.number("y")?);
            let (right, bottom) = (x + tag.number("width")?, y + tag.number("height")?);
            let corners = vec![(x, y), (right, y), (right, bottom), (x, bottom)];
            Some(drawn(Outline::of_points(corners), true, tag))
        }
        "ellipse" => Some(drawn(ellipse(tag)?, true, tag)),
        _ => None,
    }
}

/// A shape as fill and stroke leave it.
fn drawn(shape: Outline, closed: bool, tag: &Tag<'_>) -> Outline {
    let pen = tag.number("stroke-width").unwrap_or(PEN);
    let is_line = shape.contours.iter().all(|contour| contour.len() < 3);
    let filled = tag.get("fill") != Some("none") && !is_line;
    let beyond = match tag.get("stroke-linecap") {
        Some("square" | "round") => pen / 2.0,
        _ => 0.0,
    };
    let mut all = Outline::default();
    if !filled || pen > HAIR {
        for contour in &shape.contours {
            let stroke = Outline::of_stroke(contour, closed, pen, beyond);
            all.contours.extend(stroke.contours);
        }
    }
    if filled {
        all.contours.extend(shape.contours);
    }
    all
}

fn points(tag: &Tag<'_>) -> Option<Vec<Point>> {
    let numbers: Vec<f64> = tag
        .get("points")?
        .split([' ', ','])
        .filter(|word| !word.is_empty())
        .map_while(|word| word.parse().ok())
        .collect();
    Some(numbers.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect())
}

fn ellipse(tag: &Tag<'_>) -> Option<Outline> {
    let (x, y) = (tag.number("cx")?, tag.number("cy")?);
    let (wide, high) = (tag.number("rx")?, tag.number("ry")?);
    let around = (0..32).map(|step| {
        let (sin, cos) = (f64::from(step) / 16.0 * std::f64::consts::PI).sin_cos();
        (x + wide * cos, y + high * sin)
    });
    Some(Outline::of_points(around.collect()))
}

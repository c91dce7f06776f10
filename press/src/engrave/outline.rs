//! What is the outline of a shape, and what is around it? Curves are followed by short straight lines.

use job::Rect;
use svgtypes::{SimplePathSegment, SimplifyingPathParser};

/// The longest straight piece of a curve, in units: a third of an ink cell is nothing to the eye.
const STEP: f64 = 8.0;
/// The most pieces of one curve.
const MOST_STEPS: u32 = 200;

/// A point: right, down.
pub type Point = (f64, f64);

/// How a shape is placed: scaled, turned, moved (`[a b c d e f]` of SVG).
#[derive(Clone, Copy)]
pub struct Place(pub [f64; 6]);

/// Closed lines around a shape.
#[derive(Clone, Default)]
pub struct Outline {
    /// Each from point to point and back to its first.
    pub contours: Vec<Vec<Point>>,
}

impl Place {
    /// As it is.
    pub const HERE: Place = Place([1.0, 0.0, 0.0, 1.0, 0.0, 0.0]);

    /// The place of a place inside this one.
    pub fn then(&self, Place([a, b, c, d, e, f]): &Place) -> Place {
        let (e, f) = self.put((*e, *f));
        let Place([p, q, r, s, _, _]) = self;
        Place([p * a + r * b, q * a + s * b, p * c + r * d, q * c + s * d, e, f])
    }

    /// Where a point comes to lie.
    pub fn put(&self, (x, y): Point) -> Point {
        let Place([a, b, c, d, e, f]) = self;
        (a * x + c * y + e, b * x + d * y + f)
    }

    /// As the engraver writes it: `translate(…)`, `scale(…)`, `rotate(…)` in any order. `None` for anything else.
    pub fn read(text: &str) -> Option<Place> {
        let mut place = Place::HERE;
        for part in text.split(')').map(str::trim).filter(|part| !part.is_empty()) {
            let (kind, numbers) = part.split_once('(')?;
            let numbers: Vec<f64> = numbers
                .split([',', ' '])
                .filter(|word| !word.is_empty())
                .map(str::parse)
                .collect::<Result<_, _>>()
                .ok()?;
            let next = match (kind.trim(), numbers.as_slice()) {
                ("translate", [x, y]) => Place([1.0, 0.0, 0.0, 1.0, *x, *y]),
                ("translate", [x]) => Place([1.0, 0.0, 0.0, 1.0, *x, 0.0]),
                ("scale", [x, y]) => Place([*x, 0.0, 0.0, *y, 0.0, 0.0]),
                ("scale", [both]) => Place([*both, 0.0, 0.0, *both, 0.0, 0.0]),
                ("rotate", [degrees, x, y]) => turned(*degrees, *x, *y),
                ("rotate", [degrees]) => turned(*degrees, 0.0, 0.0),
                _ => return None,
            };
            place = place.then(&next);
        }
        Some(place)
    }
}

fn turned(degrees: f64, x: f64, y: f64) -> Place {
    let (sin, cos) = degrees.to_radians().sin_cos();
    Place([cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y])
}

impl Outline {
    /// Of a path as SVG writes it; what is wrong in it ends it. Curves are followed as if `scale` units made one.
    pub fn of_path(path: &str, scale: f64) -> Outline {
        let mut outline = Outline::default();
        let mut contour: Vec<Point> = Vec::new();
        for segment in SimplifyingPathParser::from(path).map_while(Result::ok) {
            match segment {
                SimplePathSegment::MoveTo { x, y } => {
                    outline
                        .contours
                        .push(std::mem::replace(&mut contour, vec![(x, y)]));
                }
                SimplePathSegment::LineTo { x, y } => contour.push((x, y)),
                SimplePathSegment::CurveTo { x1, y1, x2, y2, x, y } => {
                    curve(&mut contour, &[(x1, y1), (x2, y2), (x, y)], scale);
                }
                SimplePathSegment::Quadratic { x1, y1, x, y } => {
                    curve(&mut contour, &[(x1, y1), (x, y)], scale);
                }
                SimplePathSegment::ClosePath => {}
            }
        }
        outline.contours.push(contour);
        outline.contours.retain(|contour| !contour.is_empty());
        outline
    }

    /// Of one closed line.
    pub fn of_points(points: Vec<Point>) -> Outline {
        Outline {
            contours: vec![points],
        }
    }

    /// Of a line drawn along these points with a pen this wide: a strip for each piece, longer at both ends by `beyond`.
    pub fn of_stroke(points: &[Point], closed: bool, width: f64, beyond: f64) -> Outline {
        let mut outline = Outline::default();
        let next = points
            .iter()
            .skip(1)
            .chain(points.iter().take(usize::from(closed)));
        for ((x1, y1), (x2, y2)) in points.iter().zip(next) {
            let length = (x2 - x1).hypot(y2 - y1);
            if length > 0.0 {
                let (along_x, along_y) = ((x2 - x1) / length, (y2 - y1) / length);
                let (across_x, across_y) = (-along_y * width / 2.0, along_x * width / 2.0);
                let (x1, y1) = (x1 - along_x * beyond, y1 - along_y * beyond);
                let (x2, y2) = (x2 + along_x * beyond, y2 + along_y * beyond);
                outline.contours.push(vec![
                    (x1 + across_x, y1 + across_y),
                    (x2 + across_x, y2 + across_y),
                    (x2 - across_x, y2 - across_y),
                    (x1 - across_x, y1 - across_y),
                ]);
            }
        }
        outline
    }

    /// The same at a place.
    pub fn placed(&self, place: &Place) -> Outline {
        let contours = self.contours.iter();
        Outline {
            contours: contours
                .map(|contour| contour.iter().map(|point| place.put(*point)).collect())
                .collect(),
        }
    }

    /// Around all of it.
    pub fn bounds(&self) -> Option<Rect> {
        let mut points = self.contours.iter().flatten();
        let (x, y) = *points.next()?;
        let (mut left, mut top, mut right, mut bottom) = (x, y, x, y);
        for (x, y) in points {
            (left, right) = (left.min(*x), right.max(*x));
            (top, bottom) = (top.min(*y), bottom.max(*y));
        }
        Some(Rect {
            x: left,
            y: top,
            w: right - left,
            h: bottom - top,
        })
    }
}

/// Follows a curve of second or third order from the last point.
fn curve(contour: &mut Vec<Point>, handles: &[Point], scale: f64) {
    let Some(start) = contour.last().copied() else {
        return;
    };
    let reach = |(x1, y1): Point, (x2, y2): Point| (x2 - x1).hypot(y2 - y1);
    let (length, _) = handles.iter().fold((0.0, start), |(length, last), next| {
        (length + reach(last, *next), *next)
    });
    let steps = crate::svg::whole(length * scale / STEP).clamp(2, MOST_STEPS);
    let between = |(x1, y1): Point, (x2, y2): Point, at: f64| (x1 + (x2 - x1) * at, y1 + (y2 - y1) * at);
    for step in 1..=steps {
        // De Casteljau's construction.
        let at = f64::from(step) / f64::from(steps);
        let second = |a: Point, b: Point, c: Point| between(between(a, b, at), between(b, c, at), at);
        match *handles {
            [one, end] => contour.push(second(start, one, end)),
            [one, two, end] => contour.push(between(second(start, one, two), second(one, two, end), at)),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Outline, Place};
    use job::Rect;

    #[test]
    fn the_box_of_a_curve_is_that_of_the_curve_and_not_of_its_handles() {
        let bounds = Outline::of_path("M0 0 C0 400 1000 400 1000 0 Z", 1.0)
            .bounds()
            .unwrap();
        assert!((bounds.h - 300.0).abs() < 1.0, "{bounds:?}");
        assert!((bounds.w - 1000.0).abs() < 1e-9);
    }

    #[test]
    fn a_stroke_is_as_wide_as_its_pen() {
        let bounds = Outline::of_stroke(&[(10.0, 100.0), (10.0, 0.0)], false, 6.0, 0.0)
            .bounds()
            .unwrap();
        assert_eq!(
            bounds,
            Rect {
                x: 7.0,
                y: 0.0,
                w: 6.0,
                h: 100.0
            }
        );
    }

    #[test]
    fn places_are_read_as_they_are_written() {
        let place = Place::read("translate(100, 200) scale(0.5, 0.5)").unwrap();
        assert_eq!(place.put((10.0, -20.0)), (105.0, 190.0));
        let (x, y) = Place::read("rotate(90 10,10)").unwrap().put((20.0, 10.0));
        assert!((x - 10.0).abs() < 1e-9 && (y - 20.0).abs() < 1e-9);
        assert!(Place::read("skewX(3)").is_none());
    }
}

//! What do the words of a system look like, set in our fonts? The engraver only guesses their size; the drawing library that
//! prints them is asked instead.

use super::outline::{Outline, Place, Point};
use crate::svg::Drawing;
use job::Refusal;
use resvg::tiny_skia::PathSegment;

/// The outlines of each text (`<text …>…</text>` with whatever gives it its looks around it), in order.
///
/// # Errors
/// If they can't be read.
pub fn outlines(texts: &[String], family: &str, drawing: &Drawing) -> Result<Vec<Vec<Outline>>, Refusal> {
    if texts.is_empty() {
        return Ok(Vec::new());
    }
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1\" height=\"1\" font-family=\"{family}\">"
    );
    for (index, text) in texts.iter().enumerate() {
        svg.push_str(&format!("<g id=\"{index}\">{text}</g>"));
    }
    svg.push_str("</svg>");
    let tree = drawing.read(&svg)?;
    let mut all = vec![Vec::new(); texts.len()];
    for node in tree.root().children() {
        let usvg::Node::Group(group) = node else { continue };
        let index = group.id().parse().ok();
        if let Some(outlines) = index.and_then(|index: usize| all.get_mut(index)) {
            take(group, Place::HERE, outlines);
        }
    }
    Ok(all)
}

fn take(group: &usvg::Group, around: Place, outlines: &mut Vec<Outline>) {
    let place = around.then(&placed(group.transform()));
    for node in group.children() {
        match node {
            usvg::Node::Group(inner) => take(inner, place, outlines),
            usvg::Node::Text(text) => take(text.flattened(), place, outlines),
            usvg::Node::Path(path) if path.is_visible() => outlines.push(outline(path.data()).placed(&place)),
            usvg::Node::Path(_) | usvg::Node::Image(_) => {}
        }
    }
}

fn placed(transform: usvg::Transform) -> Place {
    let usvg::Transform {
        sx,
        kx,
        ky,
        sy,
        tx,
        ty,
    } = transform;
    Place([sx, ky, kx, sy, tx, ty].map(f64::from))
}

/// Letters are small: few straight pieces make their curves.
fn outline(path: &resvg::tiny_skia::Path) -> Outline {
    let mut outline = Outline::default();
    let mut last: Point = (0.0, 0.0);
    let point = |x: f32, y: f32| (f64::from(x), f64::from(y));
    for segment in path.segments() {
        let (handles, end) = match segment {
            PathSegment::MoveTo(to) => {
                outline.contours.push(Vec::new());
                (Vec::new(), point(to.x, to.y))
            }
            PathSegment::LineTo(to) => (Vec::new(), point(to.x, to.y)),
            PathSegment::QuadTo(one, to) => (vec![point(one.x, one.y)], point(to.x, to.y)),
            PathSegment::CubicTo(one, two, to) => {
                (vec![point(one.x, one.y), point(two.x, two.y)], point(to.x, to.y))
            }
            PathSegment::Close => continue,
        };
        if let Some(contour) = outline.contours.last_mut() {
            for step in 1..PIECES {
                if !handles.is_empty() {
                    contour.push(on_curve(last, &handles, end, f64::from(step) / f64::from(PIECES)));
                }
            }
            contour.push(end);
        }
        last = end;
    }
    outline
}

/// Straight pieces of one curve of a letter.
const PIECES: u32 = 5;

fn on_curve(start: Point, handles: &[Point], end: Point, at: f64) -> Point {
    let between = |(x1, y1): Point, (x2, y2): Point| (x1 + (x2 - x1) * at, y1 + (y2 - y1) * at);
    let second = |a, b, c| between(between(a, b), between(b, c));
    match *handles {
        [one] => second(start, one, end),
        [one, two] => between(second(start, one, two), second(one, two, end)),
        _ => end,
    }
}

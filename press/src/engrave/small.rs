//! How do signs that are small by custom become larger than the engraver can draw them?
//!
//! The engraver enlarges grace notes and fingerings itself; articulations it does not, so their glyphs are enlarged in the
//! drawing, away from the note: the edge nearest to the note stays where it is.

use super::scan::Tag;
use job::Rect;

/// The most by which a glyph grows: beyond it, neighbours would meet.
const MOST: f64 = 1.6;

/// The larger box and the glyph's attributes. `None` if the glyph isn't placed as the engraver places glyphs.
///
/// `sign` and `note` are the boxes on the page, `top` how far the page was moved down.
pub fn larger(tag: &Tag<'_>, sign: &Rect, note: &Rect, factor: f64, top: f64) -> Option<(Rect, String)> {
    let factor = factor.clamp(1.0 / MOST, MOST);
    let href = tag.get("href")?;
    let (x, y, scale_x, scale_y) = place(tag.get("transform")?)?;
    let centre = sign.x + sign.w / 2.0;
    let above = sign.y + sign.h / 2.0 < note.y + note.h / 2.0;
    let edge = if above { sign.bottom() } else { sign.y };
    let moved = |at: f64, fixed: f64| fixed + (at - fixed) * factor;
    let rect = Rect {
        x: moved(sign.x, centre),
        y: moved(sign.y, edge),
        w: sign.w * factor,
        h: sign.h * factor,
    };
    let attributes = format!(
        " href=\"{href}\" transform=\"translate({:.1}, {:.1}) scale({:.4}, {:.4})\"",
        moved(x, centre),
        moved(y, edge - top),
        scale_x * factor,
        scale_y * factor
    );
    Some((rect, attributes))
}

/// `translate(1, 2) scale(3, 4)`
fn place(transform: &str) -> Option<(f64, f64, f64, f64)> {
    let inside = transform.strip_prefix("translate(")?.strip_suffix(')')?;
    let (moved, scaled) = inside.split_once(") scale(")?;
    let pair = |words: &str| {
        let (first, second) = words.split_once(',')?;
        Some((first.trim().parse().ok()?, second.trim().parse().ok()?))
    };
    let ((x, y), (scale_x, scale_y)): ((f64, f64), (f64, f64)) = (pair(moved)?, pair(scaled)?);
    Some((x, y, scale_x, scale_y))
}

#[cfg(test)]
mod tests {
    use super::super::scan::{Piece, Scan};
    use super::larger;
    use job::Rect;

    #[test]
    fn a_sign_grows_away_from_its_note() {
        let svg = "<use href=\"#E4A2\" transform=\"translate(100, 190) scale(0.5, 0.5)\"/>";
        let Some(Piece::Empty(tag)) = Scan::new(svg).next() else {
            panic!()
        };
        let note = Rect {
            x: 90.0,
            y: 300.0,
            w: 60.0,
            h: 40.0,
        };
        let sign = Rect {
            x: 100.0,
            y: 180.0,
            w: 20.0,
            h: 20.0,
        };
        let (rect, attributes) = larger(&tag, &sign, &note, 1.5, 0.0).unwrap();
        assert_eq!(
            rect,
            Rect {
                x: 95.0,
                y: 170.0,
                w: 30.0,
                h: 30.0
            }
        );
        assert_eq!(
            attributes,
            " href=\"#E4A2\" transform=\"translate(95.0, 185.0) scale(0.7500, 0.7500)\""
        );
        let below = Rect { y: 400.0, ..sign };
        assert!((larger(&tag, &below, &note, 1.5, 0.0).unwrap().0.y - 400.0).abs() < 1e-9);
    }
}

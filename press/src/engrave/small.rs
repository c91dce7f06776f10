//! How do signs that are small by custom become larger than the engraver can draw them?
//!
//! The engraver enlarges grace notes and fingerings itself; articulations it does not, so their glyphs are enlarged in the
//! drawing, away from the note: the edge nearest to the note stays where it is.

use super::outline::{Outline, Place};
use super::scan::Tag;

/// The most by which a glyph grows: beyond it, neighbours would meet.
const MOST: f64 = 1.6;
/// The glyphs of articulations, each above and then below.
///
/// Source: SMuFL 1.40, "Articulation" (U+E4A0–U+E4BF): `articAccentAbove` E4A0, `articAccentBelow` E4A1 …
const ARTICULATIONS: std::ops::RangeInclusive<u32> = 0xE4A0..=0xE4BF;

/// The larger outline and the glyph's attributes. `None` if it is no articulation's, or not placed as the engraver places
/// glyphs.
pub fn larger(tag: &Tag<'_>, outline: &Outline, factor: f64) -> Option<(Outline, String)> {
    let factor = factor.clamp(1.0 / MOST, MOST);
    let href = tag.get("href")?;
    let code = u32::from_str_radix(href.get(1..5)?, 16).ok()?;
    if !ARTICULATIONS.contains(&code) {
        return None;
    }
    let bounds = outline.bounds()?;
    let (x, above) = (bounds.x + bounds.w / 2.0, code % 2 == 0);
    let y = if above { bounds.bottom() } else { bounds.y };
    let growth = Place([factor, 0.0, 0.0, factor, x - x * factor, y - y * factor]);
    let Place([scale_x, _, _, scale_y, left, top]) = growth.then(&Place::read(tag.get("transform")?)?);
    let attributes = format!(
        " href=\"{href}\" transform=\"translate({left:.1}, {top:.1}) scale({scale_x:.4}, {scale_y:.4})\""
    );
    Some((outline.placed(&growth), attributes))
}

#[cfg(test)]
mod tests {
    use super::super::outline::Outline;
    use super::super::scan::{Piece, Scan};
    use super::larger;
    use job::Rect;

    fn grown(code: &str) -> Option<(Rect, String)> {
        let svg = format!("<use href=\"#{code}-x\" transform=\"translate(100, 190) scale(0.5, 0.5)\"/>");
        let Some(Piece::Empty(tag)) = Scan::new(&svg).next() else {
            panic!()
        };
        let square = Outline::of_path("M100 180 H120 V200 H100 Z", 1.0);
        let (outline, attributes) = larger(&tag, &square, 1.5)?;
        Some((outline.bounds().unwrap(), attributes))
    }

    #[test]
    fn a_sign_grows_away_from_its_note() {
        let (above, attributes) = grown("E4A2").unwrap();
        assert_eq!(
            above,
            Rect {
                x: 95.0,
                y: 170.0,
                w: 30.0,
                h: 30.0
            }
        );
        assert_eq!(
            attributes,
            " href=\"#E4A2-x\" transform=\"translate(95.0, 185.0) scale(0.7500, 0.7500)\""
        );
        let (below, _) = grown("E4A3").unwrap();
        assert_eq!(
            below,
            Rect {
                x: 95.0,
                y: 180.0,
                w: 30.0,
                h: 30.0
            }
        );
        assert!(grown("E0A4").is_none());
    }
}

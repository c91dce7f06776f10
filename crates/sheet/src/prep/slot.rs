//! Which bars are wanted as an engraved excerpt, with which marks, and how does the picture come back?

use notation::{BarIndex, PencilSign};
use std::collections::BTreeMap;

/// A place on the sheet for an engraved excerpt.
#[derive(Clone, PartialEq, Debug)]
pub struct Slot {
    /// Its name: small letters, digits and hyphens; also the stem of its file's name.
    pub id: String,
    /// First bar.
    pub from: BarIndex,
    /// Last bar.
    pub to: BarIndex,
    /// The marks that belong on it; others would only distract.
    pub marks: Vec<PencilSign>,
    /// What it is to show, a clause.
    pub purpose: String,
    /// What it is, for those who can't see it: bars and what is to be seen there.
    pub alt: String,
    /// How wide it may be, in millimetres; what needs more is broken into lines.
    pub room_mm: f64,
    /// The height of its staff, in millimetres.
    pub staff_mm: f64,
}

/// An engraved excerpt.
#[derive(Clone, PartialEq, Debug)]
pub struct Excerpt {
    /// A whole SVG document.
    pub svg: String,
    /// Its width on paper, in millimetres.
    pub width_mm: f64,
}

/// The excerpts by the ids of their slots. Slots without one are left out of the sheet.
pub type Excerpts = BTreeMap<String, Excerpt>;

/// The room of an excerpt in a column, in millimetres.
pub(super) const COLUMN_MM: f64 = 85.0;
/// The room of an excerpt as wide as the page.
pub(super) const PAGE_MM: f64 = 178.0;
/// The staff of a spot's excerpt, which is played from.
pub(super) const SPOT_STAFF_MM: f64 = 5.8;
/// The staff of an excerpt: a little less than a part's, readable at arm's length.
pub(crate) const STAFF_MM: f64 = 5.0;

impl Excerpt {
    /// An excerpt whose SVG says its own width in `mm`, `cm`, `in`, `pt` or pixels of a ninety-sixth of an inch.
    /// `None` if it is no SVG or says no width above nothing.
    #[must_use]
    pub fn of(svg: String) -> Option<Self> {
        let root = root(&svg)?;
        let width_mm = attribute(root, "width").and_then(millimetres)?;
        (width_mm.is_finite() && width_mm > 0.5).then_some(Self { svg, width_mm })
    }
}

/// The opening tag of the outermost `svg` element, from `<svg` to `>`.
pub(super) fn root(svg: &str) -> Option<&str> {
    let from = svg.find("<svg")?;
    let tag = svg.get(from..)?;
    let end = tag.find('>')?;
    tag.get(..=end)
}

/// The value of an attribute in a tag.
pub(super) fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    let mut rest = tag;
    loop {
        let at = rest.find(name)?;
        let before = rest.get(..at)?.chars().next_back();
        let after = rest.get(at + name.len()..)?;
        if before.is_some_and(char::is_whitespace)
            && let Some(value) = after.trim_start().strip_prefix('=')
        {
            let value = value.trim_start();
            let quote = value.chars().next().filter(|c| matches!(c, '"' | '\''))?;
            return value.get(1..)?.split(quote).next();
        }
        rest = after;
    }
}

fn millimetres(length: &str) -> Option<f64> {
    let length = length.trim();
    let unit = length.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+'));
    let number: f64 = length.strip_suffix(unit)?.parse().ok()?;
    let each = match unit.trim() {
        "mm" => 1.0,
        "cm" => 10.0,
        "in" => 25.4,
        "pt" => 25.4 / 72.0,
        "" | "px" => 25.4 / 96.0,
        _ => return None,
    };
    Some(number * each)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_excerpt_knows_its_width() {
        let width = |svg: &str| Excerpt::of(svg.to_owned()).map(|e| (e.width_mm * 10.0).round() / 10.0);
        assert_eq!(
            width("<svg xmlns=\"x\" width=\"43.5mm\" height='9mm'/>"),
            Some(43.5)
        );
        assert_eq!(
            width("<?xml version=\"1.0\"?>\n<svg\n stroke-width=\"3\" width = '96'>"),
            Some(25.4)
        );
        assert_eq!(width("<svg width=\"100%\">"), None);
        assert_eq!(width("<svg viewBox=\"0 0 3 4\">"), None);
        assert_eq!(width("no picture"), None);
    }
}

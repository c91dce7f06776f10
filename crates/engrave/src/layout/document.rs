//! How does a page become one SVG? Everything that it needs stands in it, in the same order every time.

use super::sheet::Sheet;
use crate::text::{escaped, number};
use std::fmt::Write;

/// Where the pencil layer begins and ends in a page's text; a mark's own text can't hold it, since quotes are escaped there.
pub(crate) const PENCIL_START: &str = "<g id=\"pencil\" class=\"pencil\">";
const PENCIL_END: &str = "</g><!--pencil--></svg>";
const MUSIC_START: &str = "<g id=\"music\" class=\"music\">";
const MUSIC_END: &str = "</g><!--music-->";

/// What stands on a page.
pub(crate) struct Content<'a> {
    /// Its name: read aloud, and shown as the file's title.
    pub title: &'a str,
    /// Definitions that the music refers to.
    pub defs: &'a str,
    /// Rules for classes.
    pub style: &'a str,
    /// Words and engraved systems.
    pub music: &'a str,
    /// Pencil marks.
    pub pencil: &'a str,
}

/// The page as a complete SVG, its size in millimetres and its coordinates in the engraver's units.
pub(crate) fn svg(content: &Content<'_>, sheet: &Sheet) -> String {
    let (width, height) = (sheet.width, sheet.height);
    sized(content, [0.0, 0.0, width, height], sheet.unit_mm)
}

/// A picture of some part of the plane: left, top, width, height in units.
pub(crate) fn sized(content: &Content<'_>, [x, y, w, h]: [f64; 4], unit_mm: f64) -> String {
    let room = content.music.len() + content.pencil.len() + content.defs.len() + 2048;
    let mut out = String::with_capacity(room);
    // Writing to a string can't fail.
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}mm\" height=\"{}mm\" viewBox=\"{} {} {} {}\" class=\"foreread-page\">\
         <title>{}</title><style>{}</style>{}{MUSIC_START}{}{MUSIC_END}{PENCIL_START}{}{PENCIL_END}",
        number(w * unit_mm),
        number(h * unit_mm),
        number(x),
        number(y),
        number(w),
        number(h),
        escaped(content.title),
        content.style,
        content.defs,
        content.music,
        content.pencil,
    );
    out
}

/// The page's music without its pencil, and its pencil without its music. `None` if the text is no page of ours.
pub(crate) fn layers(svg: &str) -> Option<(String, String)> {
    let pencil = svg.find(PENCIL_START)?;
    let music = svg.find(MUSIC_START)?;
    let end = svg.rfind(PENCIL_END)?;
    let music_end = svg.get(..pencil)?.rfind(MUSIC_END)?;
    let without_pencil = format!("{}{}</svg>", svg.get(..pencil)?, "");
    let without_music = format!(
        "{}{}{}",
        svg.get(..music)?,
        svg.get(music_end + MUSIC_END.len()..end)?,
        svg.get(end..)?
    );
    Some((without_pencil, without_music))
}

/// Only those definitions (`<g id="…">…</g>` or `<symbol …>`) that the music refers to, in their order.
pub(crate) fn used_defs(defs: &str, music: &str) -> String {
    let inside = defs
        .strip_prefix("<defs>")
        .and_then(|rest| rest.strip_suffix("</defs>"))
        .unwrap_or(defs);
    let used: std::collections::BTreeSet<&str> = music
        .split("href=\"#")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    let mut out = String::from("<defs>");
    for symbol in inside.split_inclusive("</g>") {
        let id = symbol
            .split("id=\"")
            .nth(1)
            .and_then(|rest| rest.split('"').next());
        // What can't be told stays.
        if id.is_none_or(|id| used.contains(id)) {
            out.push_str(symbol);
        }
    }
    out.push_str("</defs>");
    out
}

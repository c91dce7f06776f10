//! Which glyphs does a drawing use, and what do they look like? They come out of the program itself: the engraver would read a
//! file for each, and those hundreds of files would have to be unpacked first.

use super::outline::{Outline, Place};
use super::scan::{Piece, Scan, Tag};
use super::shapes;
use std::collections::BTreeMap;
use verovio_data::DATA;

/// The glyphs that systems refer to, each once.
#[derive(Default)]
pub struct Glyphs {
    outlines: BTreeMap<String, Outline>,
    svg: String,
    /// What is referred to and in no font.
    pub missing: Vec<String>,
}

impl Glyphs {
    /// Learns all glyphs that a page refers to: `href="#E0A4-…"`.
    pub fn learn(&mut self, page: &str) {
        for after in page.split(" href=\"#").skip(1) {
            let name = after.split('"').next().unwrap_or("");
            if !self.outlines.contains_key(name) {
                self.learn_one(name);
            }
        }
    }

    fn learn_one(&mut self, name: &str) {
        let code = name.split('-').next().unwrap_or("");
        let file = DATA.get_file(format!("{}/{code}.xml", fonts::MUSIC_FAMILY));
        let mut outline = Outline::default();
        match file.and_then(|file| file.contents_utf8()) {
            Some(glyph) => {
                outline = glyph_outline(glyph);
                let named = format!("<g stroke=\"none\" id=\"{name}\"");
                self.svg
                    .push_str(&glyph.replacen(&format!("<g id=\"{code}\""), &named, 1));
            }
            None => self.missing.push(code.to_owned()),
        }
        self.outlines.insert(name.to_owned(), outline);
    }

    /// The definitions as one element.
    pub fn svg(&self) -> String {
        format!("<defs>{}</defs>", self.svg)
    }

    /// The outline of what a tag draws, in the coordinates around it. `None` if it draws nothing.
    pub fn outline(&self, tag: &Tag<'_>) -> Option<Outline> {
        shapes::outline(tag, |name| self.outlines.get(name))
    }
}

/// `<g id="E0A4"><path transform="…" d="…"/></g>`
fn glyph_outline(svg: &str) -> Outline {
    let mut outline = Outline::default();
    for piece in Scan::new(svg) {
        let Piece::Empty(tag) = piece else { continue };
        let place = tag.get("transform").and_then(Place::read).unwrap_or(Place::HERE);
        let path = Outline::of_path(tag.get("d").unwrap_or(""), 1.0);
        outline.contours.extend(path.placed(&place).contours);
    }
    outline
}

#[cfg(test)]
mod tests {
    use super::Glyphs;

    #[test]
    fn glyphs_are_learnt_once_and_unknown_ones_are_told() {
        let mut glyphs = Glyphs::default();
        glyphs.learn("<use href=\"#E0A4-x\"/><use href=\"#E0A4-x\"/><use href=\"#FFFF-x\"/>");
        assert_eq!(
            glyphs.svg().matches("<g stroke=\"none\" id=\"E0A4-x\">").count(),
            1
        );
        assert_eq!(glyphs.missing, ["FFFF"]);
    }
}

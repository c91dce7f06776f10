//! What are the tags of the engraver's drawing, in order? A scanner, no XML reader: it knows what one program writes (no
//! comments, no sections, attributes in double quotes) and stops at anything else.

/// One tag, without its brackets.
#[derive(Clone, Copy)]
pub struct Tag<'a> {
    /// The element.
    pub name: &'a str,
    /// Its attributes as written, with the space before them.
    pub attributes: &'a str,
}

/// One thing in the drawing.
#[derive(Clone, Copy)]
pub enum Piece<'a> {
    /// `<g …>`
    Open(Tag<'a>),
    /// `<use …/>`
    Empty(Tag<'a>),
    /// `</g>`
    Close(&'a str),
    /// Words between tags, as written.
    Words(&'a str),
}

/// The pieces of a drawing.
pub struct Scan<'a> {
    left: &'a str,
}

impl<'a> Scan<'a> {
    /// Begins at the start.
    pub fn new(svg: &'a str) -> Scan<'a> {
        Scan { left: svg }
    }

    /// Everything up to the next `end`, which is skipped.
    pub fn until(&mut self, end: &str) -> Option<&'a str> {
        let (before, after) = self.left.split_once(end)?;
        self.left = after;
        Some(before)
    }
}

impl<'a> Iterator for Scan<'a> {
    type Item = Piece<'a>;

    fn next(&mut self) -> Option<Piece<'a>> {
        let start = self.left.find('<').unwrap_or(self.left.len());
        if start > 0 {
            let (words, left) = self.left.split_at(start);
            self.left = left;
            return Some(Piece::Words(words));
        }
        let inside = self.left.get(1..)?;
        let end = tag_end(inside)?;
        let (tag, left) = (inside.get(..end)?, inside.get(end + 1..)?);
        self.left = left;
        if let Some(name) = tag.strip_prefix('/') {
            return Some(Piece::Close(name));
        }
        let (tag, empty) = match tag.strip_suffix('/') {
            Some(tag) => (tag, true),
            None => (tag, false),
        };
        let name_end = tag.find([' ', '\n', '\t']).unwrap_or(tag.len());
        let (name, attributes) = tag.split_at(name_end);
        let tag = Tag {
            name,
            attributes: attributes.trim_end(),
        };
        Some(if empty {
            Piece::Empty(tag)
        } else {
            Piece::Open(tag)
        })
    }
}

/// The closing bracket, which may also stand inside quotes.
fn tag_end(inside: &str) -> Option<usize> {
    let mut quoted = false;
    inside.bytes().position(|byte| {
        quoted ^= byte == b'"';
        byte == b'>' && !quoted
    })
}

impl<'a> Tag<'a> {
    /// The value of an attribute, as written.
    pub fn get(&self, name: &str) -> Option<&'a str> {
        let mut left = self.attributes;
        loop {
            let (key, after) = left.split_once('"')?;
            let (value, after) = after.split_once('"')?;
            if key.trim_start().strip_suffix('=') == Some(name) {
                return Some(value);
            }
            left = after;
        }
    }

    /// The value of an attribute that is a number.
    pub fn number(&self, name: &str) -> Option<f64> {
        self.get(name)?.parse().ok()
    }

    /// The first word of the class, which is the MEI element's name.
    pub fn class(&self) -> &'a str {
        self.get("class")
            .and_then(|class| class.split(' ').next())
            .unwrap_or("")
    }
}

#[cfg(test)]
mod tests {
    use super::{Piece, Scan};

    #[test]
    fn tags_and_words_come_in_order_with_their_attributes() {
        let mut scan = Scan::new("<g id=\"a\" class=\"note x>y\"><use href=\"#e\"/>words</g>");
        let Some(Piece::Open(tag)) = scan.next() else {
            panic!()
        };
        assert_eq!((tag.name, tag.get("id"), tag.class()), ("g", Some("a"), "note"));
        let Some(Piece::Empty(tag)) = scan.next() else {
            panic!()
        };
        assert_eq!(
            (tag.name, tag.get("href"), tag.get("h")),
            ("use", Some("#e"), None)
        );
        assert!(matches!(scan.next(), Some(Piece::Words("words"))));
        assert!(matches!(scan.next(), Some(Piece::Close("g"))));
        assert!(scan.next().is_none());
    }

    #[test]
    fn a_drawing_cut_anywhere_ends_the_scan() {
        let svg = "<g id=\"é\"><text>ü</text><use/></g>";
        for (end, _) in svg.char_indices() {
            assert!(Scan::new(&svg[..end]).count() <= 6);
        }
    }
}

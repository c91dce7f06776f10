//! How is XML put down? Tags indented by depth, texts and values escaped, what XML has no place for replaced and counted.

use std::fmt::{self, Display, Write};

/// The text being written.
#[derive(Debug, Default)]
pub(super) struct Out {
    text: String,
    depth: usize,
    /// How many characters XML does not allow were replaced.
    replaced: usize,
}

/// A tag that is being written: attributes first, then what it holds.
pub(super) struct Tag<'o, 'n> {
    out: &'o mut Out,
    name: &'n str,
}

impl Out {
    /// With room for so many bytes.
    pub(super) fn with_capacity(bytes: usize) -> Self {
        Self {
            text: String::with_capacity(bytes),
            ..Self::default()
        }
    }

    /// Puts a line down as it stands.
    pub(super) fn raw(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// Starts a tag on a line of its own.
    pub(super) fn tag<'n>(&mut self, name: &'n str) -> Tag<'_, 'n> {
        for _ in 0..self.depth {
            self.text.push_str("  ");
        }
        self.text.push('<');
        self.text.push_str(name);
        Tag { out: self, name }
    }

    /// An element that holds a text.
    pub(super) fn leaf(&mut self, name: &str, text: impl Display) {
        self.tag(name).text(text);
    }

    /// An element that holds nothing.
    pub(super) fn empty(&mut self, name: &str) {
        self.tag(name).empty();
    }

    /// Opens an element without attributes.
    pub(super) fn open(&mut self, name: &str) {
        self.tag(name).open();
    }

    /// Closes the innermost element.
    pub(super) fn close(&mut self, name: &str) {
        self.depth = self.depth.saturating_sub(1);
        for _ in 0..self.depth {
            self.text.push_str("  ");
        }
        self.text.push_str("</");
        self.text.push_str(name);
        self.text.push_str(">\n");
    }

    /// Where writing stands, to come back to.
    pub(super) fn position(&self) -> (usize, usize) {
        (self.text.len(), self.depth)
    }

    /// Takes back all that was written since a position.
    pub(super) fn back_to(&mut self, (length, depth): (usize, usize)) {
        self.text.truncate(length);
        self.depth = depth;
    }

    /// The text, and how many characters were replaced.
    pub(super) fn finish(self) -> (String, usize) {
        (self.text, self.replaced)
    }

    fn escaped(&mut self, value: impl Display, attribute: bool) {
        let mut escaper = Escaper { out: self, attribute };
        // Writing to a string cannot fail.
        let _ = write!(escaper, "{value}");
    }
}

impl Tag<'_, '_> {
    /// An attribute.
    pub(super) fn attr(self, name: &str, value: impl Display) -> Self {
        self.out.text.push(' ');
        self.out.text.push_str(name);
        self.out.text.push_str("=\"");
        self.out.escaped(value, true);
        self.out.text.push('"');
        self
    }

    /// An attribute, if it has a value.
    pub(super) fn maybe(self, name: &str, value: Option<impl Display>) -> Self {
        match value {
            Some(value) => self.attr(name, value),
            None => self,
        }
    }

    /// `name="yes"` if so.
    pub(super) fn yes(self, name: &str, yes: bool) -> Self {
        self.maybe(name, yes.then_some("yes"))
    }

    /// `print-object="no"` unless printed.
    pub(super) fn printed(self, printed: bool) -> Self {
        self.maybe("print-object", (!printed).then_some("no"))
    }

    /// Ends the tag with a text in it.
    pub(super) fn text(self, text: impl Display) {
        self.out.text.push('>');
        self.out.escaped(text, false);
        self.out.text.push_str("</");
        self.out.text.push_str(self.name);
        self.out.text.push_str(">\n");
    }

    /// Ends the tag with nothing in it.
    pub(super) fn empty(self) {
        self.out.text.push_str("/>\n");
    }

    /// Ends the tag; what follows stands in it until it is closed.
    pub(super) fn open(self) {
        self.out.text.push_str(">\n");
        self.out.depth += 1;
    }
}

struct Escaper<'o> {
    out: &'o mut Out,
    attribute: bool,
}

impl Write for Escaper<'_> {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        for c in text.chars() {
            let line = self.attribute && matches!(c, '\n' | '\t');
            match c {
                '&' => self.out.text.push_str("&amp;"),
                '<' => self.out.text.push_str("&lt;"),
                '>' => self.out.text.push_str("&gt;"),
                '"' if self.attribute => self.out.text.push_str("&quot;"),
                // A bare one would be read back as a line feed or a blank.
                '\r' => self.out.text.push_str("&#13;"),
                '\n' if line => self.out.text.push_str("&#10;"),
                '\t' if line => self.out.text.push_str("&#9;"),
                '\n' | '\t' => self.out.text.push(c),
                // Source: XML 1.0, production Char.
                '\0'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => {
                    self.out.text.push('\u{fffd}');
                    self.out.replaced += 1;
                }
                _ => self.out.text.push(c),
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_and_values_are_escaped() {
        let mut out = Out::default();
        out.tag("a").attr("b", "x\"<\n").maybe("c", None::<&str>).open();
        out.leaf("t", "1 < 2 & “3”\r\n\u{1}");
        out.empty("e");
        out.close("a");
        let (text, replaced) = out.finish();
        assert_eq!(
            text,
            "<a b=\"x&quot;&lt;&#10;\">\n  <t>1 &lt; 2 &amp; “3”&#13;\n\u{fffd}</t>\n  <e/>\n</a>\n"
        );
        assert_eq!(replaced, 1);
    }
}

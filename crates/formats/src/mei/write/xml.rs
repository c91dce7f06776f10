//! How does an element become text? Small trees written out at once: names, attributes in order, text escaped.

/// One element.
#[derive(Clone, Debug)]
pub(super) struct Node {
    name: &'static str,
    attrs: Vec<(&'static str, String)>,
    children: Vec<Child>,
}

#[derive(Clone, Debug)]
enum Child {
    Node(Node),
    Text(String),
}

impl Node {
    pub(super) const fn new(name: &'static str) -> Self {
        Self {
            name,
            attrs: Vec::new(),
            children: Vec::new(),
        }
    }

    /// Sets an attribute, in place of what it said before.
    pub(super) fn set(&mut self, name: &'static str, value: impl ToString) {
        let value = value.to_string();
        match self.attrs.iter_mut().find(|(of, _)| *of == name) {
            Some((_, old)) => *old = value,
            None => self.attrs.push((name, value)),
        }
    }

    pub(super) fn attr(mut self, name: &'static str, value: impl ToString) -> Self {
        self.set(name, value);
        self
    }

    /// The same, if there is a value.
    pub(super) fn maybe(mut self, name: &'static str, value: Option<impl ToString>) -> Self {
        if let Some(value) = value {
            self.set(name, value);
        }
        self
    }

    pub(super) fn id(self, id: impl ToString) -> Self {
        self.attr("xml:id", id)
    }

    /// The value of an attribute.
    pub(super) fn get(&self, name: &str) -> Option<&str> {
        self.attrs
            .iter()
            .find(|(of, _)| *of == name)
            .map(|(_, value)| value.as_str())
    }

    /// Takes an attribute away.
    pub(super) fn unset(&mut self, name: &str) {
        self.attrs.retain(|(of, _)| *of != name);
    }

    /// The same under another name.
    pub(super) const fn renamed(mut self, name: &'static str) -> Self {
        self.name = name;
        self
    }

    /// The same without what is in it.
    pub(super) fn emptied(mut self) -> Self {
        self.children.clear();
        self
    }

    /// Takes over what is in another element.
    pub(super) fn absorb(&mut self, other: Self) {
        self.children.extend(other.children);
    }

    /// The same without what is only there for reading back, if it is to be engraved.
    pub(super) fn fit_for(mut self, engraving: bool) -> Self {
        if engraving {
            self.forget_words();
        }
        self
    }

    /// Takes away what is only there for reading back: words of `type` and `label`, and annotations.
    fn forget_words(&mut self) {
        self.unset("type");
        self.unset("label");
        self.children
            .retain(|child| !matches!(child, Child::Node(node) if node.is("annot")));
        for child in &mut self.children {
            match child {
                Child::Node(node) => node.forget_words(),
                Child::Text(text) => {
                    text.retain(is_seen);
                    // The tie between elided syllables, for which text fonts have no letter: it becomes the space it stands for.
                    *text = text.trim_start_matches(ELISION).replace(ELISION, "\u{a0}");
                }
            }
        }
        self.unbracket();
    }

    /// A tuplet that is just one beam needs its number only. Source: common practice; Gould, Behind Bars, "Tuplets" (from memory).
    fn unbracket(&mut self) {
        let [Child::Node(only)] = self.children.as_mut_slice() else {
            return;
        };
        match (self.name, only.name) {
            ("tuplet", "beam") => self.set("bracket.visible", "false"),
            ("beam", "tuplet") => only.set("bracket.visible", "false"),
            _ => {}
        }
    }

    /// Adds a word to `type`, where MEI keeps what a project wants to say beyond the standard.
    pub(super) fn tag(&mut self, token: impl AsRef<str>) {
        let token = name_token(token.as_ref());
        match self.attrs.iter_mut().find(|(of, _)| *of == "type") {
            Some((_, tokens)) => {
                tokens.push(' ');
                tokens.push_str(&token);
            }
            None => self.attrs.push(("type", token)),
        }
    }

    pub(super) fn tagged(mut self, token: impl AsRef<str>) -> Self {
        self.tag(token);
        self
    }

    pub(super) fn has(&self, name: &str) -> bool {
        self.attrs.iter().any(|(of, _)| *of == name)
    }

    pub(super) fn push(&mut self, child: Self) {
        self.children.push(Child::Node(child));
    }

    pub(super) fn child(mut self, child: Self) -> Self {
        self.push(child);
        self
    }

    pub(super) fn push_text(&mut self, text: &str) {
        if !text.is_empty() {
            self.children.push(Child::Text(text.to_owned()));
        }
    }

    /// Text with its line breaks as `lb` elements.
    pub(super) fn lines(mut self, text: &str) -> Self {
        for (nth, line) in text.split('\n').enumerate() {
            if nth > 0 {
                self.push(Self::new("lb"));
            }
            self.push_text(line);
        }
        self
    }

    pub(super) fn is(&self, name: &str) -> bool {
        self.name == name
    }

    pub(super) fn into_children(self) -> Vec<Self> {
        let nodes = self.children.into_iter().filter_map(|child| match child {
            Child::Node(node) => Some(node),
            Child::Text(_) => None,
        });
        nodes.collect()
    }

    /// Changes the note or chord that stands in a tremolo, or else the element itself.
    pub(super) fn inner(&mut self, change: impl FnOnce(&mut Self)) {
        let wrapped = self.is("bTrem");
        match self.children.first_mut() {
            Some(Child::Node(node)) if wrapped => change(node),
            _ => change(self),
        }
    }

    pub(super) const fn is_empty(&self) -> bool {
        self.children.is_empty()
    }

    /// Writes the element on lines of its own; one that holds text stays in one line, since spaces in it count.
    pub(super) fn write(&self, out: &mut String, depth: usize) {
        indent(out, depth);
        self.open(out);
        if self.children.is_empty() {
            out.push('\n');
            return;
        }
        if self.children.iter().any(|child| matches!(child, Child::Text(_))) {
            self.inside(out);
            self.close(out);
        } else {
            out.push('\n');
            for child in &self.children {
                if let Child::Node(node) = child {
                    node.write(out, depth + 1);
                }
            }
            indent(out, depth);
            self.close(out);
        }
        out.push('\n');
    }

    fn open(&self, out: &mut String) {
        out.push('<');
        out.push_str(self.name);
        for (name, value) in &self.attrs {
            out.push(' ');
            out.push_str(name);
            out.push_str("=\"");
            escape(value, true, out);
            out.push('"');
        }
        out.push_str(if self.children.is_empty() { "/>" } else { ">" });
    }

    /// The start tag alone, for an element whose children are written one by one.
    pub(super) fn write_start(&self, out: &mut String, depth: usize) {
        indent(out, depth);
        self.open(out);
        if out.ends_with("/>") {
            out.truncate(out.len() - 2);
            out.push('>');
        }
        out.push('\n');
    }

    /// The end tag for [`Self::write_start`].
    pub(super) fn write_end(name: &str, out: &mut String, depth: usize) {
        indent(out, depth);
        out.push_str("</");
        out.push_str(name);
        out.push_str(">\n");
    }

    fn inside(&self, out: &mut String) {
        for child in &self.children {
            match child {
                Child::Text(text) => escape(text, false, out),
                Child::Node(node) => {
                    node.open(out);
                    if !node.children.is_empty() {
                        node.inside(out);
                        node.close(out);
                    }
                }
            }
        }
    }

    fn close(&self, out: &mut String) {
        out.push_str("</");
        out.push_str(self.name);
        out.push('>');
    }
}

/// Source: Unicode, U+203F UNDERTIE.
const ELISION: char = '\u{203f}';

/// False for characters that only a typesetter obeys (soft hyphens, joiners, marks of direction): an engraver draws a box for
/// each. Source: Unicode, general category Cf.
const fn is_seen(c: char) -> bool {
    !matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2064}' | '\u{feff}')
}

fn indent(out: &mut String, depth: usize) {
    for _ in 0..depth {
        out.push(' ');
    }
}

/// Source: XML 1.0, 2.2 (which characters there are) and 2.4 (which are escaped).
fn escape(text: &str, attribute: bool, out: &mut String) {
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' if attribute => out.push_str("&quot;"),
            '\r' => out.push_str("&#13;"),
            '\n' | '\t' if attribute => out.push_str(&format!("&#{};", u32::from(c))),
            '\n' | '\t' => out.push(c),
            '\0'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            _ => out.push(c),
        }
    }
}

/// A word that `type` can hold (an XML name token): what it can't have becomes an underscore.
fn name_token(text: &str) -> String {
    let token: String = text
        .chars()
        .map(|c| {
            if c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_' | ':') {
                c
            } else {
                '_'
            }
        })
        .collect();
    if token.is_empty() { "_".to_owned() } else { token }
}

/// True if a text can be a word of `type` as it stands.
pub(super) fn is_token(text: &str) -> bool {
    !text.is_empty() && name_token(text) == text
}

/// True for a number or label that MEI's `n` can hold: no spaces, no control characters.
/// Source: MEI 5, `data.WORD`.
pub(super) fn is_word(text: &str) -> bool {
    !text.is_empty() && !text.chars().any(|c| c.is_whitespace() || c.is_control())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_keeps_its_spaces_and_signs() {
        let mut node = Node::new("dir")
            .id("d1")
            .attr("label", "a \"b\"\n")
            .lines(" più <f> &\n dolce ");
        node.tag("sign of life");
        let mut out = String::new();
        node.write(&mut out, 1);
        assert_eq!(
            out,
            " <dir xml:id=\"d1\" label=\"a &quot;b&quot;&#10;\" type=\"sign_of_life\"> più &lt;f&gt; &amp;<lb/> dolce </dir>\n"
        );
    }

    #[test]
    fn what_no_letter_shows_is_not_engraved() {
        let mut out = String::new();
        let syllables = Node::new("verse")
            .child(Node::new("syl").lines("\u{203f}got"))
            .child(Node::new("syl").lines("e\u{203f}il"))
            .child(Node::new("syl").lines("for\u{ad}"));
        syllables.clone().fit_for(true).write(&mut out, 0);
        assert_eq!(
            out,
            "<verse>\n <syl>got</syl>\n <syl>e\u{a0}il</syl>\n <syl>for</syl>\n</verse>\n"
        );
        let mut kept = String::new();
        syllables.fit_for(false).write(&mut kept, 0);
        assert!(kept.contains("\u{203f}got") && kept.contains("for\u{ad}"));
    }

    #[test]
    fn trees_are_indented() {
        let mut out = String::new();
        Node::new("a")
            .child(Node::new("b").child(Node::new("c")))
            .write(&mut out, 0);
        assert_eq!(out, "<a>\n <b>\n  <c/>\n </b>\n</a>\n");
    }
}

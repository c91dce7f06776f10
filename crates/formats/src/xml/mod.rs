//! What is the next element? XML streamed tag by tag, with a small tree of one element at a time (a bar, a header).
//!
//! Names and most texts borrow from the file's text. The tree is an arena that is cleared and used again.

mod entities;
mod tokens;

use entities::{Entities, EntityError};
use quick_xml::events::attributes::Attributes;
use std::borrow::Cow;
use tokens::{Attrs, Token, Tokens};

/// Deeper nesting than any MusicXML document has (its deepest is about 12).
const MOST_DEPTH: usize = 100;
/// More elements than one bar or header ever has.
const MOST_NODES: usize = 400_000;
/// More elements than any score has: long string quartets have 200,000.
const MOST_ELEMENTS: usize = 3_000_000;
/// More attributes than one element ever has (the richest in MusicXML can have some 50).
pub(crate) const MOST_ATTRIBUTES: usize = 500;
/// Longer than any one text on a page, in bytes.
pub(crate) const MOST_TEXT: usize = 200_000;

/// What is wrong with the XML, and at which byte of the text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct XmlError {
    pub at: usize,
    pub what: Trouble,
}

/// What can be wrong with XML.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Trouble {
    /// The text ends too early.
    Ends,
    /// It is not well formed.
    Broken(String),
    /// Entities that unfold to too much.
    Bomb(String),
    /// Too deep or too many elements.
    TooMuch(String),
}

/// A tag met while walking from outside in.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Tag<'a> {
    /// An element starts; its attributes are in the root of the tree that was passed.
    Open { name: &'a str, empty: bool },
    /// The innermost open element ends.
    Close,
    /// The document ends.
    End,
}

/// One element of the tree.
#[derive(Debug)]
struct Node<'a> {
    name: &'a str,
    text: Cow<'a, str>,
    attrs: (u32, u32),
    first: u32,
    next: u32,
    range: (u32, u32),
}

/// "No node".
const NONE: u32 = u32::MAX;

/// One element with all that is in it.
#[derive(Debug, Default)]
pub(crate) struct Tree<'a> {
    nodes: Vec<Node<'a>>,
    attrs: Attrs<'a>,
}

impl Tree<'_> {
    /// Room for a bar of some size, so that it need not grow many times.
    pub(crate) fn with_room() -> Self {
        Self {
            nodes: Vec::with_capacity(512),
            attrs: Vec::with_capacity(256),
        }
    }
}

/// The text as a stream of tags.
pub(crate) struct Xml<'a> {
    text: &'a str,
    tokens: Tokens<'a>,
    entities: Entities,
    open: usize,
    closed_root: bool,
    elements: usize,
    scratch: String,
    /// For each element open below the one being filled: its index and its last child.
    stack: Vec<(u32, u32)>,
}

fn small(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX - 1)
}

impl<'a> Xml<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        Self {
            text,
            tokens: Tokens::new(text),
            entities: Entities::default(),
            open: 0,
            closed_root: false,
            elements: 0,
            scratch: String::new(),
            stack: Vec::new(),
        }
    }

    /// The bytes from here to the end of the text.
    pub(crate) fn left(&self) -> usize {
        self.text.len().saturating_sub(self.position())
    }

    /// Goes to the byte where an element starts, to read that element alone.
    pub(crate) fn go_to(&mut self, at: usize) {
        self.tokens.go_to(at);
        self.open = 0;
    }

    /// Line and column (both from 1) of a byte of the text.
    pub(crate) fn line_column(&self, at: usize) -> (usize, usize) {
        let before = self
            .text
            .as_bytes()
            .get(..at.min(self.text.len()))
            .unwrap_or_default();
        let line = 1 + before.iter().filter(|b| **b == b'\n').count();
        let start = before.iter().rposition(|b| *b == b'\n').map_or(0, |p| p + 1);
        let column = 1 + String::from_utf8_lossy(before.get(start..).unwrap_or_default())
            .chars()
            .count();
        (line, column)
    }

    /// The byte of the text that is read next.
    pub(crate) fn position(&self) -> usize {
        self.tokens.position()
    }

    fn error(&self, what: Trouble) -> XmlError {
        XmlError {
            at: self.position(),
            what,
        }
    }

    /// The next opening or closing tag; texts between are passed over. The tree's root becomes the opened element.
    pub(crate) fn next_tag(&mut self, tree: &mut Tree<'a>) -> Result<Tag<'a>, XmlError> {
        loop {
            let start = self.position();
            tree.clear();
            match self.tokens.next(&mut tree.attrs)? {
                Token::Open { name, rest, empty } => {
                    self.open += usize::from(!empty);
                    self.push(tree, start, name, rest, 0)?;
                    return Ok(Tag::Open { name, empty });
                }
                Token::Close => {
                    self.open = self.open.saturating_sub(1);
                    self.closed_root |= self.open == 0;
                    return Ok(Tag::Close);
                }
                Token::DocType(doctype) => self.entities.define(&doctype),
                Token::End if self.open > 0 || !self.closed_root => return Err(self.error(Trouble::Ends)),
                Token::End => return Ok(Tag::End),
                Token::Text(_) | Token::CData(_) | Token::Reference(_) | Token::Other => {}
            }
        }
    }

    /// Reads all that is in the element just opened, up to its closing tag, into the tree below its root.
    pub(crate) fn fill(&mut self, tree: &mut Tree<'a>) -> Result<(), XmlError> {
        let mut stack = std::mem::take(&mut self.stack);
        stack.clear();
        let result = self.fill_below(tree, &mut stack);
        self.stack = stack;
        result
    }

    fn fill_below(&mut self, tree: &mut Tree<'a>, stack: &mut Vec<(u32, u32)>) -> Result<(), XmlError> {
        // The innermost open element and its last child.
        let (mut index, mut last) = (0, NONE);
        loop {
            if last != NONE {
                // What stands between children is no text of anyone's.
                self.tokens.pass_blanks();
            }
            if stack.len() + 1 < MOST_DEPTH
                && let Some(plainest) = self.tokens.plainest()
            {
                let attrs = tree.attrs.len();
                let child = self.child(tree, (index, last), plainest.start, plainest.name, "", attrs)?;
                if let Some(node) = tree.nodes.get_mut(child as usize) {
                    node.text = Cow::Borrowed(plainest.text);
                }
                if plainest.closed {
                    last = child;
                } else {
                    stack.push((index, child));
                    (index, last) = (child, NONE);
                }
                continue;
            }
            if last != NONE {
                self.tokens.text();
            }
            let start = self.position();
            let attrs = tree.attrs.len();
            match self.tokens.next(&mut tree.attrs)? {
                Token::Open { name, rest, empty } => {
                    let child = self.child(tree, (index, last), start, name, rest, attrs)?;
                    last = child;
                    if empty {
                        continue;
                    }
                    if stack.len() + 1 >= MOST_DEPTH {
                        return Err(
                            self.error(Trouble::TooMuch(format!("elements nested {MOST_DEPTH} deep")))
                        );
                    }
                    // Most elements hold a short text and nothing else.
                    let text = self.tokens.text();
                    if !text.is_empty() {
                        self.add_text(tree, child, Cow::Borrowed(text))?;
                    }
                    if self.tokens.closes() {
                        if let Some(node) = tree.nodes.get_mut(child as usize) {
                            node.range.1 = small(self.position());
                        }
                    } else {
                        stack.push((index, last));
                        (index, last) = (child, NONE);
                    }
                }
                Token::Close => {
                    if let Some(node) = tree.nodes.get_mut(index as usize) {
                        node.range.1 = small(self.position());
                    }
                    let Some(outer) = stack.pop() else {
                        self.open = self.open.saturating_sub(1);
                        self.closed_root |= self.open == 0;
                        return Ok(());
                    };
                    (index, last) = outer;
                }
                Token::Text(_) | Token::CData(_) if last != NONE => {}
                Token::Text(text) | Token::CData(text) => self.add_text(tree, index, text)?,
                Token::Reference(name) => {
                    let mut unfolded = std::mem::take(&mut self.scratch);
                    unfolded.clear();
                    let result = self.entities.unfold(&name, &mut unfolded);
                    result.map_err(|e| self.entity_error(e, &name))?;
                    if last == NONE
                        && let Some(node) = tree.nodes.get_mut(index as usize)
                    {
                        node.text.to_mut().push_str(&unfolded);
                    }
                    self.scratch = unfolded;
                }
                Token::End => return Err(self.error(Trouble::Ends)),
                Token::DocType(_) | Token::Other => {}
            }
        }
    }

    /// Adds text to the innermost open element.
    fn add_text(&self, tree: &mut Tree<'a>, index: u32, text: Cow<'a, str>) -> Result<(), XmlError> {
        let Some(node) = tree.nodes.get_mut(index as usize) else {
            return Ok(());
        };
        if node.text.len() + text.len() > MOST_TEXT && !text.trim().is_empty() {
            return Err(self.error(Trouble::TooMuch(format!("a text of more than {MOST_TEXT} bytes"))));
        }
        if node.text.is_empty() {
            node.text = text;
        } else if !text.is_empty() {
            node.text.to_mut().push_str(&text);
        }
        Ok(())
    }

    /// Passes over all that is in the element just opened.
    pub(crate) fn skip(&mut self) -> Result<(), XmlError> {
        let mut depth = 1_usize;
        let mut attrs = Attrs::new();
        loop {
            attrs.clear();
            match self.tokens.next(&mut attrs)? {
                Token::Open { empty, .. } => depth += usize::from(!empty),
                Token::Close => {
                    depth -= 1;
                    if depth == 0 {
                        self.open = self.open.saturating_sub(1);
                        self.closed_root |= self.open == 0;
                        return Ok(());
                    }
                }
                Token::End => return Err(self.error(Trouble::Ends)),
                _ => {}
            }
        }
    }

    fn entity_error(&self, error: EntityError, name: &str) -> XmlError {
        self.error(match error {
            EntityError::Unknown => Trouble::Broken(format!("“&{name};” stands for nothing")),
            EntityError::Bomb => Trouble::Bomb(format!("“&{name};”")),
        })
    }

    fn child(
        &mut self,
        tree: &mut Tree<'a>,
        (parent, last): (u32, u32),
        start: usize,
        name: &'a str,
        rest: &'a str,
        attrs: usize,
    ) -> Result<u32, XmlError> {
        if tree.nodes.len() >= MOST_NODES {
            return Err(self.error(Trouble::TooMuch(format!(
                "more than {MOST_NODES} elements in one bar"
            ))));
        }
        let index = small(tree.nodes.len());
        self.push(tree, start, name, rest, attrs)?;
        if last == NONE {
            if let Some(node) = tree.nodes.get_mut(parent as usize) {
                node.first = index;
            }
        } else if let Some(node) = tree.nodes.get_mut(last as usize) {
            node.next = index;
        }
        Ok(index)
    }

    /// Appends the element whose tag stands at `start` and was just read: its attributes are those from `from` on,
    /// and those in `rest`, which are not plain.
    fn push(
        &mut self,
        tree: &mut Tree<'a>,
        start: usize,
        name: &'a str,
        rest: &'a str,
        from: usize,
    ) -> Result<(), XmlError> {
        self.elements += 1;
        if self.elements > MOST_ELEMENTS {
            return Err(self.error(Trouble::TooMuch(format!("more than {MOST_ELEMENTS} elements"))));
        }
        if !rest.is_empty() {
            self.push_attributes(tree, start, rest)?;
        }
        tree.nodes.push(Node {
            name,
            text: Cow::Borrowed(""),
            attrs: (small(from), small(tree.attrs.len())),
            first: NONE,
            next: NONE,
            range: (small(start), small(self.position())),
        });
        Ok(())
    }

    fn push_attributes(&mut self, tree: &mut Tree<'a>, start: usize, rest: &'a str) -> Result<(), XmlError> {
        let most = tree.attrs.len() + MOST_ATTRIBUTES;
        for attribute in Attributes::new(rest, 0).with_checks(false) {
            let attribute = attribute.map_err(|_| XmlError {
                at: start,
                what: Trouble::Broken("a tag is not well formed".to_owned()),
            })?;
            let key = attribute.key.0;
            let value = match attribute.value {
                Cow::Borrowed(value) if value.contains('&') => Cow::Owned(self.unfold_all(value)?),
                value => value,
            };
            if value.len() > MOST_TEXT || tree.attrs.len() >= most {
                return Err(self.error(Trouble::TooMuch("longer or more attributes".to_owned())));
            }
            tree.attrs.push((key, value));
        }
        Ok(())
    }

    fn unfold_all(&mut self, value: &str) -> Result<String, XmlError> {
        let mut text = String::with_capacity(value.len());
        let mut parts = value.split('&');
        text.push_str(parts.next().unwrap_or_default());
        for part in parts {
            let Some((name, rest)) = part.split_once(';') else {
                return Err(self.error(Trouble::Broken("a lone “&” in an attribute".to_owned())));
            };
            let unfolded = self.entities.unfold(name, &mut text);
            unfolded.map_err(|e| self.entity_error(e, name))?;
            text.push_str(rest);
        }
        Ok(text)
    }
}

impl<'a> Tree<'a> {
    fn clear(&mut self) {
        self.nodes.clear();
        self.attrs.clear();
    }

    /// All attributes in the order of the text, each with what is needed to find its element.
    pub(crate) fn attributes(&self) -> impl Iterator<Item = (usize, &(&'a str, Cow<'a, str>))> {
        self.attrs.iter().enumerate()
    }

    /// The element that an attribute belongs to, by the attribute's place among [`Self::attributes`].
    pub(crate) fn element_of(&self, attribute: usize) -> El<'_, 'a> {
        // Attributes stand in the order of their elements.
        let index = self
            .nodes
            .partition_point(|node| node.attrs.1 as usize <= attribute);
        El {
            tree: self,
            index: small(index),
        }
    }

    /// The element at the top.
    pub(crate) fn root(&self) -> El<'_, 'a> {
        El { tree: self, index: 0 }
    }
}

/// An element: a light handle on a tree.
#[derive(Clone, Copy)]
pub(crate) struct El<'t, 'a> {
    tree: &'t Tree<'a>,
    index: u32,
}

impl<'t, 'a> El<'t, 'a> {
    fn node(self) -> Option<&'t Node<'a>> {
        self.tree.nodes.get(self.index as usize)
    }

    /// The element's name.
    pub(crate) fn name(self) -> &'a str {
        self.node().map_or("", |node| node.name)
    }

    /// Its text without blanks around it.
    pub(crate) fn text(self) -> &'t str {
        trimmed(self.raw_text())
    }

    /// Its text as it stands.
    pub(crate) fn raw_text(self) -> &'t str {
        self.node().map_or("", |node| node.text.as_ref())
    }

    /// All its attributes.
    pub(crate) fn attrs(self) -> &'t [(&'a str, Cow<'a, str>)] {
        self.node()
            .and_then(|node| self.tree.attrs.get(node.attrs.0 as usize..node.attrs.1 as usize))
            .unwrap_or(&[])
    }

    /// The value of an attribute, without blanks around it.
    pub(crate) fn attr(self, name: &str) -> Option<&'t str> {
        self.attrs()
            .iter()
            .find(|(key, _)| *key == name)
            .map(|(_, value)| trimmed(value))
    }

    /// True if an attribute says `yes`.
    pub(crate) fn yes(self, name: &str) -> bool {
        self.attr(name) == Some("yes")
    }

    /// True if an attribute says `no`.
    pub(crate) fn no(self, name: &str) -> bool {
        self.attr(name) == Some("no")
    }

    /// Its children in order.
    pub(crate) fn children(self) -> Children<'t, 'a> {
        Children {
            tree: self.tree,
            next: self.node().map_or(NONE, |node| node.first),
        }
    }

    /// Its first child with a name.
    pub(crate) fn child(self, name: &str) -> Option<Self> {
        self.children().find(|child| child.name() == name)
    }

    /// The text of its first child with a name.
    pub(crate) fn child_text(self, name: &str) -> Option<&'t str> {
        self.child(name).map(Self::text)
    }

    /// The bytes of the decoded text where it stands.
    pub(crate) fn range(self) -> (u32, u32) {
        self.node().map_or((0, 0), |node| node.range)
    }
}

/// A text without blanks around it. Nearly all have none, and that is soon seen.
fn trimmed(text: &str) -> &str {
    match text.as_bytes() {
        [one] if one.is_ascii_graphic() => text,
        [first, .., last] if first.is_ascii_graphic() && last.is_ascii_graphic() => text,
        _ => text.trim(),
    }
}

/// The children of an element.
pub(crate) struct Children<'t, 'a> {
    tree: &'t Tree<'a>,
    next: u32,
}

impl<'t, 'a> Iterator for Children<'t, 'a> {
    type Item = El<'t, 'a>;

    fn next(&mut self) -> Option<Self::Item> {
        let node = self.tree.nodes.get(self.next as usize)?;
        let child = El {
            tree: self.tree,
            index: self.next,
        };
        self.next = node.next;
        Some(child)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn say(el: El<'_, '_>, said: &mut String) {
        said.push_str(el.name());
        for (name, value) in el.attrs() {
            said.push_str(&format!("[{name}={value}]"));
        }
        said.push('(');
        said.push_str(el.text());
        el.children().for_each(|child| say(child, said));
        said.push(')');
    }

    fn first(text: &str) -> Result<String, Trouble> {
        let mut xml = Xml::new(text);
        let mut tree = Tree::default();
        let tag = xml.next_tag(&mut tree).map_err(|e| e.what)?;
        if let Tag::Open { empty: false, .. } = tag {
            xml.fill(&mut tree).map_err(|e| e.what)?;
        }
        let mut said = String::new();
        say(tree.root(), &mut said);
        Ok(said)
    }

    /// The same by the XML library alone: of an element its attributes, the text before its first child, its children.
    fn by_the_library(text: &str) -> Option<String> {
        use quick_xml::events::Event;
        let mut reader = quick_xml::Reader::from_str(text);
        // For each open element its name and attributes, its text, and its children once there is one.
        let mut open: Vec<(String, String, Option<String>)> = vec![<_>::default()];
        loop {
            let event = reader.read_event().ok()?;
            let ends = matches!(event, Event::End(_) | Event::Empty(_));
            match event {
                Event::Start(tag) | Event::Empty(tag) => {
                    let mut head = tag.name().as_ref().to_owned();
                    for attribute in tag.attributes() {
                        let attribute = attribute.ok()?;
                        head.push_str(&format!("[{}={}]", attribute.key.as_ref(), attribute.value));
                    }
                    open.last_mut()?.2.get_or_insert_default();
                    open.push((head, String::new(), None));
                }
                Event::Text(text) if open.last()?.2.is_none() => open.last_mut()?.1.push_str(&text),
                Event::GeneralRef(_) if open.last()?.2.is_none() => open.last_mut()?.1.push('&'),
                Event::Eof => return open.pop()?.2,
                _ => {}
            }
            if ends {
                let (head, text, children) = open.pop()?;
                let whole = format!("{head}({}{})", text.trim(), children.unwrap_or_default());
                open.last_mut()?.2.get_or_insert_default().push_str(&whole);
            }
        }
    }

    #[test]
    fn a_tree_of_one_element() {
        assert_eq!(
            first("<?xml version='1.0'?><a x='1' y=\"&lt;2\"> <b>one &amp; <![CDATA[<two>]]></b>\n<c/></a>")
                .as_deref(),
            Ok("a[x=1][y=<2](b(one & <two>)c())")
        );
        assert_eq!(first("<a><b>x</b>"), Err(Trouble::Ends));
        assert_eq!(first("<a><b"), Err(Trouble::Ends));
        assert!(matches!(first("<a><b></a>"), Err(Trouble::Broken(_))));
        assert!(matches!(first("<a>&nobody;</a>"), Err(Trouble::Broken(_))));
        assert!(matches!(first(&"<a>".repeat(200)), Err(Trouble::TooMuch(_))));
        let bomb = "<!DOCTYPE a [<!ENTITY x \"ha\"><!ENTITY y \"&x;&x;\">]><a>&y;</a>";
        assert!(matches!(first(bomb), Err(Trouble::Bomb(_))));
    }

    /// Source: XML 1.0, sections 2.6 and 2.8: what stands before the first element.
    #[test]
    fn the_first_lines_are_passed_over_and_what_they_define_is_known() {
        let after = |heading: &str| first(&format!("{heading}<a>&b;</a>"));
        let broken = |heading: &str| matches!(after(heading), Err(Trouble::Broken(_)));
        let plain =
            "<?xml version='1.0'?>\n<!DOCTYPE a PUBLIC \"-//x//y > z//EN\" 'http://a.b/c'>\n<?go > on?>";
        assert_eq!(
            first(&format!("{plain}<a>1</a>")).as_deref(),
            Ok("a(1)"),
            "a bracket within quotes ends nothing"
        );
        assert!(broken(plain), "nothing is defined");
        assert_eq!(after("<!DOCTYPE a [<!ENTITY b \"c\">]>").as_deref(), Ok("a(c)"));
        assert_eq!(
            after("<!DOCTYPE a SYSTEM \"a.dtd\" [<!ENTITY b \"c\">]>").as_deref(),
            Ok("a(c)")
        );
        assert_eq!(after("<?xml version='1.0'"), Err(Trouble::Ends));
        assert_eq!(first("<!DOCTYPE a"), Err(Trouble::Ends));
        assert!(first("<!DOCTYPE >").is_err());
    }

    /// Texts and values on both sides of the length from which the library looks for their end.
    #[test]
    fn texts_of_any_length_end_where_they_end() {
        for length in (0..40).chain(250..260) {
            let text = "x".repeat(length);
            assert_eq!(
                first(&format!("<a b=\"{text}\">{text}&amp;{text}</a>")),
                Ok(format!("a[b={text}]({text}&{text})"))
            );
            assert_eq!(first(&format!("<a>{text}")), Err(Trouble::Ends));
        }
    }

    proptest::proptest! {
        /// What is read in one look is what the library reads: any nesting, with attributes, blanks, comments and references between.
        #[test]
        fn any_elements_are_read_as_the_library_reads_them(parts in proptest::collection::vec((0..12_u8, 0..9_usize), 0..60)) {
            const NAMES: [&str; 9] = ["note", "a", "beat-type", "part-name-display", "x1", "Note", "é", "n:a", "step"];
            const TEXTS: [&str; 9] = ["4", "quarter", " two words ", "a text of some length, and then some", "é", "", "\n", "]]", "1"];
            let (mut text, mut open) = ("<r>".to_owned(), vec!["r"]);
            for (what, which) in parts {
                let (name, words) = (NAMES[which], TEXTS[which]);
                match what {
                    0..3 => text.push_str(&format!("<{name}>{words}</{name}>")),
                    3 => text.push_str(&format!("<{name}/>")),
                    4 => text.push_str(&format!("<{name} b=\"{words}\" c='1' />")),
                    5 | 6 => text.push_str(&format!("\n{}", " ".repeat(3 * which))),
                    7 => text.push_str("&amp;"),
                    8 => text.push_str("<!-- <b> -->"),
                    9 if open.len() > 1 => text.push_str(&format!("</{}>", open.pop().unwrap_or_default())),
                    9 => text.push_str(words),
                    10 => {
                        text.push_str(&format!("<{name} d=\"{words}\">"));
                        open.push(name);
                    }
                    _ => {
                        text.push_str(&format!("<{name}>{words}"));
                        open.push(name);
                    }
                }
            }
            while let Some(name) = open.pop() {
                text.push_str(&format!("</{name}>"));
            }
            let wanted = by_the_library(&text);
            proptest::prop_assert!(wanted.is_some(), "{}", text);
            proptest::prop_assert_eq!(first(&text).ok(), wanted, "{}", text);
        }
    }

    #[test]
    fn lines_and_columns_count_from_one() {
        let xml = Xml::new("<a>\n  é<b/>\n</a>");
        assert_eq!(xml.line_column(0), (1, 1));
        assert_eq!(xml.line_column(8), (2, 4));
    }
}

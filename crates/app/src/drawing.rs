//! What of a drawing gets onto a page? Only what draws: each element and attribute is let through by name, or left out.
//!
//! Drawings are made by us and by the press, but words in them come from files. So a drawing is read as XML and written again
//! from a list of what is known to be harmless; whatever else it holds has no way onto the page. Ids are made the page's own, so that several drawings can
//! stand in one document; colours of the paper and the ink are left to the style sheet. What only says of which part of the notation something
//! is drawn, and groups that say nothing more, are left out: a page comes to the screen in half the time.

use roxmltree::{Document, Node, NodeType};
use std::collections::BTreeSet;

/// Elements that draw, or say what is drawn.
const ELEMENTS: [&str; 15] = [
    "svg", "g", "path", "rect", "circle", "ellipse", "line", "polygon", "polyline", "text", "tspan", "use",
    "defs", "title", "desc",
];
/// Attributes that say where and how.
const ATTRIBUTES: [&str; 39] = [
    "d",
    "x",
    "y",
    "x1",
    "y1",
    "x2",
    "y2",
    "dx",
    "dy",
    "cx",
    "cy",
    "r",
    "rx",
    "ry",
    "width",
    "height",
    "points",
    "transform",
    "viewBox",
    "fill",
    "fill-opacity",
    "fill-rule",
    "opacity",
    "stroke",
    "stroke-width",
    "stroke-linecap",
    "stroke-linejoin",
    "stroke-dasharray",
    "stroke-opacity",
    "stroke-miterlimit",
    "font-size",
    "font-style",
    "font-weight",
    "font-family",
    "text-anchor",
    "textLength",
    "lengthAdjust",
    "visibility",
    "preserveAspectRatio",
];
/// What the engraver calls the parts of its notation: no style sheet asks for it, places are told beside the drawing.
const OF_NOTATION: [&str; 40] = [
    "accid",
    "ambNote",
    "arpeg",
    "artic",
    "barLine",
    "beam",
    "breath",
    "chord",
    "clef",
    "dir",
    "dots",
    "dynam",
    "ending",
    "fermata",
    "flag",
    "graceGrp",
    "hairpin",
    "keyAccid",
    "keySig",
    "layer",
    "mRest",
    "mSpace",
    "measure",
    "meterSig",
    "mordent",
    "multiRest",
    "note",
    "notehead",
    "octave",
    "rend",
    "rest",
    "slur",
    "staff",
    "stem",
    "tempo",
    "tie",
    "trill",
    "tuplet",
    "tupletNum",
    "turn",
];
/// Drawings nest no deeper.
const DEEPEST: usize = 60;

/// A drawing for a page. Ids get `prefix`; `with` is put in as the last thing drawn. `None` if it is no drawing.
pub(crate) fn for_page(svg: &str, prefix: &str, with: &str) -> Option<String> {
    let document = Document::parse(svg).ok()?;
    let root = document.root_element();
    if root.tag_name().name() != "svg" {
        return None;
    }
    let mut writer = Writer {
        out: String::with_capacity(svg.len()),
        prefix,
        meant: root.descendants().filter_map(meant).collect(),
    };
    writer.svg(root, with);
    Some(writer.out)
}

struct Writer<'a> {
    out: String,
    prefix: &'a str,
    /// The ids that something in the drawing means.
    meant: BTreeSet<&'a str>,
}

/// What a node uses of its own drawing.
fn meant<'a>(node: Node<'a, '_>) -> Option<&'a str> {
    let links = node.attributes().find(|attribute| attribute.name() == "href")?;
    links.value().strip_prefix('#')
}

impl Writer<'_> {
    fn svg(&mut self, root: Node, with: &str) {
        self.out.push_str("<svg xmlns=\"http://www.w3.org/2000/svg\"");
        self.attributes(root);
        self.out.push('>');
        for child in root.children() {
            self.node(child, 0);
        }
        self.out.push_str(with);
        self.out.push_str("</svg>");
    }

    fn node(&mut self, node: Node, depth: usize) {
        match node.node_type() {
            NodeType::Text => self.escaped(node.text().unwrap_or_default()),
            NodeType::Element if depth < DEEPEST => self.element(node, depth),
            _ => {}
        }
    }

    fn element(&mut self, node: Node, depth: usize) {
        let name = node.tag_name().name();
        // A drawing in a drawing is a group; so is nothing that we have not named.
        if !ELEMENTS.contains(&name) || name == "svg" {
            return;
        }
        let begin = self.out.len();
        self.out.push('<');
        self.out.push_str(name);
        let bare = self.out.len();
        self.attributes(node);
        if name == "g" && self.out.len() == bare {
            // A group that says nothing is what stands in it.
            self.out.truncate(begin);
            for child in node.children() {
                self.node(child, depth + 1);
            }
            return;
        }
        if node.has_children() {
            self.out.push('>');
            for child in node.children() {
                self.node(child, depth + 1);
            }
            self.out.push_str("</");
            self.out.push_str(name);
            self.out.push('>');
        } else {
            self.out.push_str("/>");
        }
    }

    fn attributes(&mut self, node: Node) {
        let root = node.tag_name().name() == "svg";
        for attribute in node.attributes() {
            let (name, value) = (attribute.name(), attribute.value());
            match name {
                "id" if self.meant.contains(value) => self.attribute("id", &[self.prefix, value]),
                "class" => self.class(value),
                // Only what stands in the same drawing.
                "href" => {
                    if let Some(id) = value.strip_prefix('#') {
                        self.attribute("href", &["#", self.prefix, id]);
                    }
                }
                // The page says how large a drawing is.
                "width" | "height" if root => {}
                "fill" | "stroke" if !is_paint(value) => {}
                "role" if value == "img" => self.attribute("role", &["img"]),
                _ if ATTRIBUTES.contains(&name) => self.attribute(name, &[value]),
                _ => {}
            }
        }
    }

    fn class(&mut self, names: &str) {
        let kept: Vec<&str> = names
            .split_ascii_whitespace()
            .filter(|name| !OF_NOTATION.contains(name))
            .collect();
        if !kept.is_empty() {
            self.attribute("class", &[&kept.join(" ")]);
        }
    }

    fn attribute(&mut self, name: &str, values: &[&str]) {
        self.out.push(' ');
        self.out.push_str(name);
        self.out.push_str("=\"");
        for value in values {
            self.escaped(value);
        }
        self.out.push('"');
    }

    fn escaped(&mut self, text: &str) {
        for c in text.chars() {
            match c {
                '&' => self.out.push_str("&amp;"),
                '<' => self.out.push_str("&lt;"),
                '>' => self.out.push_str("&gt;"),
                '"' => self.out.push_str("&quot;"),
                c if notation::steers(c) => {}
                c => self.out.push(c),
            }
        }
    }
}

/// A colour that is said outright or inherited; never a reference.
fn is_paint(value: &str) -> bool {
    value.chars().all(|c| c.is_ascii_alphanumeric() || c == '#')
}

#[cfg(test)]
mod tests {
    use super::for_page;

    fn check(svg: &str, expected: &str) {
        let xmlns = "xmlns=\"http://www.w3.org/2000/svg\"";
        let svg = format!("<svg {xmlns}>{svg}</svg>");
        let expected = format!("<svg {xmlns}>{expected}</svg>");
        assert_eq!(for_page(&svg, "p1-", "").as_deref(), Some(expected.as_str()));
    }

    #[test]
    fn what_draws_is_kept() {
        check(
            "<g class=\"mark\"><path d=\"M0 0\" stroke-width=\"2\"/></g>",
            "<g class=\"mark\"><path d=\"M0 0\" stroke-width=\"2\"/></g>",
        );
        check(
            "<text x=\"1\">a &lt;b&gt; &amp; c</text>",
            "<text x=\"1\">a &lt;b&gt; &amp; c</text>",
        );
    }

    #[test]
    fn ids_are_the_pages_own() {
        check(
            "<g id=\"a\"/><use href=\"#a\"/><path id=\"b\"/>",
            "<g id=\"p1-a\"/><use href=\"#p1-a\"/><path/>",
        );
    }

    #[test]
    fn what_only_names_the_notation_is_left_out() {
        check(
            "<g class=\"measure\" id=\"b1\"><g class=\"note mark\"><g><path d=\"M0 0\"/></g></g><text>1</text></g>",
            "<g class=\"mark\"><path d=\"M0 0\"/></g><text>1</text>",
        );
    }

    #[test]
    fn what_does_not_draw_has_no_way_in() {
        for hostile in [
            "<script>alert(1)</script>",
            "<style>*{display:none}</style>",
            "<foreignObject><b/></foreignObject>",
            "<a href=\"https://evil.example\"><text>x</text></a>",
            "<image href=\"https://evil.example/x.png\"/>",
            "<animate attributeName=\"href\" values=\"javascript:alert(1)\"/>",
            "<!-- <script/> --><?pi x?>",
        ] {
            check(hostile, "");
        }
        check(
            "<g onload=\"alert(1)\" style=\"x\" fill=\"url(https://evil.example)\"/>",
            "",
        );
        check("<use href=\"https://evil.example#x\"/>", "<use/>");
        check(
            "<text>\"&gt;&lt;script&gt;</text>",
            "<text>&quot;&gt;&lt;script&gt;</text>",
        );
    }

    #[test]
    fn the_page_says_how_large_and_adds_what_it_wants() {
        let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"210mm\" viewBox=\"0 0 2 3\"><rect width=\"1\"/></svg>";
        assert_eq!(
            for_page(svg, "", "<g/>").as_deref(),
            Some(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 2 3\"><rect width=\"1\"/><g/></svg>"
            )
        );
        assert_eq!(for_page("<html/>", "", ""), None);
        assert_eq!(for_page("no drawing", "", ""), None);
    }

    #[test]
    fn a_very_deep_drawing_ends_somewhere() {
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\">{}{}</svg>",
            "<g class=\"mark\">".repeat(500),
            "</g>".repeat(500)
        );
        let page = for_page(&svg, "", "").unwrap();
        assert!(page.matches("<g").count() <= 60);
    }
}

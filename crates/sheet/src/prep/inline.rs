//! How does an engraved excerpt stand within a page? Inline, with ids of its own, its style given to the page, and said in
//! words.

use super::slot::root;
use std::fmt::Write as _;

/// An excerpt ready to stand in a page, and the styles that it needs.
pub(crate) struct Inline {
    /// The `svg` element.
    pub(crate) svg: String,
    /// What stood in its style elements.
    pub(crate) styles: Vec<String>,
}

/// Makes an SVG document a part of a page: `prefix` sets its ids apart from those of other excerpts, `alt` says what it is.
/// Scripts and foreign content have no place in an excerpt: such a document is refused.
pub(crate) fn inline(svg: &str, prefix: &str, alt: &str) -> Option<Inline> {
    let tag = root(svg)?;
    let lower = svg.to_ascii_lowercase();
    if ["<script", "<foreignobject", "<image", "javascript:"]
        .iter()
        .any(|bad| lower.contains(bad))
    {
        return None;
    }
    let from = svg.find("<svg")?;
    let end = svg.rfind("</svg>").map_or(svg.len(), |at| at + "</svg>".len());
    let body = svg.get(from + tag.len()..end)?;
    let mut styles = Vec::new();
    let body = without_styles(body, &mut styles);
    let mut out = String::with_capacity(svg.len() + alt.len());
    let tag = tag.trim_end_matches('>').trim_end_matches('/');
    let tag = without_attribute(
        &without_attribute(&without_attribute(tag, "role"), "aria-label"),
        "style",
    );
    out.push_str(&own_ids(&tag, prefix));
    let _ = write!(out, " role=\"img\" aria-label=\"{}\">", escaped(alt));
    out.push_str(&own_ids(&without_attribute(&body, "style"), prefix));
    if !out.ends_with("</svg>") {
        out.push_str("</svg>");
    }
    Some(Inline { svg: out, styles })
}

fn without_styles(body: &str, styles: &mut Vec<String>) -> String {
    let mut out = String::with_capacity(body.len());
    let mut rest = body;
    while let Some(at) = rest.find("<style") {
        let (before, from) = rest.split_at(at);
        out.push_str(before);
        let Some(open) = from.find('>') else {
            return out;
        };
        if from.get(..=open).is_some_and(|tag| tag.ends_with("/>")) {
            rest = from.get(open + 1..).unwrap_or_default();
            continue;
        }
        let Some(close) = from.find("</style>") else {
            return out;
        };
        let style = from.get(open + 1..close).unwrap_or_default();
        let style = style.replace("<![CDATA[", "").replace("]]>", "");
        // Nothing in a style may end it.
        styles.push(style.replace('<', ""));
        rest = from.get(close + "</style>".len()..).unwrap_or_default();
    }
    out.push_str(rest);
    out
}

/// Takes an attribute out of every tag.
fn without_attribute(text: &str, name: &str) -> String {
    let needle = format!(" {name}=\"");
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(&needle) {
        let (before, from) = rest.split_at(at);
        out.push_str(before);
        let value = from.get(needle.len()..).unwrap_or_default();
        rest = value.split_once('"').map_or("", |(_, after)| after);
    }
    out.push_str(rest);
    out
}

/// Ids and what refers to them, with a prefix: two excerpts may show the same bar.
fn own_ids(text: &str, prefix: &str) -> String {
    text.replace(" id=\"", &format!(" id=\"{prefix}-"))
        .replace("href=\"#", &format!("href=\"#{prefix}-"))
        .replace("url(#", &format!("url(#{prefix}-"))
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_excerpt_keeps_to_itself() {
        let svg = "<?xml version=\"1.0\"?><svg width=\"9mm\" role=\"x\"><style>.a{fill:red}</style><defs><g id=\"n1\"/></defs>\
                   <use href=\"#n1\" style=\"fill:red\" x=\"2\"/></svg>\n";
        let made = inline(svg, "key", "Bar 4: \"F♯\" <here>").unwrap();
        assert_eq!(
            made.svg,
            "<svg width=\"9mm\" role=\"img\" aria-label=\"Bar 4: &quot;F♯&quot; &lt;here&gt;\"><defs><g id=\"key-n1\"/></defs>\
             <use href=\"#key-n1\" x=\"2\"/></svg>"
        );
        assert_eq!(made.styles, [".a{fill:red}"]);
    }

    #[test]
    fn scripts_are_refused() {
        assert!(inline("<svg><SCRIPT>x</SCRIPT></svg>", "a", "").is_none());
        assert!(inline("no picture", "a", "").is_none());
        assert_eq!(
            inline("<svg/>", "a", "b").unwrap().svg,
            "<svg role=\"img\" aria-label=\"b\"></svg>"
        );
    }
}

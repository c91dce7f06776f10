//! Which fonts does a file need that stands alone? Those that it names, carried inside it.

use base64::Engine;
use fonts::{WEB, WebFont};

/// Writes the fonts that an SVG or a page names into its first style sheet; in a file without one nothing changes.
pub(crate) fn with_fonts(document: &str) -> String {
    const START: &str = "<style>";
    let Some(at) = document.find(START).map(|at| at + START.len()) else {
        return document.to_owned();
    };
    let (before, after) = document.split_at(at);
    let rules = WEB.iter().filter(|font| named(document, font)).map(rule);
    format!("{before}{}{after}", rules.collect::<String>())
}

/// Whether the document names the family and, for the words, anything in that cut.
fn named(document: &str, font: &WebFont) -> bool {
    let says = |text: &str| document.contains(text);
    let bold = says("bold") || says("<b>") || says("<h1") || says("<strong") || says("<th");
    let italic = says("italic") || says("<i>") || says("<em>");
    says(font.family) && (!font.bold || bold) && (!font.italic || italic)
}

fn rule(font: &WebFont) -> String {
    format!(
        "@font-face{{font-family:'{}';font-weight:{};font-style:{};src:url(data:font/woff2;base64,{}) format('woff2')}}",
        font.family,
        if font.bold { "bold" } else { "normal" },
        if font.italic { "italic" } else { "normal" },
        base64::engine::general_purpose::STANDARD.encode(font.woff2)
    )
}

#[cfg(test)]
mod tests {
    use super::with_fonts;

    #[test]
    fn only_what_is_named_is_carried() {
        let page =
            with_fonts("<svg><style>text{font-family:'Libertinus Serif';font-style:italic}</style></svg>");
        assert_eq!(page.matches("@font-face").count(), 2);
        assert!(!page.contains("Bravura") && !page.contains("font-weight:bold"));
        assert!(page.ends_with("font-style:italic}</style></svg>"));
        assert_eq!(with_fonts("<svg/>"), "<svg/>");
    }
}

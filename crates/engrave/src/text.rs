//! How wide are printed words, and how do they stand in an SVG?

use ttf_parser::Face;

/// Text with what XML doesn't allow in it escaped or, for control characters, left out.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\n' | '\t' => out.push(' '),
            '\0'..='\u{1f}' | '\u{7f}' | '\u{fffe}' | '\u{ffff}' => {}
            _ => out.push(c),
        }
    }
    out
}

/// The width of words in the printed letters, upright or heavier by [`HEAVIER`], in units of their size.
pub(crate) fn width(text: &str) -> f64 {
    let face = Face::parse(fonts::TEXT[0].bytes, 0).ok();
    let advance = |c: char| {
        let face = face.as_ref()?;
        let glyph = face.glyph_index(c)?;
        Some(f64::from(face.glyph_hor_advance(glyph)?) / f64::from(face.units_per_em()))
    };
    text.chars().map(|c| advance(c).unwrap_or(OTHER)).sum::<f64>() * HEAVIER
}

/// How much wider bold letters are than the upright ones, at most.
const HEAVIER: f64 = 1.06;
/// A letter that the font has not: other scripts are square.
const OTHER: f64 = 1.0;

/// Words broken into lines of at most so many times their size; a word that is longer stands alone.
pub(crate) fn lines(text: &str, most: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(line) + width(" ") + width(word) <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// A length as it stands in an SVG: hundredths, no needless zeros, never `-0`.
pub(crate) fn number(length: f64) -> String {
    if !length.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{length:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if matches!(text, "-0" | "") {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::{escaped, lines, number, width};

    #[test]
    fn words_are_escaped_and_broken() {
        assert_eq!(
            escaped("a<b> & \"c\"\u{1}\nd"),
            "a&lt;b&gt; &amp; &quot;c&quot; d"
        );
        let broken = lines("Andante con moto e molto espressivo", 8.0);
        assert!(broken.len() > 1);
        assert!(broken.iter().all(|line| width(line) <= 8.0));
        assert_eq!(broken.join(" "), "Andante con moto e molto espressivo");
        assert_eq!(lines("  ", 8.0), Vec::<String>::new());
    }

    #[test]
    fn numbers_are_short() {
        assert_eq!(number(12.0), "12");
        assert_eq!(number(-0.001), "0");
        assert_eq!(number(2.71999), "2.72");
        assert_eq!(number(f64::NAN), "0");
    }
}

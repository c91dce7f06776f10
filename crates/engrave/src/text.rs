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

/// Escaped words in which sharps, flats and naturals stand as high as letters do: the music font, which has them, hangs them
/// at the height of a note. `size` is that of the words, in units.
pub(crate) fn with_accidentals(text: &str, size: f64) -> String {
    let mut out = String::new();
    let up = number(0.06 * size);
    let mut raised = false;
    for run in text.split_inclusive(is_accidental) {
        let (words, sign) = match run.char_indices().last().filter(|(_, c)| is_accidental(*c)) {
            Some((at, sign)) => (run.get(..at).unwrap_or(""), Some(sign)),
            None => (run, None),
        };
        if raised && !words.is_empty() {
            out.push_str(&format!("<tspan dy=\"{up}\">{}</tspan>", escaped(words)));
            raised = false;
        } else {
            out.push_str(&escaped(words));
        }
        if let Some(sign) = sign {
            let rise = if raised {
                String::new()
            } else {
                format!(" dy=\"-{up}\"")
            };
            out.push_str(&format!("<tspan class=\"accidental\"{rise}>{sign}</tspan>"));
            raised = true;
        }
    }
    out
}

const fn is_accidental(c: char) -> bool {
    matches!(c, '♭' | '♮' | '♯')
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
    use super::{escaped, lines, number, width, with_accidentals};

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
    fn accidentals_stand_as_high_as_letters_and_what_follows_on_the_line() {
        assert_eq!(with_accidentals("a < b", 100.0), "a &lt; b");
        assert_eq!(
            with_accidentals("in B♭ and F", 100.0),
            "in B<tspan class=\"accidental\" dy=\"-6\">♭</tspan><tspan dy=\"6\"> and F</tspan>"
        );
        assert_eq!(
            with_accidentals("♭♭", 100.0),
            "<tspan class=\"accidental\" dy=\"-6\">♭</tspan><tspan class=\"accidental\">♭</tspan>"
        );
    }

    #[test]
    fn numbers_are_short() {
        assert_eq!(number(12.0), "12");
        assert_eq!(number(-0.001), "0");
        assert_eq!(number(2.71999), "2.72");
        assert_eq!(number(f64::NAN), "0");
    }
}

//! How does a value stand in typesetter's source? As literals only: no word of a file is ever read as markup.
//!
//! Source: Typst 0.15, language reference, strings: `\\`, `\"`, `\n`, `\u{…}` are the escapes of a string.

use crate::letters::has;
use crate::words::HELD;
use std::fmt::Write as _;

/// A document for the typesetter, and the files that its source names.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct TypstSheet {
    /// The source.
    pub source: String,
    /// The files by name.
    pub files: Vec<(String, Vec<u8>)>,
}

/// The paper it is printed on.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Paper {
    /// 210 × 297 mm. Source: ISO 216.
    #[default]
    A4,
    /// 8½ × 11 inches. Source: ANSI/ASME Y14.1.
    Letter,
}

impl Paper {
    /// The typesetter's name of it.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "us-letter",
        }
    }
}

/// A value in source.
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum Typ {
    /// `none`.
    None,
    /// `true`, `false`.
    Yes(bool),
    /// A number.
    Number(f64),
    /// A text.
    Text(String),
    /// `(a, b,)`.
    List(Vec<Typ>),
    /// `(key: value,)`; keys are our own identifiers.
    Dict(Vec<(&'static str, Typ)>),
}

impl Typ {
    /// A text in the words of the player.
    pub(crate) fn text(text: impl AsRef<str>) -> Self {
        Self::Text(text.as_ref().to_owned())
    }

    /// A list of values made from others.
    pub(crate) fn list<T>(items: impl IntoIterator<Item = T>, each: impl Fn(T) -> Self) -> Self {
        Self::List(items.into_iter().map(each).collect())
    }

    /// The literal.
    pub(crate) fn source(&self) -> String {
        let mut out = String::new();
        self.write(&mut out);
        out
    }

    /// What follows it in a list: what has parts ends its line, so that sources can be compared.
    const fn after(&self) -> &'static str {
        match self {
            Self::List(_) | Self::Dict(_) => ",\n",
            _ => ", ",
        }
    }

    fn write(&self, out: &mut String) {
        match self {
            Self::None => out.push_str("none"),
            Self::Yes(yes) => out.push_str(if *yes { "true" } else { "false" }),
            Self::Number(number) => {
                let number = if number.is_finite() { *number } else { 0.0 };
                let _ = write!(out, "{number:.2}");
            }
            Self::Text(text) => literal(out, text),
            Self::List(items) => {
                out.push('(');
                for item in items {
                    item.write(out);
                    out.push_str(item.after());
                }
                out.push(')');
            }
            Self::Dict(pairs) => {
                out.push('(');
                if pairs.is_empty() {
                    out.push(':');
                }
                for (key, value) in pairs {
                    let _ = write!(out, "{key}: ");
                    value.write(out);
                    out.push_str(value.after());
                }
                out.push(')');
            }
        }
    }
}

/// Words longer than this may be broken anywhere.
const LONGEST_WORD: usize = 36;

/// A text as a string literal: white space is one space, control signs and signs that turn the direction of writing are
/// left out, letters that the fonts don't have stand as `…`, and a word too long for a line may be broken.
fn literal(out: &mut String, text: &str) {
    out.push('"');
    let mut word = 0;
    let mut space = false;
    for c in text.chars() {
        if c.is_whitespace() && c != HELD {
            (space, word) = (true, 0);
            continue;
        }
        if c.is_control() || notation::steers(c) {
            continue;
        }
        if space {
            out.push(' ');
            space = false;
        }
        if !has(c) {
            // Letters that would be empty boxes on the paper.
            if !out.ends_with('…') {
                out.push('…');
            }
            continue;
        }
        word += 1;
        if word > LONGEST_WORD {
            out.push_str("\\u{200b}");
            word = 1;
        }
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c => out.push(c),
        }
    }
    out.push('"');
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_words_are_words() {
        let source = |text: &str| Typ::text(text).source();
        assert_eq!(source("#import \"x\": *"), r##""#import \"x\": *""##);
        assert_eq!(source(r"a\"), r#""a\\""#);
        assert_eq!(source("$ x $ ] } ) \u{0}\n\tend"), "\"$ x $ ] } ) end\"");
        assert_eq!(source("\u{202e}abc"), "\"abc\"");
        assert_eq!(source("月の光 (Clair)"), "\"… (Clair)\"");
        assert_eq!(source(&"x".repeat(40)).matches("\\u{200b}").count(), 1);
    }

    #[test]
    fn lists_of_one_and_of_none_are_lists() {
        assert_eq!(Typ::List(vec![Typ::Yes(true)]).source(), "(true, )");
        assert_eq!(Typ::List(Vec::new()).source(), "()");
        assert_eq!(Typ::Dict(Vec::new()).source(), "(:)");
        assert_eq!(
            Typ::Dict(vec![("a", Typ::Number(f64::NAN))]).source(),
            "(a: 0.00, )"
        );
    }
}

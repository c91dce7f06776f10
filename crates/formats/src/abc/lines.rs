//! What is each line of a tune? Fields with their continuations, directives, music; comments taken off.
//!
//! Source: ABC 2.1, sections 2.2.5 (comments), 2.2.6 (continuation of lines), 3.3 (field continuation `+:`).

use super::tunebook::{lines, without_comment};
use std::borrow::Cow;

/// A line of a tune.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Line<'a> {
    /// An information field: its letter and its value without comment.
    Field(u8, Cow<'a, str>),
    /// A stylesheet directive: what stands after `%%`.
    Directive(&'a str),
    /// Music; true if a `\` at its end joins the next line of music to it.
    Music(&'a str, bool),
    /// An empty line.
    Empty,
    /// `%`: nothing.
    Comment,
}

/// Splits a tune's text into lines, each with the byte at which its value starts.
pub(super) fn split(text: &str) -> Vec<(usize, Line<'_>)> {
    let mut out: Vec<(usize, Line<'_>)> = Vec::new();
    // `%%begintext` … `%%endtext`: lines of text, whatever they look like.
    let mut in_text = false;
    // The field that a `+:` line goes on with.
    let mut last_field: Option<usize> = None;
    for (at, line) in lines(text) {
        if let Some(directive) = line.strip_prefix("%%") {
            let name = directive.trim_start();
            if name.starts_with("begin") {
                in_text = true;
            } else if name.starts_with("end") {
                in_text = false;
            }
            out.push((at + 2, Line::Directive(directive)));
            continue;
        }
        if in_text {
            out.push((at, Line::Comment));
            continue;
        }
        if line.trim().is_empty() {
            out.push((at, Line::Empty));
            continue;
        }
        if line.starts_with('%') {
            out.push((at, Line::Comment));
            continue;
        }
        if let Some(more) = line.strip_prefix("+:") {
            let more = without_comment(more);
            let joined = last_field.and_then(|index| out.get_mut(index));
            match joined {
                Some((_, Line::Field(_, value))) => {
                    let value = value.to_mut();
                    while value.ends_with([' ', '\t']) {
                        value.pop();
                    }
                    value.push(' ');
                    value.push_str(more.trim());
                }
                _ => out.push((at + 2, Line::Field(b'+', Cow::Borrowed(more)))),
            }
            continue;
        }
        if let Some(letter) = field_letter(line) {
            last_field = Some(out.len());
            let value = without_comment(line.get(2..).unwrap_or_default());
            out.push((at + 2, Line::Field(letter, Cow::Borrowed(value.trim_end()))));
            continue;
        }
        let music = without_comment(line).trim_end();
        let (music, joined) = match music.strip_suffix('\\') {
            Some(rest) => (rest, true),
            None => (music, false),
        };
        last_field = None;
        out.push((at, Line::Music(music, joined)));
    }
    out
}

/// The letter of an information field; `None` for music such as `d:|`, which only looks like one.
fn field_letter(line: &str) -> Option<u8> {
    let [letter, b':', rest @ ..] = line.as_bytes() else {
        return None;
    };
    let music = matches!(letter, b'a'..=b'g' | b'A'..=b'G' | b'x'..=b'z')
        && matches!(rest.first(), Some(b'|' | b':'));
    (letter.is_ascii_alphabetic() && !music).then_some(*letter)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_by_kind() {
        let text = "X:1 % first\nH:a story\n% between\n+: that goes on\nK:C\nCDE\\ % joined\nd:|\n\n%%newpage\n+:lost\n";
        let said: Vec<Line<'_>> = split(text).into_iter().map(|(_, line)| line).collect();
        assert_eq!(said[0], Line::Field(b'X', Cow::Borrowed("1")));
        assert_eq!(
            said[1],
            Line::Field(b'H', Cow::Owned("a story that goes on".to_owned()))
        );
        assert_eq!(said[4], Line::Music("CDE", true));
        assert_eq!(said[5], Line::Music("d:|", false));
        assert_eq!(said[6], Line::Empty);
        assert_eq!(said[7], Line::Directive("newpage"));
        assert!(matches!(said[8], Line::Field(b'+', _)));
    }
}

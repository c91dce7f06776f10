//! Where do the tunes of a book start and end? Recognises ABC by its content, lists the tunes, finds the file header.
//!
//! Source: ABC 2.1, section 2.2: a tune starts with `X:` and ends with an empty line; a file header stands before
//! the first tune and is separated from it by an empty line.

use crate::Tune;
use std::ops::Range;

/// Bytes that are looked through for a tune; text of more than this before the first tune is no tunebook.
const LOOK: usize = 4_000_000;

/// True if the bytes hold a tune in ABC: an `X:` line and a `K:` line after it, or a tune without `X:` from its start.
pub(super) fn looks_like(bytes: &[u8]) -> bool {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if matches!(bytes, [0xff, 0xfe, ..] | [0xfe, 0xff, ..]) {
        // Two bytes a character: the ASCII that fields are made of stands in every other one.
        let narrow: Vec<u8> = bytes.iter().take(LOOK).copied().filter(|b| *b != 0).collect();
        return narrow.get(2..).is_some_and(plain_looks_like);
    }
    plain_looks_like(bytes)
}

fn plain_looks_like(bytes: &[u8]) -> bool {
    let head = bytes.get(..bytes.len().min(LOOK)).unwrap_or_default();
    if head.get(..head.len().min(8192)).unwrap_or_default().contains(&0) {
        return false;
    }
    let mut numbered = false;
    // Without an X: line the first line that says something must be a field.
    let mut bare = None;
    let mut first = true;
    let mut keyed = false;
    for line in head.split(|b| matches!(b, b'\n' | b'\r')) {
        let text = line.trim_ascii();
        if text.is_empty() || text.starts_with(b"%") {
            continue;
        }
        let field = match line {
            [letter, b':', rest @ ..] if letter.is_ascii_alphabetic() => Some((*letter, rest.trim_ascii())),
            _ => None,
        };
        if first {
            first = false;
            bare = Some(field.is_some());
        }
        match field {
            Some((b'X', rest)) if rest.first().is_none_or(u8::is_ascii_digit) => numbered = true,
            Some((b'K', rest)) => {
                if numbered {
                    return true;
                }
                keyed |= bare == Some(true) && is_key(rest);
            }
            None if keyed && is_music(text) => return true,
            _ => {}
        }
    }
    false
}

/// A key as in `K:G`, `K:Am`, `K:none`.
fn is_key(text: &[u8]) -> bool {
    match text {
        [] => true,
        [b'A'..=b'G']
        | [
            b'A'..=b'G',
            b'#' | b'b' | b'm' | b' ' | b'M' | b'D' | b'd' | b'L' | b'l' | b'P' | b'p',
            ..,
        ] => true,
        [b'H', b'P' | b'p', ..] => true,
        _ => {
            text.starts_with(b"none")
                || text.starts_with(b"clef=")
                || text.starts_with(b"treble")
                || text.starts_with(b"bass")
        }
    }
}

/// A line of notes and bar lines rather than of words.
fn is_music(text: &[u8]) -> bool {
    let words = text
        .split(|b| !b.is_ascii_alphabetic())
        .any(|word| word.len() > 3 && word.iter().any(|b| matches!(b, b'h'..=b'y' | b'H'..=b'Y')));
    text.contains(&b'|') || !words && text.iter().any(|b| matches!(b, b'A'..=b'G' | b'a'..=b'g'))
}

/// A text line by line: where each starts and the line without its end. `\n`, `\r\n` and `\r` end a line.
pub(super) fn lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let mut at = 0;
    std::iter::from_fn(move || {
        let rest = text.get(at..).filter(|rest| !rest.is_empty())?;
        let start = at;
        let end = rest.find(['\n', '\r']).unwrap_or(rest.len());
        let line = rest.get(..end).unwrap_or_default();
        let broken = rest.as_bytes().get(end..).unwrap_or_default();
        at += end
            + match broken {
                [b'\r', b'\n', ..] => 2,
                [] => 0,
                _ => 1,
            };
        Some((start, line))
    })
}

/// The tunes of a book in order. A text without any `X:` line is one tune without a number.
pub(super) fn tunes(text: &str) -> Vec<Tune> {
    let mut tunes: Vec<Tune> = Vec::new();
    // A title only in a tune's header: up to its K:.
    let mut titled = false;
    for (at, line) in lines(text) {
        let bytes = line.as_bytes();
        if bytes.get(1) != Some(&b':') {
            continue;
        }
        match bytes.first() {
            Some(b'X') if starts_tune(line) => {
                if let Some(last) = tunes.last_mut() {
                    last.range.1 = at;
                }
                titled = false;
                tunes.push(Tune {
                    number: without_comment(line.get(2..).unwrap_or_default())
                        .trim()
                        .to_owned(),
                    title: String::new(),
                    range: (at, text.len()),
                });
            }
            Some(b'T') if !titled => {
                if let Some(last) = tunes.last_mut() {
                    let title = super::text::plain(without_comment(line.get(2..).unwrap_or_default()));
                    title.trim().clone_into(&mut last.title);
                    titled = true;
                }
            }
            Some(b'K') => titled = true,
            _ => {}
        }
    }
    if tunes.is_empty() && !text.trim().is_empty() {
        let title = lines(text).find_map(|(_, line)| line.strip_prefix("T:"));
        tunes.push(Tune {
            number: String::new(),
            title: super::text::plain(without_comment(title.unwrap_or_default()))
                .trim()
                .to_owned(),
            range: (0, text.len()),
        });
    }
    tunes
}

/// An `X:` line that starts a tune: empty or with a number.
fn starts_tune(line: &str) -> bool {
    let rest = line.get(2..).unwrap_or_default().trim_start();
    rest.is_empty() || rest.starts_with(|c: char| c.is_ascii_digit() || c == '%')
}

/// The file header: what stands before the first tune, up to the first empty line after its first field.
/// Source: ABC 2.1, section 2.2.2.
pub(super) fn file_header(text: &str) -> Range<usize> {
    let mut end = 0;
    let mut started = false;
    for (at, line) in lines(text) {
        if line.starts_with("X:") && starts_tune(line) {
            return if started { 0..at } else { 0..0 };
        }
        if line.trim().is_empty() {
            if started {
                return 0..at;
            }
            continue;
        }
        let bytes = line.as_bytes();
        let field = bytes.get(1) == Some(&b':') && bytes.first().is_some_and(u8::is_ascii_alphabetic);
        if !started && !field && !line.starts_with('%') {
            // Free text before the first tune: no header.
            return 0..0;
        }
        started = true;
        end = at + line.len();
    }
    // No tune follows: it is the tune itself.
    let _ = end;
    0..0
}

/// A line without the comment at its end. `\%` is a percent sign.
pub(super) fn without_comment(line: &str) -> &str {
    let bytes = line.as_bytes();
    let mut from = 0;
    while let Some(found) = line.get(from..).and_then(|rest| rest.find('%')) {
        let at = from + found;
        if at == 0 || bytes.get(at - 1) != Some(&b'\\') {
            return line.get(..at).unwrap_or_default();
        }
        from = at + 1;
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn recognises_abc_by_its_content() {
        for text in [
            "X:1\nK:G\nGAB|\n",
            "X: 1\nT:A tune\nK: G\n",
            "%abc-2.1\nX:1\nK:C\n",
            "\u{feff}X:1\nK:C\nC|",
            "\n\n% a comment\nX:1\nT:x\nK:Am\nA|",
            "A book of tunes\nwritten down in a hurry.\n\nX:1\nT:x\nK:D\nd|",
            "T:No number\nM:4/4\nK:G\nGABc|",
            "K:G\nGABc",
            "X:1\rT:old line ends\rK:C\rC|",
        ] {
            assert!(looks_like(text.as_bytes()), "{text:?}");
        }
        for text in [
            "",
            "dear diary",
            "X:1 marks the spot\n",
            "K: see below\nmany words here",
            "**kern\n4c\n*-\n",
            "T:\nK:G\n",
        ] {
            assert!(!looks_like(text.as_bytes()), "{text:?}");
        }
        assert!(!looks_like(b"X:1\nK:C\n\0\0\0"));
        let wide: Vec<u8> = [0xff, 0xfe]
            .into_iter()
            .chain("X:1\nK:C\nC|".bytes().flat_map(|b| [b, 0]))
            .collect();
        assert!(looks_like(&wide));
    }

    #[test]
    fn lists_the_tunes_with_number_and_first_title() {
        let book = "%abc\nM:4/4\n\nX:1\nT:One % not this\nT:Uno\nK:C\nC|\n\nX: 07\nK:C\nT:a heading\nC|\nX:\nT:\\'Etude\nK:C\nC\n";
        let listed = tunes(book);
        let said: Vec<(&str, &str)> = listed
            .iter()
            .map(|t| (t.number.as_str(), t.title.as_str()))
            .collect();
        assert_eq!(said, [("1", "One"), ("07", ""), ("", "Étude")]);
        assert!(book[listed[1].range.0..listed[1].range.1].starts_with("X: 07"));
        assert_eq!(&book[file_header(book)], "%abc\nM:4/4\n");
        assert_eq!(file_header("free text\n\nX:1\nK:C\n"), 0..0);
    }
}

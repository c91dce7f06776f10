//! How fast, by the words and the metronome mark of a `tempo`? The print rules; attributes fill in what it leaves out.
//!
//! Source: MEI 5.0, tempo, att.mmTempo (`mm`, `mm.unit`, `mm.dots`); SMuFL 1.4, range "Metronome marks".

use super::text::letters;
use super::values::{note_value, short};
use crate::xml::El;
use notation::{DirectionKind, Metronome, MetronomeValue, NoteValue};

/// The note value of a note drawn in a text.
fn drawn(c: char) -> Option<NoteValue> {
    Some(match c {
        '\u{ECA0}' | '\u{ECA1}' => NoteValue::Breve,
        '\u{ECA2}' | '\u{E1D2}' | '\u{1D15D}' => NoteValue::Whole,
        '\u{ECA3}' | '\u{ECA4}' | '\u{E1D3}' | '\u{E1D4}' | '\u{1D15E}' => NoteValue::Half,
        '\u{ECA5}' | '\u{ECA6}' | '\u{E1D5}' | '\u{E1D6}' | '\u{1D15F}' | '♩' => NoteValue::Quarter,
        '\u{ECA7}' | '\u{ECA8}' | '\u{E1D7}' | '\u{E1D8}' | '\u{1D160}' | '♪' => NoteValue::Eighth,
        '\u{ECA9}' | '\u{ECAA}' | '\u{E1D9}' | '\u{E1DA}' | '\u{1D161}' | '♬' => NoteValue::N16th,
        '\u{ECAB}' | '\u{ECAC}' | '\u{E1DB}' | '\u{E1DC}' | '\u{1D162}' => NoteValue::N32nd,
        _ => return None,
    })
}

const fn is_dot(c: char) -> bool {
    matches!(c, '\u{ECB7}' | '\u{E1E7}' | '\u{1D16D}')
}

/// Words and metronome mark of a tempo whose text is `text`, each with whether it is printed.
pub(super) fn read(el: El<'_, '_>, text: &str) -> Vec<(DirectionKind, bool)> {
    let stated = attributes(el);
    let Some(equals) = text.find('=') else {
        let words = letters(text).trim().to_owned();
        let mut said = Vec::new();
        let bare = words.is_empty();
        if !bare {
            said.push((DirectionKind::Words(words), true));
        }
        // Where the text has words only, the numbers are the encoder's.
        said.extend(stated.map(|mark| (DirectionKind::Metronome(mark), bare)));
        return said;
    };
    let (before, after) = text.split_at(equals);
    let after = after.get(1..).unwrap_or_default();
    let (words, beat) = split_beat(before);
    let (value, rest) = value_of(after);
    let beat = beat.or_else(|| stated.as_ref().map(|mark| (mark.beat, mark.dots)));
    let value = value.or_else(|| stated.map(|mark| mark.value));
    let opens = words.trim_end().ends_with(['(', '[']);
    let words = words.trim().trim_end_matches(['(', '[']).trim();
    let rest = rest.trim();
    let rest = if opens {
        rest.trim_start_matches([')', ']']).trim()
    } else {
        rest
    };
    let (Some((beat, dots)), Some(value)) = (beat, value) else {
        let all = letters(text).trim().to_owned();
        return if all.is_empty() {
            Vec::new()
        } else {
            vec![(DirectionKind::Words(all), true)]
        };
    };
    let mut said = Vec::new();
    let mut push = |words: &str| {
        let words = letters(words).trim().to_owned();
        if !words.is_empty() {
            said.push((DirectionKind::Words(words), true));
        }
    };
    push(words);
    let mark = Metronome {
        beat,
        dots,
        value,
        parentheses: opens,
    };
    push(rest);
    let at = usize::from(!letters(words).trim().is_empty());
    said.insert(at.min(said.len()), (DirectionKind::Metronome(mark), true));
    said
}

/// The metronome mark that the attributes say.
fn attributes(el: El<'_, '_>) -> Option<Metronome> {
    let speed = el.attr("mm").filter(|mm| !mm.is_empty())?;
    let beat = note_value(el.attr("mm.unit").unwrap_or("4"))?;
    let dots = el.attr("mm.dots").and_then(|dots| dots.parse().ok()).unwrap_or(0);
    Some(Metronome {
        beat,
        dots,
        value: MetronomeValue::PerMinute(short(speed)),
        parentheses: false,
    })
}

/// The words before a drawn note, and the note with its dots.
fn split_beat(text: &str) -> (&str, Option<(NoteValue, u8)>) {
    let trimmed = text.trim_end();
    let found = trimmed
        .char_indices()
        .rev()
        .find_map(|(at, c)| drawn(c).map(|value| (at, c, value)));
    let Some((at, c, value)) = found else {
        return (text, None);
    };
    let after = trimmed.get(at + c.len_utf8()..).unwrap_or_default();
    let dots = after.chars().filter(|c| is_dot(*c) || *c == '.').count();
    if after
        .chars()
        .any(|c| !is_dot(c) && c != '.' && !c.is_whitespace())
    {
        return (text, None);
    }
    (
        trimmed.get(..at).unwrap_or_default(),
        Some((value, u8::try_from(dots).unwrap_or(0).min(4))),
    )
}

/// What follows the equals sign: another note, or the number with what belongs to it; and the rest of the text.
fn value_of(text: &str) -> (Option<MetronomeValue>, &str) {
    let text = text.trim_start();
    if let Some(first) = text.chars().next()
        && let Some(value) = drawn(first)
    {
        let rest = text.get(first.len_utf8()..).unwrap_or_default();
        let dots = rest.chars().take_while(|c| is_dot(*c)).count();
        let rest = rest.trim_start_matches(is_dot);
        return (
            Some(MetronomeValue::Equals(value, u8::try_from(dots).unwrap_or(0))),
            rest,
        );
    }
    // `c. 96`, `ca. 100-108`, `132 – 126`.
    let is_part = |c: char| c.is_ascii_digit() || " .-–—".contains(c);
    let start = text.find(|c: char| c.is_ascii_digit());
    let Some(start) = start.filter(|start| *start <= 8) else {
        return (None, text);
    };
    let tail = text.get(start..).unwrap_or_default();
    let end = tail.find(|c| !is_part(c)).unwrap_or(tail.len());
    let number = tail
        .get(..end)
        .unwrap_or_default()
        .trim_end_matches(|c| " .-–—".contains(c));
    let said = format!("{}{number}", text.get(..start).unwrap_or_default());
    let rest = tail.get(number.len()..).unwrap_or_default();
    (Some(MetronomeValue::PerMinute(short(&said))), rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_beat_and_what_it_is_set_to() {
        assert_eq!(
            split_beat("Allegro \u{ECA5}\u{ECB7} "),
            ("Allegro ", Some((NoteValue::Quarter, 1)))
        );
        assert_eq!(split_beat("Allegro "), ("Allegro ", None));
        assert_eq!(
            value_of(" c. 96 ma"),
            (Some(MetronomeValue::PerMinute("c. 96".to_owned())), " ma")
        );
        assert_eq!(
            value_of("100-108)"),
            (Some(MetronomeValue::PerMinute("100-108".to_owned())), ")")
        );
        assert_eq!(
            value_of(" ♪"),
            (Some(MetronomeValue::Equals(NoteValue::Eighth, 0)), "")
        );
        assert_eq!(value_of(" quick"), (None, "quick"));
    }
}

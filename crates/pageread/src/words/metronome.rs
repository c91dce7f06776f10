//! Is there a metronome mark in this line? `Allegro (♩ = 96)`, `♩. = c. 60`, `♩ = ♪`.

use notation::{Metronome, MetronomeValue, NoteValue};

/// The words before it, the mark, the words after it.
pub(super) fn metronome(said: &str) -> Option<(&str, Metronome, &str)> {
    let equals = said.find('=')?;
    let (left, right) = (said[..equals].trim_end(), said[equals + 1..].trim_start());
    // Where nothing stands before it, its note was not seen.
    let bare = left.trim_matches(['(', '[', ' ']).is_empty();
    let (before, beat, dots) = beat_at_end(left).or_else(|| bare.then_some((left, NoteValue::Quarter, 0)))?;
    let (value, after) = value_at_start(right)?;
    let open = before.trim_end().ends_with(['(', '[']);
    let mark = Metronome {
        beat,
        dots,
        value,
        parentheses: open,
    };
    // A note that was seen twice.
    let before = before
        .trim_end_matches(['(', '[', ' ', '♩', '♪', '♫', '♬'])
        .trim();
    let after = after.trim_start().trim_start_matches([')', ']']).trim();
    Some((before, mark, after))
}

/// The note before the sign of equality, dots included.
fn beat_at_end(left: &str) -> Option<(&str, NoteValue, u8)> {
    let bare = left.trim_end_matches(['.', '·', ' ']);
    let dots = u8::try_from(left[bare.len()..].matches(['.', '·']).count()).unwrap_or(0);
    let letter = bare.chars().next_back()?;
    let before = &bare[..bare.len() - letter.len_utf8()];
    let beat = note(letter).or_else(|| {
        // A note that was read as a letter stands alone.
        let alone = before.is_empty() || before.ends_with([' ', '(', '[']);
        (alone && matches!(letter, 'J' | 'j' | 'd')).then_some(NoteValue::Quarter)
    })?;
    Some((before, beat, dots.min(2)))
}

fn note(letter: char) -> Option<NoteValue> {
    Some(match letter {
        '♩' => NoteValue::Quarter,
        '♪' => NoteValue::Eighth,
        '♫' => NoteValue::N16th,
        '♬' => NoteValue::Half,
        _ => return None,
    })
}

/// A number, a range, `c.` and a number, or another note.
pub(crate) fn value_at_start(right: &str) -> Option<(MetronomeValue, &str)> {
    let mut letters = right.chars();
    if let Some(beat) = letters.next().and_then(note) {
        let rest = letters.as_str();
        let after = rest.trim_start_matches(['.', '·']);
        let dots = u8::try_from((rest.len() - after.len()).min(2)).unwrap_or(0);
        return Some((MetronomeValue::Equals(beat, dots), after));
    }
    let mut end = 0;
    let mut digits = 0;
    for (at, letter) in right.char_indices() {
        let part_of_it = letter.is_ascii_digit()
            || matches!(letter, '–' | '-' | ' ' | '.' | '/')
            || (digits == 0 && matches!(letter, 'c' | 'a' | 'i' | 'r'));
        if !part_of_it {
            break;
        }
        digits += usize::from(letter.is_ascii_digit());
        if letter.is_ascii_digit() {
            end = at + 1;
        }
    }
    (digits >= 2).then(|| {
        (
            MetronomeValue::PerMinute(right[..end].trim().to_owned()),
            &right[end..],
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(said: &str) -> Option<(String, NoteValue, u8, String, bool)> {
        metronome(said).map(|(before, mark, after)| {
            let value = match mark.value {
                MetronomeValue::PerMinute(text) => format!("{text}{after}"),
                MetronomeValue::Equals(beat, dots) => format!("{beat:?}{dots}{after}"),
            };
            (before.to_owned(), mark.beat, mark.dots, value, mark.parentheses)
        })
    }

    #[test]
    fn marks_are_found_alone_and_behind_words() {
        let is = |said: &str, before: &str, beat, dots, value: &str, open| {
            assert_eq!(
                read(said),
                Some((before.to_owned(), beat, dots, value.to_owned(), open)),
                "{said}"
            );
        };
        is("♩ = 96", "", NoteValue::Quarter, 0, "96", false);
        is("Allegro (♩=112)", "Allegro", NoteValue::Quarter, 0, "112", true);
        is("♩. = c. 60", "", NoteValue::Quarter, 1, "c. 60", false);
        is("Lento ♪ = 72–80", "Lento", NoteValue::Eighth, 0, "72–80", false);
        is("(♩ = ♪)", "", NoteValue::Quarter, 0, "Eighth0", true);
        is("♬ = ♩.", "", NoteValue::Half, 0, "Quarter1", false);
        is("Lent ♬ ♩ = 60", "Lent", NoteValue::Quarter, 0, "60", false);
        is("Vivo J = 120", "Vivo", NoteValue::Quarter, 0, "120", false);
        assert_eq!(read("a = b"), None);
        assert_eq!(read("second = 5"), None);
        is("= 60", "", NoteValue::Quarter, 0, "60", false);
        assert_eq!(read("="), None);
    }
}

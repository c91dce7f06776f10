//! What are the lines of text on a page? Metronome marks, rehearsal marks, bar numbers and words, told apart; letters that were read
//! wrongly put right by the dictionary of terms, where the reader was not sure of them.

pub(crate) mod metronome;

use crate::text::TextKind;
use notation::Metronome;
use std::borrow::Cow;
use terms::Spelling;

/// What a line of text is.
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum Text {
    /// A metronome mark, with the words before and after it.
    Metronome {
        before: Option<String>,
        mark: Metronome,
        after: Option<String>,
    },
    /// A rehearsal letter or number: in a frame, or a capital alone.
    Rehearsal { text: String, framed: bool },
    /// Figures alone: a bar number, a fingering, the number of an ending or a tuplet.
    Figures(u32),
    /// A dynamic mark by its letters.
    Dynamic(String),
    /// Anything else.
    Words(String),
}

/// Letters that a sign beside the notes is made of.
const DYNAMICS: [&str; 20] = [
    "p", "pp", "ppp", "pppp", "f", "ff", "fff", "ffff", "mp", "mf", "sf", "sfz", "fz", "fp", "sfp", "rf",
    "rfz", "sffz", "pf", "n",
];

/// What a line says; `None` if it says nothing (a stray point, a stroke taken for a letter).
pub(crate) fn text_of(said: &str) -> Option<Text> {
    let said = said.trim();
    if let Some(inside) = said.strip_prefix('⟦') {
        let inside = inside.trim_end_matches('⟧').trim();
        // The hook and the line of an ending look like a frame around its number.
        if let Some(number) = inside.strip_suffix('.')
            && let Ok(number) = number.parse()
        {
            return Some(Text::Figures(number));
        }
        let says = inside.chars().any(char::is_alphanumeric);
        return says.then(|| Text::Rehearsal {
            text: inside.to_owned(),
            framed: true,
        });
    }
    let said: Cow<'_, str> = if said.contains(['⟦', '⟧']) {
        Cow::Owned(said.replace(['⟦', '⟧'], "").trim().to_owned())
    } else {
        Cow::Borrowed(said)
    };
    let said = said.trim();
    if let Some((before, mark, after)) = metronome::metronome(said) {
        let kept = |text: &str| worth(text).then(|| text.to_owned());
        return Some(Text::Metronome {
            before: kept(before),
            mark,
            after: kept(after),
        });
    }
    let figures = said.trim_matches(['.', '[', ']', '(', ')']);
    if !figures.is_empty()
        && figures.chars().all(|c| c.is_ascii_digit())
        && let Ok(number) = figures.parse()
    {
        return Some(Text::Figures(number));
    }
    if DYNAMICS.contains(&said) {
        return Some(Text::Dynamic(said.to_owned()));
    }
    let mut letters = said.chars();
    if let (Some(letter), None) = (letters.next(), letters.next())
        && letter.is_ascii_uppercase()
    {
        return Some(Text::Rehearsal {
            text: said.to_owned(),
            framed: false,
        });
    }
    worth(said).then(|| Text::Words(said.to_owned()))
}

/// Whether a text says anything: two letters or a figure.
fn worth(text: &str) -> bool {
    text.chars().filter(|c| c.is_alphabetic()).count() >= 2 || text.chars().any(|c| c.is_ascii_digit())
}

/// Whether a text names a chord (`C`, `B♭m7`, `F#dim`): letters over a tune for whoever goes along. Source: common practice.
pub(crate) fn is_chord(text: &str) -> bool {
    let mut rest = text.trim();
    let Some(root) = rest.chars().next().filter(|c| matches!(c, 'A'..='G')) else {
        return false;
    };
    rest = &rest[root.len_utf8()..];
    rest = rest.strip_prefix(['b', '#', '♭', '♯']).unwrap_or(rest);
    while !rest.is_empty() {
        let known = [
            "maj", "min", "dim", "aug", "sus", "add", "m", "M", "6", "7", "9", "11", "13", "4", "2", "5",
            "+", "°", "/",
        ];
        let bass = rest.strip_prefix(['A', 'B', 'C', 'D', 'E', 'F', 'G', 'b', '#', '♭', '♯']);
        match known.iter().find_map(|part| rest.strip_prefix(part)).or(bass) {
            Some(after) => rest = after,
            None => return false,
        }
    }
    true
}

/// The reader is sure enough of a line from here on that its letters are left as they were read.
const SURE: f32 = 0.97;

/// Words with what was read wrongly put right: a word that misses a term of the dictionary by a letter or two, in a line that the
/// reader was not sure of. `None` if nothing was to be put right.
pub(crate) fn put_right(text: &str, sure: f32) -> Option<String> {
    if sure >= SURE {
        return None;
    }
    let reading = terms::read(text);
    let mut out = text.to_owned();
    let mut changed = false;
    for word in reading.words.iter().rev() {
        if let Spelling::Misspelt { of } = &word.spelling
            && let Some(there) = out.get(word.range.clone())
        {
            let right = cased(of, there);
            out.replace_range(word.range.clone(), &right);
            changed = true;
        }
    }
    changed.then_some(out)
}

/// A spelling of the dictionary, with a capital where one was printed.
fn cased(word: &str, like: &str) -> String {
    if like.chars().all(|c| !c.is_lowercase()) && like.chars().count() > 1 {
        return word.to_uppercase();
    }
    let mut letters = word.chars();
    match (letters.next(), like.chars().next()) {
        (Some(first), Some(printed)) if printed.is_uppercase() => {
            first.to_uppercase().chain(letters).collect()
        }
        _ => word.to_owned(),
    }
}

/// Letters of a dynamic mark.
pub(crate) fn is_dynamic(text: &str) -> bool {
    DYNAMICS.contains(&text)
}

/// What words at a note are: of the road map, of loudness, of tempo, or anything else.
pub(crate) fn kind_of(text: &str) -> TextKind {
    use terms::Kind;
    if !terms::road::road_words(text).is_empty() {
        return TextKind::Jump;
    }
    match terms::read(text).kind {
        Some(Kind::Tempo | Kind::ChangeOfTempo) => TextKind::Tempo,
        Some(Kind::Dynamic | Kind::ChangeOfDynamic) => TextKind::Dynamic,
        _ => TextKind::Expression,
    }
}

/// Whether words are known: a term, a word of the road map.
pub(crate) fn known(text: &str) -> bool {
    let reading = terms::read(text);
    !reading.words.is_empty() && reading.unknown.is_empty() || !terms::road::road_words(text).is_empty()
}

/// Whether words stand at the end of what they are about (`D.C. al Fine`, `Fine`, `To Coda`), not at its beginning.
pub(crate) fn ends_something(text: &str) -> bool {
    use terms::road::RoadKind as Kind;
    terms::road::road_words(text).iter().any(|word| {
        matches!(
            word.kind,
            Kind::DaCapo | Kind::DalSegno | Kind::ToCoda | Kind::FineHere | Kind::Attacca | Kind::TurnQuickly
        )
    })
}

/// Whether words send the player to a segno, and whether they go with a coda sign: the word "Segno" alone stands in the sign's stead,
/// the word "Coda" alone names where its sign leads. Source: common practice.
pub(crate) fn go_with_signs(text: &str) -> (bool, bool) {
    use terms::road::RoadKind as Kind;
    let words = terms::road::road_words(text);
    let has = |kind: Kind| words.iter().any(|word| word.kind == kind);
    let lower = text.to_lowercase();
    (
        has(Kind::DalSegno) || lower.contains("segno") && !has(Kind::SegnoHere),
        has(Kind::DalSegno) || has(Kind::DaCapo) || has(Kind::ToCoda) || lower.contains("coda"),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(said: &str) -> Option<Text> {
        Some(Text::Words(said.to_owned()))
    }

    #[test]
    fn lines_are_told_apart() {
        assert_eq!(text_of("dolce"), words("dolce"));
        assert_eq!(text_of("D.C. al Fine"), words("D.C. al Fine"));
        assert_eq!(text_of("17"), Some(Text::Figures(17)));
        assert_eq!(text_of("[17]"), Some(Text::Figures(17)));
        let mark = |text: &str, framed| {
            Some(Text::Rehearsal {
                text: text.to_owned(),
                framed,
            })
        };
        assert_eq!(text_of("⟦A⟧"), mark("A", true));
        assert_eq!(text_of("⟦42⟧"), mark("42", true));
        assert_eq!(text_of("⟦B"), mark("B", true));
        assert_eq!(text_of("C"), mark("C", false));
        assert_eq!(text_of("mf"), Some(Text::Dynamic("mf".to_owned())));
        assert_eq!(text_of("."), None);
        assert_eq!(text_of("–"), None);
        assert_eq!(text_of("⟦⟧"), None);
        assert_eq!(text_of("⟦2.⟧"), Some(Text::Figures(2)));
        assert_eq!(text_of("e"), None);
    }

    #[test]
    fn a_word_that_misses_a_term_is_put_right_only_where_the_reader_was_not_sure() {
        assert_eq!(
            put_right("Allegretlo grazioso", 0.8).as_deref(),
            Some("Allegretto grazioso")
        );
        assert_eq!(put_right("Allegretlo grazioso", 0.99), None);
        assert_eq!(put_right("dolce", 0.5), None);
        assert_eq!(put_right("ANDANTINC", 0.8).as_deref(), Some("ANDANTINO"));
    }

    #[test]
    fn names_of_chords_are_known() {
        for chord in ["C", "B♭", "F#m7", "Gmaj7", "D/F#", "Asus4", "E°"] {
            assert!(is_chord(chord), "{chord}");
        }
        for other in ["Coda", "Fine", "Adagio", "Dolce", "A tempo", "H", "cresc."] {
            assert!(!is_chord(other), "{other}");
        }
    }

    #[test]
    fn words_of_the_road_map_stand_at_the_end_or_at_the_beginning() {
        assert!(ends_something("D.C. al Fine"));
        assert!(ends_something("Fine"));
        assert!(!ends_something("Allegro"));
        assert!(!ends_something("Coda"));
    }
}

//! Is this another form of a known word? Gender, number, adverbs, superlatives, diminutives, comparatives.
//!
//! Only describing words inflect, and only by the endings of their own language. Source: common grammar, from memory.

use crate::dictionary::{Dictionary, Entry};
use crate::kind::{Kind, Language};
use crate::spelling;

/// What an ending adds to the word's meaning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shade {
    /// Gender, number, case or adverb: nothing.
    Plain,
    /// -issimo: extremely.
    Extremely,
    /// -etto, -ino: slightly.
    Slightly,
    /// -er: more.
    More,
    /// -ste: most.
    Most,
}

/// The shortest stem that an ending is taken from.
const SHORTEST_STEM: usize = 4;

/// The entry of which a folded word is an inflected form.
pub(crate) fn inflected(dictionary: &Dictionary, word: &str) -> Option<(Entry, Shade)> {
    if !word.bytes().all(|b| b.is_ascii_lowercase()) || spelling::is_plain(word) {
        return None;
    }
    italian(dictionary, word)
        .or_else(|| german(dictionary, word))
        .or_else(|| french(dictionary, word))
        .or_else(|| english(dictionary, word))
}

/// Stem plus one of the endings, as a describing word of the language.
fn find(dictionary: &Dictionary, language: Language, stem: &str, endings: &[&str]) -> Option<Entry> {
    if stem.len() < SHORTEST_STEM {
        return None;
    }
    endings.iter().find_map(|ending| {
        dictionary
            .exact_full(&format!("{stem}{ending}"))
            .filter(|entry| entry.language == language && describes(entry))
    })
}

fn describes(entry: &Entry) -> bool {
    !entry.is_thing() && !matches!(entry.kind, Kind::RoadMap | Kind::Instrument | Kind::Form)
}

fn italian(dictionary: &Dictionary, word: &str) -> Option<(Entry, Shade)> {
    let adjective = |stem: &str| {
        let hard = stem.strip_suffix('h').unwrap_or(stem);
        find(dictionary, Language::Italian, hard, &["o", "e"])
            .or_else(|| find(dictionary, Language::Italian, stem, &["o", "e"]))
    };
    if let Some(base) = word.strip_suffix("mente") {
        if let Some(stem) = base.strip_suffix("issima") {
            return adjective(stem).map(|entry| (entry, Shade::Extremely));
        }
        let stem = base.strip_suffix(['a', 'e']).unwrap_or(base);
        return adjective(stem).map(|entry| (entry, Shade::Plain));
    }
    let stem = word.strip_suffix(['o', 'a', 'i', 'e'])?;
    if let Some(base) = stem.strip_suffix("issim") {
        return adjective(base).map(|entry| (entry, Shade::Extremely));
    }
    if let Some(entry) = find(dictionary, Language::Italian, stem, &["o", "a", "e", "i"]) {
        return Some((entry, Shade::Plain));
    }
    for ending in ["and", "at", "ant", "ar"] {
        if let Some(base) = stem.strip_suffix(ending) {
            return find(dictionary, Language::Italian, base, &["ando", "ato", "ante"])
                .map(|entry| (entry, Shade::Plain));
        }
    }
    let base = stem.strip_suffix("ett").or_else(|| stem.strip_suffix("in"))?;
    adjective(base).map(|entry| (entry, Shade::Slightly))
}

fn german(dictionary: &Dictionary, word: &str) -> Option<(Entry, Shade)> {
    const ENDINGS: [(&str, Shade); 15] = [
        ("esten", Shade::Most),
        ("ester", Shade::Most),
        ("estem", Shade::Most),
        ("este", Shade::Most),
        ("sten", Shade::Most),
        ("ster", Shade::Most),
        ("stem", Shade::Most),
        ("ste", Shade::Most),
        ("eren", Shade::More),
        ("ere", Shade::More),
        ("er", Shade::More),
        ("es", Shade::Plain),
        ("em", Shade::Plain),
        ("en", Shade::Plain),
        ("e", Shade::Plain),
    ];
    ENDINGS.iter().find_map(|(ending, shade)| {
        let stem = word.strip_suffix(ending)?;
        find(dictionary, Language::German, stem, &["", "e"]).map(|entry| (entry, *shade))
    })
}

fn french(dictionary: &Dictionary, word: &str) -> Option<(Entry, Shade)> {
    if let Some(stem) = word.strip_suffix("ment") {
        let stem = stem.strip_suffix('e').unwrap_or(stem);
        return find(dictionary, Language::French, stem, &["", "e"]).map(|entry| (entry, Shade::Plain));
    }
    for (feminine, masculine) in [("euses", "eux"), ("euse", "eux"), ("ives", "if"), ("ive", "if")] {
        if let Some(stem) = word.strip_suffix(feminine) {
            return find(dictionary, Language::French, stem, &[masculine]).map(|entry| (entry, Shade::Plain));
        }
    }
    ["es", "s", "e"].iter().find_map(|ending| {
        let stem = word.strip_suffix(ending)?;
        find(dictionary, Language::French, stem, &[""]).map(|entry| (entry, Shade::Plain))
    })
}

fn english(dictionary: &Dictionary, word: &str) -> Option<(Entry, Shade)> {
    let stem = word.strip_suffix("ly")?;
    find(dictionary, Language::English, stem, &["", "e", "le"]).map(|entry| (entry, Shade::Plain))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dictionary::dictionary;

    fn check(word: &str, term: &str, shade: Shade) {
        let found = inflected(dictionary(), word).map(|(entry, shade)| (entry.term, shade));
        assert_eq!(found, Some((term, shade)), "{word}");
    }

    #[test]
    fn italian_french_german_and_english_endings() {
        check("tranquilla", "tranquillo", Shade::Plain);
        check("misteriosi", "misterioso", Shade::Plain);
        check("appassionatissimo", "appassionato", Shade::Extremely);
        check("comodetto", "comodo", Shade::Slightly);
        check("fantasticamente", "fantastico", Shade::Plain);
        check("passionnee", "passionné", Shade::Plain);
        check("orageuse", "orageux", Shade::Plain);
        check("feuriger", "feurig", Shade::More);
        check("zartestem", "zart", Shade::Most);
        check("fliessendem", "fliessend", Shade::Plain);
    }

    #[test]
    fn unrelated_words_are_left_alone() {
        for word in ["mozart", "sonnet", "paper", "tenerezz", "oboer", "fino"] {
            assert_eq!(inflected(dictionary(), word), None, "{word}");
        }
    }
}

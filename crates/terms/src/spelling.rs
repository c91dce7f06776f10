//! Is this a close misspelling of a known term? Said only when one term alone is close enough.
//!
//! Source: Damerau 1964 (one insertion, deletion, substitution or swap of neighbours covers most typing errors);
//! the limits by length are our own choice. Common words of four languages and names are never corrected.

use std::sync::OnceLock;

use crate::dictionary::{Dictionary, Entry, letter_set};

/// Words shorter than this are never corrected.
const SHORTEST: usize = 5;
/// Longest word that is compared.
const LONGEST: usize = 28;
/// From this length on, two slips are forgiven.
const TWO_SLIPS: usize = 8;

/// Everyday words and names that lie close to a term.
const PLAIN: &str = include_str!("../data/plain_words.txt");

/// The one entry of which a folded word is a close misspelling.
pub(crate) fn misspelt<'a>(dictionary: &'a Dictionary, word: &str) -> Option<&'a Entry> {
    let length = word.len();
    if !(SHORTEST..=LONGEST).contains(&length) || !word.bytes().all(|b| b.is_ascii_lowercase()) {
        return None;
    }
    if is_plain(word) || dictionary.has_word(word) {
        return None;
    }
    let limit = if length >= TWO_SLIPS { 2 } else { 1 };
    let letters = letter_set(word);
    let mut best: Option<(usize, usize)> = None;
    let mut tied = false;
    for target in dictionary.targets() {
        let differing = usize::try_from((target.letters ^ letters).count_ones()).unwrap_or(usize::MAX);
        if differing > 2 * limit || target.length.abs_diff(length) > limit {
            continue;
        }
        let spelling = dictionary.spelling(target);
        let reach = if spelling.as_bytes().first() == word.as_bytes().first() {
            limit
        } else {
            1
        };
        let Some(slips) = distance(word.as_bytes(), spelling.as_bytes(), reach) else {
            continue;
        };
        match best {
            Some((fewest, entry)) if slips == fewest => tied |= entry != target.entry,
            Some((fewest, _)) if slips > fewest => {}
            _ => {
                best = Some((slips, target.entry));
                tied = false;
            }
        }
    }
    let (_, entry) = best.filter(|_| !tied)?;
    dictionary.entries.get(entry)
}

/// The one word inside the listed spellings, modifiers included, that a folded word misses by one slip.
pub(crate) fn small_word(dictionary: &Dictionary, word: &str) -> Option<&'static str> {
    let length = word.len();
    if !(SHORTEST..=LONGEST).contains(&length)
        || !word.bytes().all(|b| b.is_ascii_lowercase())
        || is_plain(word)
    {
        return None;
    }
    let near = |listed: &&&'static str| {
        listed.len().abs_diff(length) <= 1
            && listed.as_bytes().first() == word.as_bytes().first()
            && distance(word.as_bytes(), listed.as_bytes(), 1).is_some()
    };
    // A letter left out is the commonest slip ("tropo"), so a shorter word ("trop") must stand alone to count.
    let (whole, shorter): (Vec<&&str>, Vec<&&str>) = dictionary
        .words()
        .iter()
        .filter(near)
        .partition(|listed| listed.len() >= length);
    match (whole.as_slice(), shorter.as_slice()) {
        ([only], _) | ([], [only]) => Some(only),
        _ => None,
    }
}

/// Whether a folded word is an everyday word or a name that must be left as it is.
pub(crate) fn is_plain(word: &str) -> bool {
    static SORTED: OnceLock<Vec<&'static str>> = OnceLock::new();
    let sorted = SORTED.get_or_init(|| {
        let lines = PLAIN.lines().filter(|line| !line.starts_with('#'));
        lines.flat_map(str::split_whitespace).collect()
    });
    sorted.binary_search(&word).is_ok()
}

/// Slips between two words (insert, drop, change, swap neighbours), if no more than `limit`.
fn distance(a: &[u8], b: &[u8], limit: usize) -> Option<usize> {
    const WIDTH: usize = LONGEST + 4;
    if a.len().max(b.len()) + 1 >= WIDTH || a.len().abs_diff(b.len()) > limit {
        return None;
    }
    let mut before = [0usize; WIDTH];
    let mut last = [0usize; WIDTH];
    let mut row = [0usize; WIDTH];
    for (j, cell) in last.iter_mut().enumerate() {
        *cell = j;
    }
    for i in 1..=a.len() {
        row[0] = i;
        let mut least = i;
        for j in 1..=b.len() {
            let change = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut cost = change.min(last[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                cost = cost.min(before[j - 2] + 1);
            }
            row[j] = cost;
            least = least.min(cost);
        }
        if least > limit {
            return None;
        }
        before = last;
        last = row;
    }
    Some(last[b.len()]).filter(|&slips| slips <= limit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dictionary::dictionary;

    #[test]
    fn slips_are_counted() {
        assert_eq!(distance(b"allegreto", b"allegretto", 2), Some(1));
        assert_eq!(distance(b"acellerando", b"accelerando", 2), Some(2));
        assert_eq!(distance(b"andatne", b"andante", 1), Some(1));
        assert_eq!(distance(b"largo", b"presto", 2), None);
    }

    #[test]
    fn a_slip_in_a_small_word_is_mended() {
        for (word, meant) in [
            ("tropo", Some("troppo")),
            ("sempere", Some("sempre")),
            ("viola", None),
        ] {
            assert_eq!(small_word(dictionary(), word), meant, "{word}");
        }
    }

    #[test]
    fn plain_words_are_sorted() {
        let words: Vec<&str> = PLAIN
            .lines()
            .filter(|line| !line.starts_with('#'))
            .flat_map(str::split_whitespace)
            .collect();
        assert!(words.is_sorted_by(|a, b| a < b));
    }

    #[test]
    fn close_misspellings_name_their_term() {
        for (word, term) in [
            ("allegreto", "allegretto"),
            ("cresendo", "crescendo"),
            ("ritardano", "ritardando"),
            ("andate", "andante"),
            ("modarato", "moderato"),
            ("stacatto", "staccato"),
            ("pizzacato", "pizzicato"),
            ("acellerando", "accelerando"),
            ("fortisimo", "fortissimo"),
            ("diminendo", "diminuendo"),
            ("expresivo", "espressivo"),
            ("langsham", "langsam"),
            ("leggerio", "leggero"),
            ("rallentado", "rallentando"),
            ("maestso", "maestoso"),
        ] {
            assert_eq!(
                misspelt(dictionary(), word).map(|entry| entry.term),
                Some(term),
                "{word}"
            );
        }
    }

    #[test]
    fn plain_words_and_names_are_never_corrected() {
        for word in [
            "viola",
            "violin",
            "clarinet",
            "solo",
            "note",
            "voice",
            "state",
            "place",
            "tender",
            "mozart",
            "bach",
            "parker",
            "andrea",
            "marco",
            "piano",
            "angle",
            "measure",
            "accent",
            "pressed",
            "grade",
            "first",
            "score",
            "carlo",
            "allegra",
            "vivaldi",
            "moderator",
            "present",
            "largest",
            "rapport",
        ] {
            assert_eq!(
                misspelt(dictionary(), word).map(|entry| entry.term),
                None,
                "{word}"
            );
        }
    }
}

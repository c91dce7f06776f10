//! Is this a close misspelling of a known term? Said only when one term alone is close enough.
//!
//! Source: Damerau 1964 (one insertion, deletion, substitution or swap of neighbours covers most typing errors);
//! the limits by length are our own choice. Common words of four languages and names are never corrected.

use crate::dictionary::{Dictionary, Entry, dictionary};
use crate::fold::letter_set;

/// Words shorter than this are never corrected.
const SHORTEST: usize = 5;
/// Longest word that is compared.
const LONGEST: usize = 28;
/// From this length on, two slips are forgiven.
const TWO_SLIPS: usize = 8;

/// The one entry of which a folded word is a close misspelling.
pub(crate) fn misspelt(dictionary: &Dictionary, word: &str) -> Option<Entry> {
    let length = word.len();
    if !(SHORTEST..=LONGEST).contains(&length) || !word.bytes().all(|b| b.is_ascii_lowercase()) {
        return None;
    }
    if is_plain(word) || dictionary.has_word(word) {
        return None;
    }
    let limit = if length >= TWO_SLIPS { 2 } else { 1 };
    let letters = letter_set(word);
    let mut best: Option<(usize, u16)> = None;
    let mut tied = false;
    for target in dictionary.targets(length, limit) {
        let differing = usize::try_from((target.letters ^ letters).count_ones()).unwrap_or(usize::MAX);
        if differing > 2 * limit {
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
    dictionary.entry(entry)
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
    let first = *word.as_bytes().first()?;
    // A letter left out is the commonest slip ("tropo"), so a shorter word ("trop") must stand alone to count.
    let (mut whole, mut shorter) = (Near::None, Near::None);
    for listed in dictionary.words().under(first) {
        if distance(word.as_bytes(), listed.as_bytes(), 1).is_some() {
            let near = if listed.len() >= length {
                &mut whole
            } else {
                &mut shorter
            };
            *near = near.and(listed);
        }
    }
    match (whole, shorter) {
        (Near::One(only), _) | (Near::None, Near::One(only)) => Some(only),
        _ => None,
    }
}

/// How many words are near, and the one when there is one.
#[derive(Clone, Copy)]
enum Near {
    None,
    One(&'static str),
    Many,
}

impl Near {
    fn and(self, word: &'static str) -> Near {
        match self {
            Near::None => Near::One(word),
            Near::One(_) | Near::Many => Near::Many,
        }
    }
}

/// Whether a folded word is an everyday word or a name that must be left as it is.
pub(crate) fn is_plain(word: &str) -> bool {
    dictionary().plain_words().contains(word)
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
        let words = dictionary().plain_words();
        assert!(words.iter().count() > 2000 && words.iter().is_sorted_by(|a, b| a < b));
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

//! Which terms do we know? The tables under `data/`, read once and looked up by folded words.
//!
//! A term is one line a musician can read and edit; see the head of `data/tempo.txt` for the columns.

use std::sync::OnceLock;

use crate::kind::{Kind, Language};
use crate::words;

mod entry;
mod index;
mod modifier;

pub use entry::Entry;
pub(crate) use modifier::{Modifier, Part};

use entry::parse_entry;
use index::Index;
use modifier::parse_modifier;

const TABLES: [(Kind, &str); 10] = [
    (Kind::Tempo, include_str!("../data/tempo.txt")),
    (Kind::ChangeOfTempo, include_str!("../data/change_of_tempo.txt")),
    (Kind::Dynamic, include_str!("../data/dynamic.txt")),
    (
        Kind::ChangeOfDynamic,
        include_str!("../data/change_of_dynamic.txt"),
    ),
    (Kind::Character, include_str!("../data/character.txt")),
    (Kind::Technique, include_str!("../data/technique.txt")),
    (Kind::Articulation, include_str!("../data/articulation.txt")),
    (Kind::RoadMap, include_str!("../data/road_map.txt")),
    (Kind::Instrument, include_str!("../data/instrument.txt")),
    (Kind::Form, include_str!("../data/form.txt")),
];
const MODIFIERS: &str = include_str!("../data/modifiers.txt");

/// All tables with their indexes.
#[derive(Debug)]
pub(crate) struct Dictionary {
    pub entries: Vec<Entry>,
    pub modifiers: Vec<Modifier>,
    terms: Index,
    small: Index,
    /// Single words long enough to be the target of a misspelling: (letters, length, range in the text, entry).
    targets: Vec<Target>,
}

/// A word that a misspelling may be read as.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Target {
    /// Which letters of the alphabet it holds, one bit each.
    pub letters: u32,
    pub length: usize,
    key: usize,
    pub entry: usize,
}

impl Dictionary {
    /// The longest term at the head of the tokens, with the number of tokens it takes.
    pub fn term_at(&self, tokens: &[words::Token]) -> Option<(&Entry, usize)> {
        let (entry, used) = self.terms.longest(tokens)?;
        Some((self.entries.get(entry)?, used))
    }

    /// The longest modifier at the head of the tokens.
    pub fn modifier_at(&self, tokens: &[words::Token]) -> Option<(&Modifier, usize)> {
        let (entry, used) = self.small.longest(tokens)?;
        Some((self.modifiers.get(entry)?, used))
    }

    /// The term with exactly this folded spelling.
    pub fn exact(&self, folded: &str) -> Option<&Entry> {
        self.terms
            .find(folded)
            .and_then(|key| self.entries.get(usize::from(key.entry)))
    }

    /// The term with exactly this folded spelling, abbreviations aside.
    pub fn exact_full(&self, folded: &str) -> Option<&Entry> {
        self.terms
            .find(folded)
            .filter(|key| key.target)
            .and_then(|key| self.entries.get(usize::from(key.entry)))
    }

    /// Whether a word stands in any listed spelling, alone or inside a longer term.
    pub fn has_word(&self, folded: &str) -> bool {
        self.words().binary_search(&folded).is_ok()
    }

    /// Every word of every listed spelling, sorted.
    pub fn words(&self) -> &'static [&'static str] {
        static WORDS: OnceLock<Vec<&'static str>> = OnceLock::new();
        WORDS.get_or_init(|| {
            let built = dictionary();
            let both = [&built.terms, &built.small];
            let mut all: Vec<&str> = both
                .iter()
                .flat_map(|index| index.keys.iter().flat_map(|key| index.key(key).split(' ')))
                .collect();
            all.sort_unstable();
            all.dedup();
            all
        })
    }

    pub fn targets(&self) -> &[Target] {
        &self.targets
    }

    /// The spelling of a target.
    pub fn spelling(&self, target: &Target) -> &str {
        self.terms
            .keys
            .get(target.key)
            .map_or("", |key| self.terms.key(key))
    }
}

/// The dictionary, built at first use.
pub(crate) fn dictionary() -> &'static Dictionary {
    static BUILT: OnceLock<Dictionary> = OnceLock::new();
    BUILT.get_or_init(build)
}

/// Every entry, in the order of the tables.
pub fn entries() -> &'static [Entry] {
    &dictionary().entries
}

/// The entry with this spelling or abbreviation, capitals and accents aside.
pub fn lookup(spelling: &str) -> Option<&'static Entry> {
    let tokens = words::tokens(spelling);
    let (entry, used) = dictionary().term_at(&tokens)?;
    (used == tokens.len()).then_some(entry)
}

fn build() -> Dictionary {
    let mut entries = Vec::with_capacity(1700);
    let mut terms = Index {
        text: String::with_capacity(64 << 10),
        keys: Vec::with_capacity(4500),
    };
    for (kind, table) in TABLES {
        for entry in table.lines().filter_map(|line| parse_entry(kind, line)) {
            let position = entries.len();
            terms.add(entry.term, position, true);
            for alias in entry.aliases() {
                terms.add(alias, position, is_full_word(alias, entry.term));
            }
            if entry.language == Language::German {
                terms.add_digraphs(entry.term, position);
            }
            entries.push(entry);
        }
    }
    terms.sort();
    let mut modifiers = Vec::with_capacity(160);
    let mut small = Index::default();
    for modifier in MODIFIERS.lines().filter_map(parse_modifier) {
        let position = modifiers.len();
        small.add(modifier.word, position, false);
        for alias in modifier.aliases.split(',').map(str::trim) {
            small.add(alias, position, false);
        }
        if modifier.language == Language::German {
            small.add_digraphs(modifier.word, position);
        }
        modifiers.push(modifier);
    }
    small.sort();
    let targets = targets(&terms);
    Dictionary {
        entries,
        modifiers,
        terms,
        small,
        targets,
    }
}

/// An abbreviation ("espress") is no target for a misspelling; another full spelling ("leggiero") is.
fn is_full_word(alias: &str, term: &str) -> bool {
    alias.chars().count() + 2 >= term.chars().count()
        && alias.chars().next_back().is_some_and(|c| "aeiour".contains(c))
}

fn targets(terms: &Index) -> Vec<Target> {
    let mut found = Vec::with_capacity(2048);
    for (position, key) in terms.keys.iter().enumerate() {
        let text = terms.key(key);
        if key.target && key.words == 1 && text.len() >= 5 {
            found.push(Target {
                letters: letter_set(text),
                length: text.chars().count(),
                key: position,
                entry: usize::from(key.entry),
            });
        }
    }
    found
}

/// One bit for each letter of the alphabet that a folded word holds.
pub(crate) fn letter_set(word: &str) -> u32 {
    word.bytes()
        .filter(u8::is_ascii_lowercase)
        .fold(0, |set, b| set | 1 << (b - b'a'))
}

/// The cells of a line; none for a remark or an empty line.
fn columns(line: &'static str) -> Option<impl Iterator<Item = &'static str>> {
    (!line.starts_with('#') && !line.trim().is_empty()).then(|| line.split('|').map(str::trim))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::entry::{LABELS, is_labelled};
    use super::*;

    #[test]
    fn every_line_is_well_formed() {
        for (kind, table) in TABLES {
            for line in table
                .lines()
                .filter(|line| !line.starts_with('#') && !line.is_empty())
            {
                let entry = parse_entry(kind, line).unwrap_or_else(|| panic!("{}: {line}", kind.name()));
                assert!(!entry.term.is_empty() && entry.meaning.len() >= 3, "{line}");
                assert!(!entry.meaning.ends_with(['.', ',', ';']), "{line}");
                assert!(line.matches('|').count() <= 4, "{line}");
                assert!(entry.notes.is_empty() || is_labelled(entry.notes), "{line}");
                for label in LABELS {
                    assert!(entry.note(label).is_none_or(|text| !text.is_empty()), "{line}");
                }
            }
        }
        for line in MODIFIERS
            .lines()
            .filter(|line| !line.starts_with('#') && !line.is_empty())
        {
            assert!(parse_modifier(line).is_some(), "{line}");
        }
    }

    #[test]
    fn no_spelling_is_listed_twice() {
        let built = dictionary();
        for index in [&built.terms, &built.small] {
            let mut seen: BTreeMap<&str, u16> = BTreeMap::new();
            for key in &index.keys {
                if let Some(other) = seen.insert(index.key(key), key.entry) {
                    assert_eq!(other, key.entry, "{} is listed under two terms", index.key(key));
                }
            }
        }
    }

    #[test]
    fn the_dictionary_is_large_enough_and_covers_its_languages() {
        assert!(entries().len() >= 650, "{}", entries().len());
        for (language, least) in [
            (Language::Italian, 400),
            (Language::French, 150),
            (Language::German, 150),
            (Language::English, 100),
            (Language::Latin, 25),
        ] {
            let count = entries()
                .iter()
                .filter(|entry| entry.language == language)
                .count();
            assert!(count >= least, "{}: {count}", language.name());
        }
    }

    #[test]
    fn notes_are_read_by_label() {
        let adagio = lookup("Adagio").unwrap();
        assert_eq!(adagio.literal(), Some("at ease"));
        assert_eq!(adagio.pace(), Some("adagio"));
        assert_eq!(
            adagio.advice(),
            Some("sing every note; count in eighths when learning")
        );
        assert_eq!(adagio.source(), "agrees with GCIDE");
        assert_eq!(lookup("langsam").unwrap().source(), "from memory");
        assert!(lookup("fuoco").unwrap().is_thing());
    }

    #[test]
    fn spellings_meet_whatever_their_accents() {
        for spelling in ["mäßig", "mässig", "massig", "maessig", "MÄSSIG"] {
            assert_eq!(
                lookup(spelling).map(|entry| entry.term),
                Some("mässig"),
                "{spelling}"
            );
        }
    }
}

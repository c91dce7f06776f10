//! Which terms do we know? The tables under `data/`, read once and looked up by folded words.
//!
//! A term is one line a musician can read and edit; see the head of `data/tempo.txt` for the columns.

use std::ops::Range;
use std::sync::OnceLock;

use crate::kind::{Kind, Language};
use crate::words;

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

/// One term of the dictionary.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The term as a dictionary prints it.
    pub term: &'static str,
    /// The language it is listed under.
    pub language: Language,
    /// Its sort.
    pub kind: Kind,
    /// Its meaning in plain English.
    pub meaning: &'static str,
    /// Other spellings and abbreviations, parted by commas.
    aliases: &'static str,
    /// Labelled notes, parted by semicolons.
    notes: &'static str,
}

impl Entry {
    /// Other spellings and abbreviations.
    pub fn aliases(&self) -> impl Iterator<Item = &'static str> + use<> {
        self.aliases
            .split(',')
            .map(str::trim)
            .filter(|alias| !alias.is_empty())
    }

    /// What the word says literally, where that helps the memory.
    pub fn literal(&self) -> Option<&'static str> {
        self.note("lit:")
    }

    /// What it means for the player, in one clause.
    pub fn advice(&self) -> Option<&'static str> {
        self.note("do:")
    }

    /// Where readers go wrong.
    pub fn trap(&self) -> Option<&'static str> {
        self.note("trap:")
    }

    /// Where the meaning comes from; `from memory` when no source is named.
    pub fn source(&self) -> &'static str {
        self.note("source:").unwrap_or("from memory")
    }

    /// The Italian row of the tempo tables under which this term is read.
    pub(crate) fn pace(&self) -> Option<&'static str> {
        self.note("pace:")
    }

    /// Direction, onset and factor of a change of tempo, as written in the table.
    pub(crate) fn change(&self) -> Option<&'static str> {
        self.note("change:")
    }

    /// A noun: a thing one plays with, without or like.
    pub(crate) fn is_thing(&self) -> bool {
        self.notes.split(';').any(|part| part.trim() == "noun")
    }

    /// The text after a label, up to the next label.
    fn note(&self, label: &str) -> Option<&'static str> {
        let mut found: Option<Range<usize>> = None;
        let mut at = 0;
        for part in self.notes.split(';') {
            let text = part.trim_start();
            let start = at + (part.len() - text.len());
            let end = at + part.len();
            at = end + 1;
            match &mut found {
                Some(range) if !is_labelled(text.trim_end()) => range.end = end,
                Some(_) => break,
                None if text.starts_with(label) => found = Some(start + label.len()..end),
                None => {}
            }
        }
        found.and_then(|range| self.notes.get(range)).map(str::trim)
    }
}

/// The labels that a note may open with.
pub(crate) const LABELS: [&str; 6] = ["lit:", "do:", "trap:", "pace:", "source:", "change:"];

fn is_labelled(text: &str) -> bool {
    text == "noun" || text.starts_with("noun;") || LABELS.iter().any(|label| text.starts_with(label))
}

/// What a modifier does to the word beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    Degree,
    More,
    Less,
    NotMuch,
    Always,
    Suddenly,
    Gradually,
    Almost,
    Possible,
    And,
    But,
    Or,
    With,
    Without,
    Like,
    Not,
    Until,
    Thing,
    Other,
}

/// A small word that shades another.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Modifier {
    pub word: &'static str,
    pub language: Language,
    pub part: Part,
    /// English before a describing word ("very").
    pub before: &'static str,
    /// English after a process ("a great deal").
    pub after: &'static str,
    aliases: &'static str,
    pub note: &'static str,
}

impl Modifier {
    /// Joins words without meaning anything alone.
    pub fn only_joins(&self) -> bool {
        matches!(
            self.part,
            Part::And
                | Part::But
                | Part::Or
                | Part::With
                | Part::Without
                | Part::Like
                | Part::Until
                | Part::Thing
        ) || matches!(self.before, "of" | "at the speed of")
    }

    /// A connector between two phrases.
    pub fn connects(&self) -> bool {
        matches!(self.part, Part::And | Part::But | Part::Or)
    }
}

/// Keys of one table: folded words joined by single spaces, sorted.
#[derive(Debug, Default)]
struct Index {
    text: String,
    keys: Vec<Key>,
}

#[derive(Clone, Copy, Debug)]
struct Key {
    start: u32,
    end: u32,
    /// Position of the entry in its list.
    entry: u16,
    words: u8,
    /// The entry's own term or a listed spelling of at least full length, fit as a target for a misspelling.
    target: bool,
}

impl Index {
    fn key(&self, key: &Key) -> &str {
        self.text.get(at(key.start)..at(key.end)).unwrap_or_default()
    }

    fn add(&mut self, spelling: &str, entry: usize, target: bool) {
        let start = self.text.len();
        let mut words = 0u8;
        for token in words::tokens(spelling) {
            if words > 0 {
                self.text.push(' ');
            }
            self.text.push_str(&token.fold);
            words = words.saturating_add(1);
        }
        self.push(start, entry, words, target);
    }

    fn push(&mut self, start: usize, entry: usize, words: u8, target: bool) {
        let (Ok(start), Ok(end), Ok(entry)) = (
            u32::try_from(start),
            u32::try_from(self.text.len()),
            u16::try_from(entry),
        ) else {
            return;
        };
        if end > start {
            self.keys.push(Key {
                start,
                end,
                entry,
                words,
                target,
            });
        }
    }

    /// German umlauts also as ae, oe, ue.
    fn add_digraphs(&mut self, spelling: &str, entry: usize) {
        if spelling.chars().any(|c| matches!(c, 'ä' | 'ö' | 'ü')) {
            let written: String = spelling.replace('ä', "ae").replace('ö', "oe").replace('ü', "ue");
            self.add(&written, entry, false);
        }
    }

    fn sort(&mut self) {
        let text = std::mem::take(&mut self.text);
        let slice = |key: &Key| text.get(at(key.start)..at(key.end)).unwrap_or_default();
        self.keys
            .sort_by(|a, b| slice(a).cmp(slice(b)).then(a.entry.cmp(&b.entry)));
        self.text = text;
    }

    /// The longest key that the tokens open with: (entry, tokens used).
    fn longest(&self, tokens: &[words::Token]) -> Option<(usize, usize)> {
        let first = tokens.first()?;
        let from = self
            .keys
            .partition_point(|key| self.key(key) < first.fold.as_str());
        let mut best: Option<(usize, usize)> = None;
        for key in self.keys.iter().skip(from) {
            let text = self.key(key);
            // A space sorts before every letter: the first longer word ends the run.
            if !text.starts_with(first.fold.as_str())
                || text
                    .as_bytes()
                    .get(first.fold.len())
                    .is_some_and(|&next| next != b' ')
            {
                break;
            }
            let words = usize::from(key.words);
            if best.is_none_or(|(_, used)| words > used) && opens_with(tokens, text, words) {
                best = Some((usize::from(key.entry), words));
            }
        }
        best
    }

    fn find(&self, folded: &str) -> Option<&Key> {
        let from = self.keys.partition_point(|key| self.key(key) < folded);
        self.keys.get(from).filter(|key| self.key(key) == folded)
    }
}

fn at(position: u32) -> usize {
    usize::try_from(position).unwrap_or(usize::MAX)
}

/// Whether the tokens begin with these words, no comma or bracket between them.
fn opens_with(tokens: &[words::Token], key: &str, words: usize) -> bool {
    let Some(run) = tokens.get(..words) else {
        return false;
    };
    run.iter()
        .enumerate()
        .zip(key.split(' '))
        .all(|((i, token), word)| {
            token.fold == word && (i == 0 || !token.gap.is_hard()) && token.shape != words::Shape::Symbol
        })
}

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
        static WORDS: OnceLock<Vec<&'static str>> = OnceLock::new();
        let words = WORDS.get_or_init(|| {
            let built = dictionary();
            let both = [&built.terms, &built.small];
            let mut all: Vec<&str> = both
                .iter()
                .flat_map(|index| index.keys.iter().flat_map(|key| index.key(key).split(' ')))
                .collect();
            all.sort_unstable();
            all.dedup();
            all
        });
        words.binary_search(&folded).is_ok()
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

fn columns(line: &'static str) -> Option<impl Iterator<Item = &'static str>> {
    (!line.starts_with('#') && !line.trim().is_empty()).then(|| line.split('|').map(str::trim))
}

fn parse_entry(kind: Kind, line: &'static str) -> Option<Entry> {
    let mut cells = columns(line)?;
    let term = cells.next()?;
    let language = Language::from_code(cells.next()?)?;
    let meaning = cells.next()?;
    let aliases = cells.next().unwrap_or_default();
    let notes = cells.next().unwrap_or_default();
    Some(Entry {
        term,
        language,
        kind,
        meaning,
        aliases,
        notes,
    })
}

fn parse_modifier(line: &'static str) -> Option<Modifier> {
    let mut cells = columns(line)?;
    let word = cells.next()?;
    let language = Language::from_code(cells.next()?)?;
    let part = parse_part(cells.next()?)?;
    let before = cells.next()?;
    let after = cells.next()?;
    let aliases = cells.next().unwrap_or_default();
    let note = cells
        .next()
        .unwrap_or_default()
        .trim_start_matches("trap:")
        .trim();
    Some(Modifier {
        word,
        language,
        part,
        before,
        after,
        aliases,
        note,
    })
}

fn parse_part(name: &str) -> Option<Part> {
    Some(match name {
        "degree" => Part::Degree,
        "more" => Part::More,
        "less" => Part::Less,
        "notmuch" => Part::NotMuch,
        "always" => Part::Always,
        "suddenly" => Part::Suddenly,
        "gradually" => Part::Gradually,
        "almost" => Part::Almost,
        "possible" => Part::Possible,
        "and" => Part::And,
        "but" => Part::But,
        "or" => Part::Or,
        "with" => Part::With,
        "without" => Part::Without,
        "like" => Part::Like,
        "not" => Part::Not,
        "until" => Part::Until,
        "thing" => Part::Thing,
        "other" => Part::Other,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

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

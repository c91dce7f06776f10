//! Do the tables say what the files say, and is every row well formed?

use std::collections::BTreeMap;
use std::path::Path;

use super::labels::{LABELS, is_labelled};
use super::source::{self, MODIFIERS, PLAIN, TABLES};
use super::*;
use crate::fold::letter_set;

fn file(name: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("data").join(name)).unwrap()
}

fn tables() -> Vec<(Kind, &'static str, String)> {
    let tables = TABLES.into_iter();
    tables.map(|(kind, name)| (kind, name, file(name))).collect()
}

fn rows<'a>(tables: &'a [(Kind, &'static str, String)]) -> Vec<source::TermRow<'a>> {
    let mut all = Vec::new();
    for (kind, name, text) in tables {
        all.extend(source::rows(name, text, |line| source::term_row(*kind, line)).unwrap());
    }
    all
}

#[test]
fn every_line_is_well_formed() {
    for (kind, name, table) in tables() {
        for line in table
            .lines()
            .filter(|line| !line.starts_with('#') && !line.is_empty())
        {
            let entry = source::term_row(kind, line).unwrap_or_else(|what| panic!("{name}: {what}: {line}"));
            assert!(!entry.term.is_empty() && entry.meaning.len() >= 3, "{line}");
            assert!(!entry.meaning.ends_with(['.', ',', ';']), "{line}");
            assert!(line.matches('|').count() <= 4, "{line}");
            assert!(entry.notes.is_empty() || is_labelled(entry.notes), "{line}");
            let entry = lookup(entry.term).unwrap();
            for label in LABELS {
                assert!(entry.note(label).is_none_or(|text| !text.is_empty()), "{line}");
            }
        }
    }
    for line in file(MODIFIERS)
        .lines()
        .filter(|line| !line.starts_with('#') && !line.is_empty())
    {
        assert!(source::modifier_row(line).is_ok(), "{line}");
    }
}

#[test]
fn a_malformed_line_is_named_with_its_file_and_line() {
    let table = "# remark\nlargo | it | very slow\nlento | xx | slow\n";
    let said = source::rows("tempo.txt", table, |line| source::term_row(Kind::Tempo, line)).unwrap_err();
    assert!(
        said.starts_with("data/tempo.txt:3: \"xx\" is no language") && said.contains("lento | xx | slow"),
        "{said}"
    );
    for line in [
        "largo | it",
        "largo | it | slow.",
        "largo | it | slow | | wide",
        "a | it | slow | | | ",
    ] {
        assert!(source::term_row(Kind::Tempo, line).is_err(), "{line}");
    }
    assert!(source::modifier_row("molto | it | greatly | very | a great deal").is_err());
    assert!(source::plain_words("# remark\nviola viola").is_err());
    let twice = [("lento", "slow"), ("LENTO", "slowly")].map(|(term, meaning)| source::TermRow {
        term,
        language: Language::Italian,
        kind: Kind::Tempo,
        meaning,
        aliases: "",
        notes: "",
    });
    assert!(
        source::term_spellings(&twice)
            .unwrap_err()
            .contains("under two terms")
    );
}

#[test]
fn the_built_tables_hold_what_the_files_say() {
    let tables = tables();
    let rows = rows(&tables);
    assert_eq!(rows.len(), entries().len());
    for (row, entry) in rows.iter().zip(entries()) {
        let built = source::TermRow {
            term: entry.term,
            language: entry.language,
            kind: entry.kind,
            meaning: entry.meaning,
            aliases: entry.aliases,
            notes: entry.notes,
        };
        assert_eq!(*row, built);
    }
    let text = file(MODIFIERS);
    let small = source::rows(MODIFIERS, &text, source::modifier_row).unwrap();
    assert_eq!(small.len(), dictionary().modifiers().count());
    for (row, built) in small.iter().zip(dictionary().modifiers()) {
        assert_eq!(
            (row.word, row.language, row.part),
            (built.word, built.language, built.part)
        );
        assert_eq!(
            (row.before, row.after, row.note),
            (built.before, built.after, built.note)
        );
    }
    let plain = file(PLAIN);
    assert!(
        source::plain_words(&plain)
            .unwrap()
            .into_iter()
            .eq(dictionary().plain_words().iter())
    );
    let terms = source::term_spellings(&rows).unwrap();
    let modifiers = source::modifier_spellings(&small).unwrap();
    let mut targets: Vec<&str> = dictionary()
        .targets
        .iter()
        .map(|target| dictionary().spelling(target))
        .collect();
    targets.sort_unstable();
    let wanted = terms.iter().filter(|spelled| spelled.is_target());
    assert!(
        targets
            .into_iter()
            .eq(wanted.map(|spelled| spelled.text.as_str()))
    );
    for (spellings, index) in [(&terms, &dictionary().terms), (&modifiers, &dictionary().small)] {
        assert_eq!(spellings.len(), index.keys.len());
        for (spelled, key) in spellings.iter().zip(index.keys) {
            assert_eq!(spelled.text, index.key(key));
            assert_eq!(
                (spelled.row, spelled.words(), spelled.target),
                (usize::from(key.entry), usize::from(key.words), key.target)
            );
        }
    }
}

#[test]
fn targets_are_found_by_their_length() {
    let all = dictionary().targets(50, 50);
    assert_eq!(all.len(), dictionary().targets.len());
    for length in 0..30 {
        let near: Vec<&str> = dictionary()
            .targets(length, 2)
            .iter()
            .map(|target| dictionary().spelling(target))
            .collect();
        let wanted = all
            .iter()
            .map(|target| dictionary().spelling(target))
            .filter(|word| word.chars().count().abs_diff(length) <= 2);
        assert_eq!(near, wanted.collect::<Vec<_>>(), "{length}");
    }
    for target in all {
        assert_eq!(target.letters, letter_set(dictionary().spelling(target)));
    }
}

#[test]
fn listed_words_are_found_and_others_are_not() {
    let words = dictionary().words();
    assert!(words.iter().is_sorted_by(|a, b| a < b));
    assert!(words.iter().all(|word| words.contains(word)));
    for word in ["", "a\u{0}", "alleg", "allegrox", "zzz", "\u{10FFFF}"] {
        assert!(!words.contains(word), "{word:?}");
    }
    let under: Vec<&str> = words.under(b'q').collect();
    let wanted: Vec<&str> = words.iter().filter(|word| word.starts_with('q')).collect();
    assert!(!under.is_empty() && under == wanted);
}

#[test]
fn no_spelling_is_listed_twice() {
    let built = dictionary();
    for index in [&built.terms, &built.small] {
        let mut seen: BTreeMap<&str, u16> = BTreeMap::new();
        for key in index.keys {
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

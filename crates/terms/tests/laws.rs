//! What holds for every text? Reading never fails, ranges lie in order on character boundaries, and it is quick.

use std::ops::Range;
use std::time::{Duration, Instant};

use proptest::prelude::*;
use terms::{dynamics, read, road, tempo};

fn in_order(text: &str, ranges: &[Range<usize>]) {
    let mut end = 0;
    for range in ranges {
        assert!(
            range.start >= end && range.start <= range.end,
            "{text:?}: {ranges:?}"
        );
        assert!(text.get(range.clone()).is_some(), "{text:?}: {range:?}");
        end = range.end;
    }
}

fn check(text: &str) {
    let reading = read(text);
    in_order(
        text,
        &reading
            .words
            .iter()
            .map(|word| word.range.clone())
            .collect::<Vec<_>>(),
    );
    in_order(
        text,
        &reading
            .units
            .iter()
            .map(|unit| unit.range.clone())
            .collect::<Vec<_>>(),
    );
    in_order(
        text,
        &dynamics::dynamic_words(text)
            .into_iter()
            .map(|word| word.range)
            .collect::<Vec<_>>(),
    );
    in_order(
        text,
        &road::road_words(text)
            .into_iter()
            .map(|word| word.range)
            .collect::<Vec<_>>(),
    );
    in_order(
        text,
        &tempo::changes(text)
            .into_iter()
            .map(|change| change.range)
            .collect::<Vec<_>>(),
    );
    for range in tempo::ranges(text) {
        assert!(
            range.low.zip(range.high).is_none_or(|(low, high)| low <= high),
            "{text:?}: {range:?}"
        );
    }
    for word in &reading.words {
        assert_eq!(text.get(word.range.clone()), Some(word.text.as_str()));
        assert!(!word.meaning.is_empty() && !word.lemma.is_empty(), "{text:?}");
    }
    assert_eq!(reading.meaning.is_some(), !reading.units.is_empty());
}

/// Words that the grammar knows, to be strung together at random.
const WORDS: [&str; 40] = [
    "Allegro",
    "molto",
    "ma",
    "non troppo",
    "e",
    "con",
    "fuoco",
    "poco a poco",
    "rit.",
    "D.C.",
    "al",
    "Fine",
    "Coda",
    "p",
    "subito",
    "più",
    "meno",
    "sempre",
    "quasi",
    "sehr",
    "nicht zu",
    "schnell",
    "und",
    "mit",
    "Kraft",
    "très",
    "peu",
    "2nd",
    "time",
    "𝄋",
    "senza",
    "replica",
    "possibile",
    "cre-",
    "scen-",
    "do",
    ",",
    "\n",
    "A",
    "12",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_text_is_read(text in "\\PC{0,60}") {
        check(&text);
    }

    #[test]
    fn any_bytes_as_text_are_read(bytes in proptest::collection::vec(any::<char>(), 0..40)) {
        check(&bytes.into_iter().collect::<String>());
    }

    #[test]
    fn any_string_of_terms_is_read(picks in proptest::collection::vec((0..WORDS.len(), "[ ,.\n-]"), 0..14)) {
        let text: String = picks.iter().map(|(word, gap)| format!("{}{gap}", WORDS[*word])).collect();
        check(&text);
    }
}

#[test]
fn every_listed_spelling_reads_as_a_term() {
    for entry in terms::entries() {
        for spelling in std::iter::once(entry.term).chain(entry.aliases()) {
            let found = terms::lookup(spelling).unwrap_or_else(|| panic!("{spelling}"));
            assert_eq!(found.meaning, entry.meaning, "{spelling}");
            check(spelling);
        }
    }
}

#[test]
fn a_long_text_is_read_in_linear_time() {
    let text = "Allegro ma non troppo, e con fuoco zzyzzy — poco rit. 2nd time only \n".repeat(400);
    let begin = Instant::now();
    check(&text);
    println!("{} bytes five ways: {:?}", text.len(), begin.elapsed());
    assert!(begin.elapsed() < Duration::from_secs(20));
}

#[test]
fn hostile_texts_do_not_hang() {
    for word in [
        "coda ",
        "Fine ",
        "possibile ",
        "molto ",
        "1st ",
        "A ",
        "trio ",
        "d c ",
        "cre-",
        "moderato ",
        "e ",
        "al ",
        "x",
        "\u{301}",
        "𝄋",
        "p ",
        "play ",
        "Allegro possibile ",
        "Xyzzyx ",
        "quasi Allegro ",
        "D.C. al Fine ",
        "p subito ",
        "senza ",
        "to the end ",
    ] {
        let text = format!("Allegro {}", word.repeat(10_000 / word.len()));
        let begin = Instant::now();
        check(&text);
        assert!(
            begin.elapsed() < Duration::from_secs(10),
            "{word}: {:?}",
            begin.elapsed()
        );
    }
}

/// Printed by the run with `--nocapture`; the limit is loose because debug builds and busy machines are slow.
#[test]
fn first_use_and_warm_reading_are_quick() {
    let begin = Instant::now();
    let _ = read("Allegro");
    let first = begin.elapsed();
    let phrases = [
        "Allegro ma non troppo e con fuoco",
        "poco rit.",
        "Andante con moto, quasi Allegretto",
        "cresendo",
        "p espr.",
        "D.S. al Coda",
        "Sehr lebhaft und mit Kraft",
        "un peu plus lent",
    ];
    for phrase in phrases {
        let _ = read(phrase);
    }
    let begin = Instant::now();
    let rounds = 50;
    for _ in 0..rounds {
        for phrase in phrases {
            std::hint::black_box(read(phrase));
        }
    }
    let each = begin.elapsed() / (rounds * 8);
    println!("first use {first:?}, then {each:?} for a phrase");
    assert!(first < Duration::from_millis(200) && each < Duration::from_millis(2));
}

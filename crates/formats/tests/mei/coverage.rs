//! Does COVERAGE.md speak of every element of the standard, once, and is every test it names there?

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// The words in backquotes of a cell.
fn quoted(cell: &str) -> Vec<&str> {
    cell.split('`').skip(1).step_by(2).collect()
}

/// Names of the test functions in this folder.
fn tests() -> BTreeSet<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/mei");
    let mut names = BTreeSet::new();
    for file in std::fs::read_dir(folder).expect("tests") {
        let text = std::fs::read_to_string(file.expect("a file").path()).expect("text");
        for (_, rest) in text
            .match_indices("#[test]\nfn ")
            .map(|(at, found)| text[at..].split_at(found.len()))
        {
            names.insert(rest.split('(').next().unwrap_or_default().to_owned());
        }
    }
    names
}

/// Source: MEI Guidelines 5.0, the elements of common Western notation and its neighbours; the list is from memory.
#[test]
fn every_element_of_the_standard_stands_in_the_table_once() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let table = std::fs::read_to_string(root.join("src/mei/COVERAGE.md")).expect("COVERAGE.md");
    let standard = std::fs::read_to_string(root.join("fixtures/mei-elements.txt")).expect("the list");
    let known = tests();
    let mut states: BTreeMap<&str, &str> = BTreeMap::new();
    for row in table.lines().filter(|line| line.starts_with("| `")) {
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        let [elements, state, _, test] = cells.as_slice() else {
            panic!("four cells: {row}")
        };
        assert!(
            ["done", "kept but unused", "reported", "skipped"].contains(state),
            "{row}"
        );
        for name in quoted(test) {
            assert!(known.contains(name), "the test {name} does not exist");
        }
        assert!(
            *state != "done" || !quoted(test).is_empty(),
            "done without a test: {row}"
        );
        for element in quoted(elements) {
            assert!(
                states.insert(element, state).is_none(),
                "{element} stands there twice"
            );
        }
    }
    let missing: Vec<&str> = standard
        .lines()
        .filter(|name| !states.contains_key(name))
        .collect();
    assert_eq!(missing, Vec::<&str>::new());
    assert_eq!(states.len(), standard.lines().count());
}

/// The names of the elements in a text, by its start-tags.
fn elements(text: &str) -> BTreeSet<&str> {
    let tags = text
        .split('<')
        .skip(1)
        .filter(|tag| !tag.starts_with(['/', '!', '?']));
    tags.map(|tag| {
        tag.split(|c: char| c.is_whitespace() || c == '>' || c == '/')
            .next()
            .unwrap_or_default()
    })
    .collect()
}

#[test]
fn fixtures_use_what_is_listed_and_all_that_is_done() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let table = std::fs::read_to_string(root.join("src/mei/COVERAGE.md")).expect("COVERAGE.md");
    let mut used: BTreeSet<String> = BTreeSet::new();
    let standard = std::fs::read_to_string(root.join("fixtures/mei-elements.txt")).expect("the list");
    let listed: BTreeSet<&str> = standard.lines().collect();
    for topic in std::fs::read_dir(root.join("fixtures/mei")).expect("fixtures") {
        for file in std::fs::read_dir(topic.expect("a folder").path()).expect("a folder") {
            let path = file.expect("a file").path();
            let text = std::fs::read_to_string(&path).expect("text");
            for name in elements(&text) {
                let made_up = ["swirl", "whirl"].contains(&name);
                used.insert(name.to_owned());
                assert!(made_up || listed.contains(name), "{name} in {}", path.display());
            }
        }
    }
    for row in table
        .lines()
        .filter(|line| line.starts_with("| `") && line.contains("| done |"))
    {
        let cell = row.trim_matches('|').split('|').next().unwrap_or_default();
        for element in quoted(cell) {
            assert!(used.contains(element), "no fixture uses {element}");
        }
    }
}

//! Does COVERAGE.md speak of every construct of the standard, once, and is every test it names there?

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// The words in backquotes of a cell.
fn quoted(cell: &str) -> Vec<&str> {
    cell.split('`').skip(1).step_by(2).collect()
}

/// Names of the test functions in this folder.
fn tests() -> BTreeSet<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/abc");
    let mut names = BTreeSet::new();
    for file in std::fs::read_dir(folder).expect("tests") {
        let text = std::fs::read_to_string(file.expect("a file").path()).expect("text");
        for (at, found) in text.match_indices("#[test]\nfn ") {
            let name = text[at + found.len()..].split('(').next().unwrap_or_default();
            names.insert(name.to_owned());
        }
    }
    names
}

/// Source: ABC 2.1: the table of information fields (section 3), the headings of sections 4 to 7, the list of
/// decorations (4.14) and the directives of section 11.
#[test]
fn every_construct_of_the_standard_stands_in_the_table_once() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let table = std::fs::read_to_string(root.join("src/abc/COVERAGE.md")).expect("COVERAGE.md");
    let standard = std::fs::read_to_string(root.join("fixtures/abc-constructs.txt")).expect("the list");
    let known = tests();
    let mut states: BTreeMap<&str, &str> = BTreeMap::new();
    for row in table.lines().filter(|line| line.starts_with("| `")) {
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        let [constructs, state, _, test] = cells.as_slice() else {
            panic!("four cells: {row}")
        };
        assert!(
            ["done", "kept but unused", "reported", "skipped", "not yet"].contains(state),
            "{row}"
        );
        for name in quoted(test) {
            assert!(known.contains(name), "the test {name} does not exist");
        }
        assert!(
            *state != "done" || !quoted(test).is_empty(),
            "done without a test: {row}"
        );
        for construct in quoted(constructs) {
            assert!(
                states.insert(construct, state).is_none(),
                "{construct} stands there twice"
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

//! Does COVERAGE.md speak of every signifier of the standard, once, and is every test it names there?

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// The words in backquotes of a cell.
fn quoted(cell: &str) -> Vec<&str> {
    cell.split('`').skip(1).step_by(2).collect()
}

/// Names of the test functions in this folder and beside the code.
fn tests() -> BTreeSet<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut names = BTreeSet::new();
    for folder in ["tests/kern", "src/kern"] {
        for file in std::fs::read_dir(root.join(folder)).expect("a folder") {
            let text = std::fs::read_to_string(file.expect("a file").path()).expect("text");
            let lines: Vec<&str> = text.lines().map(str::trim).collect();
            for pair in lines.windows(2) {
                let name = pair[1]
                    .strip_prefix("fn ")
                    .and_then(|rest| rest.split('(').next());
                names.extend(name.filter(|_| pair[0] == "#[test]").map(str::to_owned));
            }
        }
    }
    names
}

/// Source: Humdrum reference, `**kern` and barlines; user's guide, chapters 5, 20, 28 and appendix I.
#[test]
fn every_signifier_stands_in_the_table_once() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let table = std::fs::read_to_string(root.join("src/kern/COVERAGE.md")).expect("COVERAGE.md");
    let standard = std::fs::read_to_string(root.join("fixtures/kern-signifiers.txt")).expect("the list");
    let known = tests();
    let mut states: BTreeMap<&str, &str> = BTreeMap::new();
    for row in table.lines().filter(|line| line.starts_with("| `")) {
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        let [signifiers, state, _, test] = cells.as_slice() else {
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
        for signifier in quoted(signifiers) {
            assert!(
                states.insert(signifier, state).is_none(),
                "{signifier} stands there twice"
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

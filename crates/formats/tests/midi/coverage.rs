//! Does COVERAGE.md speak of every event of the standard, once, and is every test it names there?

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// The words in backquotes of a cell.
fn quoted(cell: &str) -> Vec<&str> {
    cell.split('`').skip(1).step_by(2).collect()
}

/// Names of the test functions in this folder.
fn tests() -> BTreeSet<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/midi");
    let mut names = BTreeSet::new();
    for file in std::fs::read_dir(folder).expect("tests") {
        let text = std::fs::read_to_string(file.expect("a file").path()).expect("text");
        for (_, rest) in text.match_indices("#[test]").map(|(at, _)| text.split_at(at)) {
            let name = rest.split("fn ").nth(1).unwrap_or_default();
            names.insert(name.split('(').next().unwrap_or_default().to_owned());
        }
    }
    names
}

/// Source: RP-001 and RP-019 (meta events), MIDI 1.0 (channel messages), RP-029 (the wrapper).
const EVENTS: [&str; 38] = [
    "MThd",
    "MTrk",
    "format 0",
    "format 1",
    "format 2",
    "division in ticks",
    "division in frames",
    "RIFF RMID",
    "note on",
    "note off",
    "polyphonic pressure",
    "control change",
    "program change",
    "channel pressure",
    "pitch bend",
    "system exclusive",
    "escape",
    "FF 00",
    "FF 01",
    "FF 02",
    "FF 03",
    "FF 04",
    "FF 05",
    "FF 06",
    "FF 07",
    "FF 08",
    "FF 09",
    "FF 20",
    "FF 21",
    "FF 2F",
    "FF 51",
    "FF 54",
    "FF 58",
    "FF 59",
    "FF 7F",
    "running status",
    "other chunks",
    "other meta events",
];

#[test]
fn every_event_of_the_standard_stands_in_the_table_once() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let table = std::fs::read_to_string(root.join("src/midi/COVERAGE.md")).expect("COVERAGE.md");
    let known = tests();
    let mut states: BTreeMap<&str, &str> = BTreeMap::new();
    for row in table.lines().filter(|line| line.starts_with("| `")) {
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        let [events, state, _, test] = cells.as_slice() else {
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
            *state == "skipped" || !quoted(test).is_empty(),
            "without a test: {row}"
        );
        for event in quoted(events) {
            assert!(
                states.insert(event, state).is_none(),
                "{event} stands there twice"
            );
        }
    }
    let missing: Vec<&&str> = EVENTS
        .iter()
        .filter(|name| !states.contains_key(**name))
        .collect();
    assert_eq!(missing, Vec::<&&str>::new());
    assert_eq!(states.len(), EVENTS.len());
}

//! One meaning: the same piece in MusicXML, MEI, ABC and kern gives the same survey.
//!
//! `fixtures/same/README.md` says which standard can say which feature, and each field in which they may differ, with the
//! reason. The fixtures were written from the standards, not from what the readers answer.
//!
//! Source: MusicXML 4.0; MEI 5 guidelines; ABC 2.1; Humdrum `**kern`, `**dynam`, `**text` reference.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stderr,
    reason = "a test that cannot set itself up has failed; its differences are read by a person"
)]

mod diff;
mod page;
mod table;

use desk::Asked;
use serde_json::Value;
use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use table::{Excuse, Table};

/// The standards by the ends of the fixtures' names; the first is the one that the others are held to.
const FORMATS: [&str; 4] = ["musicxml", "mei", "abc", "krn"];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/same")
}

fn read_table() -> Table {
    table::parse(&std::fs::read_to_string(folder().join("README.md")).unwrap())
}

fn open(feature: &str, format: &str) -> Result<desk::Opened, String> {
    desk::open(&folder().join(format!("{feature}.{format}"))).map_err(|error| error.to_string())
}

/// The survey of each part as JSON.
fn surveys(opened: &desk::Opened) -> Result<Vec<Value>, String> {
    (1..=opened.piece.parts.len())
        .map(|part| {
            let asked = Asked {
                part: Some(part.to_string()),
                ..Asked::default()
            };
            let shown = desk::survey_piece(opened, &asked).map_err(|error| error.to_string())?;
            serde_json::from_str(&desk::survey_json(opened, &shown)).map_err(|error| error.to_string())
        })
        .collect()
}

/// The excuses that hold for a feature in a format.
fn excuses<'t>(table: &'t Table, feature: &str, format: &str) -> Vec<&'t Excuse> {
    let fits = |one: &str, asked: &str| one == "all" || one == asked;
    table
        .excuses
        .iter()
        .filter(|excuse| {
            excuse.features.iter().any(|one| fits(one, feature))
                && excuse.formats.iter().any(|one| fits(one, format))
        })
        .collect()
}

/// Compares every fixture with its MusicXML by `differences`, which also says which excuses were needed.
fn hold_to_musicxml(
    of_kind: fn(&Excuse) -> bool,
    differences: fn(&desk::Opened, &desk::Opened, &[&Excuse], &mut BTreeSet<usize>) -> Vec<String>,
) {
    let table = read_table();
    let mut told = String::new();
    let mut needed = BTreeSet::new();
    let mut differ = 0;
    for row in &table.features {
        let first = match open(&row.name, FORMATS[0]) {
            Ok(opened) => opened,
            Err(error) => {
                differ += 1;
                let _ = writeln!(told, "{}.{}: {error}", row.name, FORMATS[0]);
                continue;
            }
        };
        let others = FORMATS.iter().skip(1).filter(|format| row.says(format));
        for format in others {
            let excuses: Vec<&Excuse> = excuses(&table, &row.name, format)
                .into_iter()
                .filter(|excuse| of_kind(excuse))
                .collect();
            let found = match open(&row.name, format) {
                Ok(other) => differences(&first, &other, &excuses, &mut needed),
                Err(error) => vec![error],
            };
            if !found.is_empty() {
                differ += 1;
                let _ = writeln!(told, "{}.{format}:", row.name);
                for line in found.iter().take(12) {
                    let _ = writeln!(told, "    {line}");
                }
                if found.len() > 12 {
                    let _ = writeln!(told, "    and {} more", found.len() - 12);
                }
            }
        }
    }
    for excuse in table.excuses.iter().filter(|excuse| of_kind(excuse)) {
        if !needed.contains(&excuse.line) {
            differ += 1;
            let _ = writeln!(
                told,
                "README.md, line {}: nothing needs the excuse `{}`",
                excuse.line, excuse.field
            );
        }
    }
    assert!(differ == 0, "{differ} differences\n{told}");
}

#[test]
fn every_standard_gives_the_same_survey() {
    hold_to_musicxml(
        |excuse| !excuse.is_of_page(),
        |first, other, excuses, needed| {
            let (here, there) = match (surveys(first), surveys(other)) {
                (Ok(here), Ok(there)) => (here, there),
                (Err(error), _) | (_, Err(error)) => return vec![error],
            };
            if here.len() != there.len() {
                return vec![format!("{} parts in MusicXML, {} here", here.len(), there.len())];
            }
            let mut found = Vec::new();
            for (part, (a, b)) in here.iter().zip(&there).enumerate() {
                for difference in diff::differences(a, b) {
                    match excuses.iter().find(|excuse| difference.stands_in(&excuse.field)) {
                        Some(excuse) => {
                            needed.insert(excuse.line);
                        }
                        None => found.push(format!("part {}: {difference}", part + 1)),
                    }
                }
            }
            found
        },
    );
}

#[test]
fn every_standard_gives_the_same_page() {
    hold_to_musicxml(Excuse::is_of_page, |first, other, excuses, needed| {
        page::difference(&first.piece, &other.piece, excuses, needed)
            .into_iter()
            .collect()
    });
}

#[test]
fn the_table_names_every_fixture_and_says_why_one_is_missing() {
    let table = read_table();
    let mut listed = BTreeSet::from(["README.md".to_owned()]);
    for row in &table.features {
        for format in FORMATS {
            let name = format!("{}.{format}", row.name);
            let there = folder().join(&name).exists();
            assert_eq!(
                there,
                row.says(format),
                "{name}: the table and the folder disagree"
            );
            listed.insert(name);
        }
        let all = FORMATS.iter().all(|format| row.says(format));
        assert!(all || !row.why.is_empty(), "{}: say why not in all", row.name);
    }
    for entry in std::fs::read_dir(folder()).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        assert!(listed.contains(&name), "{name} is not in the table");
    }
    let known: BTreeSet<&str> = table.features.iter().map(|row| row.name.as_str()).collect();
    for excuse in &table.excuses {
        assert!(!excuse.why.is_empty(), "line {}: say why", excuse.line);
        for feature in excuse.features.iter().filter(|name| *name != "all") {
            assert!(
                known.contains(feature.as_str()),
                "line {}: no feature {feature}",
                excuse.line
            );
        }
    }
}

/// What a fixture is for must be in its survey: no fixture passes because all four say nothing.
#[test]
fn the_fixtures_say_what_they_are_named_for() {
    let mut silent = Vec::new();
    for (feature, path) in table::SHOWN {
        let opened = open(feature, "musicxml").unwrap();
        let survey = surveys(&opened).unwrap().remove(0);
        let shown = survey.pointer(path).unwrap_or(&Value::Null);
        let says = match shown {
            Value::Null => false,
            Value::Array(list) => !list.is_empty(),
            Value::Number(number) => number.as_f64() != Some(0.0),
            Value::Object(_) | Value::Bool(_) | Value::String(_) => true,
        };
        if !says {
            silent.push(format!("{feature}: {path} is {shown}"));
        }
    }
    assert!(silent.is_empty(), "{}", silent.join("\n"));
}

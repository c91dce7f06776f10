//! The command line as a musician uses it: real files, real mistakes, exit status and what is said.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

fn piece(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../demo/pieces")
        .join(name)
}

fn foreread(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_foreread"))
        .args(arguments)
        .output()
        .unwrap()
}

fn said(output: &Output) -> (String, String) {
    (
        String::from_utf8(output.stdout.clone()).unwrap(),
        String::from_utf8(output.stderr.clone()).unwrap(),
    )
}

/// A folder of this test run's own, removed when the test ends.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("foreread-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn file(&self, name: &str, bytes: &[u8]) -> String {
        let path = self.0.join(name);
        std::fs::write(&path, bytes).unwrap();
        path.to_string_lossy().into_owned()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// One clear message, a status that is not 0, and never a panic.
fn refuses(arguments: &[&str], message: &str) {
    let output = foreread(arguments);
    let (stdout, stderr) = said(&output);
    assert!(!output.status.success(), "{arguments:?} went through");
    assert!(
        output.status.code().is_some_and(|code| code < 100),
        "{arguments:?} died: {stderr}"
    );
    assert!(stderr.contains(message), "{arguments:?} says: {stderr}");
    assert!(!stderr.contains("panicked"), "{stderr}");
    assert!(stdout.is_empty(), "{stdout}");
}

#[test]
fn twelve_answers_in_plain_text_when_piped() {
    let output = foreread(&["survey", piece("causeway_at_dusk.musicxml").to_str().unwrap()]);
    let (stdout, stderr) = said(&output);
    assert!(output.status.success(), "{stderr}");
    assert!(!stdout.contains('\u{1b}'));
    for heading in [
        "1. KEY",
        "2. RANGE",
        "3. METRE",
        "4. RHYTHM",
        "5. TERMS",
        "6. TEMPO",
        "7. ROAD MAP",
        "8. DYNAMICS",
        "9. ACCIDENTALS",
        "10. CLEFS",
        "11. ARTICULATION",
        "12. ORNAMENTS",
        "WHERE TO LOOK FIRST",
    ] {
        assert!(stdout.contains(heading), "{heading}");
    }
    assert!(stdout.lines().all(|line| line.chars().count() <= 80));
}

#[test]
fn only_the_questions_she_asks() {
    let path = piece("causeway_at_dusk.musicxml");
    let path = path.to_str().unwrap();
    let output = foreread(&[
        "survey",
        path,
        "--questions",
        "accidentals,key",
        "--bar-word",
        "measure",
    ]);
    let (stdout, _) = said(&output);
    assert!(stdout.find("1. KEY").unwrap() < stdout.find("2. ACCIDENTALS").unwrap());
    assert!(!stdout.contains("RANGE") && !stdout.contains("[bar ") && stdout.contains("measure"));
    let output = foreread(&["survey", path, "--as", "json", "--questions", "road-map"]);
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert!(json["key"].is_null() && json["road_map"]["bars_played"] == 62);
    refuses(
        &["survey", path, "--questions", "colour"],
        "no question is called “colour”",
    );
}

#[test]
fn a_part_by_number_or_name() {
    let path = piece("town_hall_minuet.musicxml");
    let path = path.to_str().unwrap();
    let part = |arguments: &[&str]| -> serde_json::Value {
        let output = foreread(&[&["survey", path, "--as", "json"], arguments].concat());
        serde_json::from_slice::<serde_json::Value>(&output.stdout).unwrap()
    };
    assert_eq!(part(&["--part", "2"])["piece"]["part_number"], 2);
    assert_eq!(part(&["--part", "organ"])["piece"]["part_number"], 2);
    let taken = part(&[]);
    assert_eq!(taken["piece"]["part_number"], 1);
    assert_eq!(taken["reader_findings"][0]["kind"], "several-parts");
    refuses(&["survey", path, "--part", "tuba"], "no part is called “tuba”");
    refuses(&["survey", path, "--part", "3"], "no part is called “3”");
}

#[test]
fn standard_input_and_a_page_to_a_file() {
    let bytes = std::fs::read(piece("winding_road.mxl")).unwrap();
    let folder = Folder::new("page");
    let page = folder.0.join("sheet.html");
    let mut child = Command::new(env!("CARGO_BIN_EXE_foreread"))
        .args(["survey", "-", "--as", "html", "--to", page.to_str().unwrap()])
        .stdin(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(&bytes).unwrap();
    assert!(child.wait().unwrap().success());
    let html = std::fs::read_to_string(&page).unwrap();
    assert!(html.starts_with("<!doctype html>") && html.ends_with("</html>\n"));
    // Self-contained: nothing is fetched, nothing runs.
    for outside in ["http://", "https://", "<script", "<link", "@import", "url("] {
        assert!(!html.contains(outside), "{outside}");
    }
    assert_eq!(
        std::fs::read_dir(&folder.0).unwrap().count(),
        1,
        "no half-written file is left"
    );
}

#[test]
fn bad_input_is_one_clear_message() {
    let folder = Folder::new("bad");
    let good = std::fs::read(piece("kite_weather.musicxml")).unwrap();
    refuses(
        &["survey", "no-such-piece.musicxml"],
        "there is no file no-such-piece.musicxml",
    );
    refuses(&["survey", folder.0.to_str().unwrap()], "is a folder");
    refuses(&["survey", &folder.file("empty.xml", b"")], "empty.xml");
    refuses(
        &["survey", &folder.file("cut.musicxml", &good[..good.len() / 2])],
        "cut.musicxml",
    );
    refuses(
        &["survey", &folder.file("noise.mxl", b"PK\x03\x04 and then noise")],
        "noise.mxl",
    );
    refuses(
        &["survey", &folder.file("picture.xml", b"\x89PNG\r\n\x1a\n")],
        "picture.xml",
    );
    let bomb = b"<?xml version=\"1.0\"?><!DOCTYPE a [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;&a;&a;&a;&a;\">\
        <!ENTITY c \"&b;&b;&b;&b;&b;&b;&b;&b;\">]><score-partwise><movement-title>&c;</movement-title></score-partwise>";
    refuses(&["survey", &folder.file("bomb.xml", bomb)], "bomb.xml");
    let nowhere = folder.0.join("no/such/folder/x.html");
    let path = piece("kite_weather.musicxml");
    refuses(
        &[
            "survey",
            path.to_str().unwrap(),
            "--to",
            nowhere.to_str().unwrap(),
        ],
        "can't be written",
    );
}

//! An audition's list: told, timed, its cuts written, its errors named.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

mod common;

use common::{demo, foreread};
use serde_json::Value;
use std::path::PathBuf;

/// A folder of this test's own.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("foreread-call-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn file(&self, name: &str) -> String {
        self.0.join(name).to_str().unwrap().to_owned()
    }

    fn call(&self, text: &str) -> String {
        let path = self.file("call.toml");
        std::fs::write(&path, text).unwrap();
        path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

#[test]
fn the_demo_call_is_told_with_its_days_and_durations() {
    let call = demo("calls/harbour.toml");
    let (status, out, error) = foreread(&["call", &call, "--today", "2026-12-01", "--since", "2026-11-24"]);
    assert_eq!(status, Some(0), "{error}");
    assert!(out.contains("in 81 days"), "{out}");
    assert!(
        out.contains("beat 3 of bar 21 through the end of bar 28"),
        "{out}"
    );
    // Seven and a half bars of four quarters at 80 and 88.
    assert!(out.contains("0:23 to 0:20"), "{out}");
    assert!(
        out.contains("2026-12-01  Kite Weather") && !out.contains("2026-11-20  The Causeway"),
        "{out}"
    );
    assert!(!out.contains("problem"), "{out}");

    let (_, out, _) = foreread(&["call", &call, "--today", "2026-12-01", "--as", "json"]);
    let json: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(json["days_left"], 81);
    let cut = &json["pieces"][0]["cuts"][1];
    assert_eq!(
        (&cut["from_bar"], &cut["to_bar"]),
        (&Value::from("21"), &Value::from("28"))
    );
    assert!(
        (cut["seconds_slowest"].as_f64().unwrap() - 30.0 * 60.0 / 80.0).abs() < 0.01,
        "{cut}"
    );
}

#[test]
fn a_cut_is_written_without_a_note_beyond_its_end() {
    let folder = Folder::new("cut");
    let to = folder.file("cut.musicxml");
    let (status, _, error) = foreread(&["call", &demo("calls/harbour.toml"), "--cut", "1.B", "--to", &to]);
    assert_eq!(status, Some(0), "{error}");
    let xml = std::fs::read_to_string(&to).unwrap();
    assert_eq!(xml.matches("<measure ").count(), 8);
    assert!(
        xml.contains("<per-minute>80-88</per-minute>"),
        "the tempo asked for stands over it"
    );
    let midi = folder.file("cut.mid");
    let (status, _, error) = foreread(&["call", &demo("calls/harbour.toml"), "--cut", "1.B", "--to", &midi]);
    assert_eq!(status, Some(0), "{error}");
    let (status, _, error) = foreread(&["call", &demo("calls/harbour.toml"), "--cut", "A", "--to", &midi]);
    assert_eq!(status, Some(2), "{error}");
    assert!(
        error.contains("several pieces") && error.contains("1.A"),
        "{error}"
    );
}

#[test]
fn an_erratum_is_in_the_written_cut() {
    let folder = Folder::new("erratum");
    let call = folder.call(&format!(
        "name = \"Trial\"\n[[pieces]]\nfile = \"{}\"\n[[pieces.cuts]]\nbars = \"21 to 22\"\n[[pieces.errata]]\nat = \"beat 1 of 21\"\nwas = \"F#5\"\nnote = \"G5\"\n",
        demo("pieces/kite_weather.musicxml")
    ));
    let (_, told, _) = foreread(&["call", &call]);
    let to = folder.file("cut.musicxml");
    let (status, _, error) = foreread(&["call", &call, "--cut", "1", "--to", &to]);
    assert_eq!(status, Some(0), "{error}");
    assert!(told.contains("G5, not F♯5"), "{told}");
    assert!(!told.contains("not applied"), "{told}");
    let xml = std::fs::read_to_string(&to).unwrap();
    let first = xml.split("<step>").nth(1).unwrap();
    assert!(first.starts_with('G'), "{first:.20}");
}

#[test]
fn what_is_not_understood_is_named_with_its_line() {
    let folder = Folder::new("wrong");
    for (text, words) in [
        ("name = 3\n", "line 1"),
        (
            "name = \"A\"\n[[pieces]]\nfile = \"x\"\n[[pieces.cuts]]\nbars = \"the loud bit\"\n",
            "line 5",
        ),
        (
            "name = \"A\"\n[[pieces]]\nfile = \"x\"\n[[pieces.cuts]]\nbars = \"1 to 2\"\ntempo = \"fast\"\n",
            "line 6",
        ),
        (
            "name = \"A\"\n[[pieces]]\nfile = \"x\"\n[[pieces.errata]]\nat = \"beat 1 of 2\"\n",
            "corrects nothing",
        ),
        (
            "name = \"A\"\n[[pieces]]\nfile = \"x\"\n[[pieces.errata]]\nat = \"beat 1 of 2\"\nnote = \"H9\"\n",
            "is no note",
        ),
        ("name = \"A\"\ncolour = \"red\"\n", "colour"),
    ] {
        let (status, _, error) = foreread(&["call", &folder.call(text)]);
        assert_eq!(status, Some(2), "{text}: {error}");
        assert!(error.contains(words) && error.contains(" — "), "{error}");
    }
    let (status, out, _) = foreread(&[
        "call",
        &folder.call("name = \"A\"\n[[pieces]]\nfile = \"nowhere.musicxml\"\n"),
    ]);
    assert_eq!(status, Some(0));
    assert!(
        out.contains("problem") && out.contains("nowhere.musicxml"),
        "{out}"
    );
    let (status, _, error) = foreread(&["call", &folder.file("none.toml")]);
    assert_eq!(status, Some(2), "{error}");
    let (status, _, error) = foreread(&["call", &demo("calls/harbour.toml"), "--since", "soon"]);
    assert_eq!(status, Some(2), "{error}");
}

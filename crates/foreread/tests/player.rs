//! A player's own file, an instrument alone, and the commands that answer for a player.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

mod common;

use common::{demo, foreread};
use serde_json::Value;
use std::path::PathBuf;

fn json(arguments: &[&str]) -> Value {
    let (status, out, error) = foreread(&[arguments, &["--as", "json"]].concat());
    assert_eq!(status, Some(0), "{error}");
    serde_json::from_str(&out).unwrap()
}

/// A player's file of this test's own.
struct File(PathBuf);

impl File {
    fn new(name: &str, text: &str) -> Self {
        let path = std::env::temp_dir().join(format!("foreread-player-{name}-{}.toml", std::process::id()));
        std::fs::write(&path, text).unwrap();
        Self(path)
    }

    fn path(&self) -> &str {
        self.0.to_str().unwrap()
    }
}

impl Drop for File {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

#[test]
fn without_a_player_the_survey_is_for_anybody() {
    let survey = json(&["survey", &demo("pieces/town_hall_minuet.musicxml")]);
    for field in [
        "player",
        "load",
        "trouble_spots",
        "fingering",
        "ladder",
        "levels",
        "breaths",
    ] {
        assert!(survey.get(field).is_none(), "{field}");
    }
    assert_eq!(survey["tempo"]["first_reading"]["basis"], "page");
}

#[test]
fn an_instrument_is_enough() {
    let survey = json(&[
        "survey",
        &demo("pieces/town_hall_minuet.musicxml"),
        "--instrument",
        "trumpet-bb",
    ]);
    assert_eq!(survey["player"]["level"], "intermediate");
    assert_eq!(survey["tempo"]["first_reading"]["basis"], "player");
    for field in [
        "load",
        "trouble_spots",
        "fingering",
        "levels",
        "breaths",
        "look_alikes",
    ] {
        assert!(!survey[field].as_array().unwrap().is_empty(), "{field}");
    }
    assert!(!survey["ladder"]["rungs"].as_array().unwrap().is_empty());
}

#[test]
fn her_own_file_goes_before_what_is_usual() {
    let piece = demo("pieces/causeway_at_dusk.musicxml");
    let survey = json(&["survey", &piece, "--player", &demo("players/ivo.toml")]);
    assert_eq!(survey["player"]["breath_seconds"], 16.0);
    assert_eq!(survey["player"]["range"]["high"], "A4");
    assert_eq!(survey["player"]["level"], "intermediate");
    let shorter = json(&[
        "survey",
        &piece,
        "--player",
        &demo("players/ivo.toml"),
        "--breath",
        "5",
    ]);
    assert_eq!(shorter["player"]["breath_seconds"], 5.0);
    let marks = |survey: &Value| {
        let breaths = survey["breaths"].as_array().unwrap();
        breaths.iter().filter(|breath| breath["tempo"] == "final").count()
    };
    assert!(marks(&shorter) > marks(&survey));
}

#[test]
fn the_teachers_own_fingering_is_kept() {
    let piece = demo("pieces/causeway_at_dusk.musicxml");
    let at = |survey: &Value, bar: &str| -> Vec<Value> {
        let notes = survey["fingering"].as_array().unwrap();
        notes.iter().filter(|note| note["bar"] == bar).cloned().collect()
    };
    let plain = json(&["fingers", &piece]);
    // Any note with a choice will do: ask for a fingering of it that was not proposed.
    let used = plain["fingering_more"]["used"].as_array().unwrap();
    assert!(!used.is_empty());
    let file = File::new(
        "prefers",
        "[[prefers]]\nnote = \"Bb3\"\nfingering = \"LT:W | \"\n",
    );
    let (status, _, error) = foreread(&["fingers", &piece, "--player", file.path(), "--as", "json"]);
    assert_eq!(status, Some(0), "{error}");
    let own = json(&["fingers", &piece, "--finger", "1:1=plain"]);
    let first = &at(&own, "1")[0];
    assert_eq!(first["own"], true);
}

#[test]
fn each_command_answers_its_own_question() {
    let piece = demo("pieces/seven_lamps.musicxml");
    for (command, has, lacks) in [
        ("spots", ["trouble_spots", "load"], "ladder"),
        ("fingers", ["fingering", "fingering_more"], "trouble_spots"),
        ("ladder", ["ladder", "tempo"], "fingering"),
    ] {
        let answer = json(&[command, &piece]);
        for field in has {
            assert!(answer.get(field).is_some(), "{command} {field}");
        }
        assert!(
            answer.get(lacks).is_none() && answer.get("key").is_none(),
            "{command}"
        );
        let (status, text, _) = foreread(&[command, &piece]);
        assert!(status == Some(0) && text.lines().count() > 5, "{command}: {text}");
        let (status, page, _) = foreread(&[command, &piece, "--as", "html"]);
        assert!(status == Some(0) && page.contains("</html>"), "{command}");
    }
}

#[test]
fn a_wish_moves_the_climb() {
    let piece = demo("pieces/town_hall_minuet.musicxml");
    let answer = json(&[
        "ladder",
        &piece,
        "--scheme",
        "straight",
        "--from-tempo",
        "60",
        "--to-tempo",
        "96",
    ]);
    let rungs = answer["ladder"]["rungs"].as_array().unwrap();
    let bpm: Vec<u64> = rungs.iter().map(|rung| rung["bpm"].as_u64().unwrap()).collect();
    assert_eq!(bpm, [60, 63, 66, 69, 72, 76, 80, 84, 88, 92, 96]);
}

#[test]
fn mistakes_are_told_where_they_stand() {
    let piece = demo("pieces/causeway_at_dusk.musicxml");
    let told = |text: &str| {
        let file = File::new("wrong", text);
        let (status, out, error) = foreread(&["spots", &piece, "--player", file.path()]);
        assert!(status == Some(2) && out.is_empty(), "{error}");
        error
    };
    assert!(told("instrument = \"Bassoon\"\nlevle = \"student\"\n").contains("line 2: unknown field levle"));
    assert!(told("breath_seconds = -3\n").contains("a breath of -3 seconds can't be"));
    assert!(told("range = { low = \"A4\", high = \"C3\" }\n").contains("from A4 down to C3"));
    assert!(told("range = { low = \"H4\", high = \"C5\" }\n").contains("“H4” is no note"));
    assert!(told("[[prefers]]\nnote = \"F#3\"\nfingering = \"nose\"\n").contains("thumb, little finger"));
    assert!(told("level = 3\n").contains("line 1"));
    assert!(told("\u{0}\u{1}").contains("line 1"));
    let (status, _, error) = foreread(&["spots", &piece, "--player", "/no/such/player.toml"]);
    assert!(
        status == Some(2) && error.contains("there is no player's file"),
        "{error}"
    );
    let (status, _, error) = foreread(&["spots", &piece, "--instrument", "Kazoo"]);
    assert!(
        status == Some(2) && error.contains("no instrument is called"),
        "{error}"
    );
    let (status, _, error) = foreread(&["ladder", &piece, "--to-tempo", "9000"]);
    assert!(status == Some(2) && error.contains("is no tempo"), "{error}");
}

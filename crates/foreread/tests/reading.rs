//! Reading pieces from the command line: levels, wishes, sets, files, refusals.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn reading(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_foreread"))
        .arg("reading")
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

fn json(arguments: &[&str]) -> Value {
    let output = reading(&[arguments, &["--as", "json"]].concat());
    assert!(output.status.success(), "{}", said(&output).1);
    serde_json::from_slice(&output.stdout).unwrap()
}

fn refuses(arguments: &[&str], message: &str) {
    let output = reading(arguments);
    let (_, stderr) = said(&output);
    assert_eq!(output.status.code(), Some(2), "{arguments:?}: {stderr}");
    assert!(stderr.contains(message), "{arguments:?}: {stderr}");
}

fn demo(name: &str) -> String {
    let path: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../demo")
        .join(name);
    path.to_string_lossy().into_owned()
}

#[test]
fn the_tables_are_listed_with_their_sources() {
    let (text, _) = said(&reading(&["--list"]));
    assert!(
        text.contains("Missouri band sight-reading\n  read at: MSHSAA"),
        "{text}"
    );
    assert!(text.contains("dotted-quarters"));
    let tables = json(&["--list"]);
    assert!(tables["tables"].as_array().unwrap().len() >= 15);
}

#[test]
fn a_piece_says_what_was_asked_and_found() {
    let (text, _) = said(&reading(&[
        "--level",
        "missouri band:class 1",
        "--for",
        "clarinet",
        "--seed",
        "3",
    ]));
    assert!(
        text.contains("after Missouri band sight-reading, class 1 (MSHSAA"),
        "{text}"
    );
    assert!(text.contains("checked by our own survey and study of the written page"));
    for feature in [
        "key",
        "metre",
        "length",
        "range",
        "rhythms",
        "leaps",
        "tempo",
        "articulation",
        "dynamics",
        "player",
    ] {
        assert!(text.contains(&format!("    {feature} ")), "{feature}: {text}");
    }
    assert!(!text.contains("bits"), "no measure that a musician doesn't know");
}

#[test]
fn the_same_seed_is_the_same_bytes_and_every_feature_fits() {
    let asked = ["--level", "texas:III", "--for", "cello", "--seed", "12"];
    let one = json(&asked);
    assert_eq!(one, json(&asked));
    let piece = &one["pieces"][0];
    assert!(
        piece["features"]
            .as_array()
            .unwrap()
            .iter()
            .all(|feature| feature["fits"] == true)
    );
    assert!(piece["musicxml"].as_str().unwrap().starts_with("<?xml"));
}

#[test]
fn wishes_are_kept() {
    let piece = &json(&[
        "--for",
        "trumpet",
        "--key",
        "G",
        "--metre",
        "3/4",
        "--bars",
        "12",
        "--rhythms",
        "eighths,dotted-quarters",
        "--lowest",
        "D4",
        "--highest",
        "E5",
        "--tempo",
        "84",
        "--dynamics",
        "p,f",
        "--articulation",
        "slurs",
        "--no-pickup",
        "--seed",
        "2",
    ])["pieces"][0];
    assert_eq!(
        (piece["key"].as_str(), piece["metre"].as_str()),
        (Some("G major"), Some("3/4"))
    );
    assert_eq!(
        (piece["bars"].as_u64(), piece["beats_a_minute"].as_u64()),
        (Some(12), Some(84))
    );
    let page = piece["musicxml"].as_str().unwrap();
    assert!(page.contains("<fifths>1</fifths>") && page.contains("<slur "));
    assert!(!page.contains("<staccato"));
}

#[test]
fn a_model_gives_its_key_and_metre() {
    let piece = &json(&["--like", &demo("pieces/kite_weather.musicxml"), "--seed", "4"])["pieces"][0];
    let survey = Command::new(env!("CARGO_BIN_EXE_foreread"))
        .args(["survey", &demo("pieces/kite_weather.musicxml"), "--as", "json"])
        .output()
        .unwrap();
    let survey: Value = serde_json::from_slice(&survey.stdout).unwrap();
    let tonic = survey["key"]["tonic"]
        .as_str()
        .unwrap()
        .replace('b', "♭")
        .replace('#', "♯");
    let mode = survey["key"]["mode"].as_str().unwrap();
    assert_eq!(piece["key"].as_str().unwrap(), format!("{tonic} {mode}"));
}

#[test]
fn a_set_is_written_as_files_that_rise() {
    let folder = std::env::temp_dir().join(format!("foreread-reading-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let to = folder.join("week.musicxml");
    let set = json(&[
        "--for",
        "flute",
        "--count",
        "3",
        "--seed",
        "9",
        "--to",
        &to.to_string_lossy(),
    ]);
    let loads: Vec<f64> = set["pieces"]
        .as_array()
        .unwrap()
        .iter()
        .map(|piece| piece["load_a_quarter"].as_f64().unwrap())
        .collect();
    assert!(loads.is_sorted(), "{loads:?}");
    for (number, piece) in (1..).zip(set["pieces"].as_array().unwrap()) {
        let page = std::fs::read_to_string(folder.join(format!("week-{number}.musicxml"))).unwrap();
        assert_eq!(Some(page.as_str()), piece["musicxml"].as_str());
    }
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn what_can_not_be_had_is_said_with_what_to_change() {
    refuses(&[], "nothing says how hard the piece is to be");
    refuses(&["--level", "nowhere:1"], "no level table is called “nowhere”");
    refuses(
        &["--level", "texas:I", "--for", "flute"],
        "has no level for Flute",
    );
    refuses(
        &["--level", "texas:I", "--for", "viola", "--key", "Bb"],
        "has no B♭ major",
    );
    refuses(&["--for", "flute", "--key", "H"], "“H” is no key");
    refuses(
        &["--for", "flute", "--metre", "11/16"],
        "“11/16” is no metre composed in",
    );
    refuses(&["--for", "flute", "--bars", "900"], "900 bars can't be had");
    refuses(
        &["--for", "flute", "--rhythms", "hemidemi"],
        "no rhythm is called “hemidemi”",
    );
    refuses(
        &["--for", "flute", "--lowest", "C5", "--highest", "D5"],
        "no room for a melody",
    );
    refuses(&["--for", "bassoon", "--lowest", "C1"], "lies below");
    refuses(&["--for", "flute", "--count", "500"], "too many");
    refuses(&["--for", "flute", "--to", "piece.doc"], "is not written here");
}

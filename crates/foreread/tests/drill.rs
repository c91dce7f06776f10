//! Drills from the command line: listed, as JSON, written as notation and sound; errors that say what to do.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

mod common;

use common::{demo, foreread};
use serde_json::Value;
use std::path::PathBuf;

/// A file of this test's own.
struct File(PathBuf);

impl File {
    fn new(name: &str) -> Self {
        Self(std::env::temp_dir().join(format!("foreread-drill-{}-{name}", std::process::id())))
    }

    fn path(&self) -> &str {
        self.0.to_str().unwrap()
    }

    fn bytes(&self) -> Vec<u8> {
        std::fs::read(&self.0).unwrap()
    }
}

impl Drop for File {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

#[test]
fn without_a_file_the_offers_are_listed_with_what_they_are_for() {
    let (status, out, error) = foreread(&["drill", &demo("pieces/causeway_at_dusk.musicxml")]);
    assert_eq!(status, Some(0), "{error}");
    for word in [
        "scale",
        "half-speed",
        "Start at",
        "spot 1",
        "Stop at once if anything hurts",
    ] {
        assert!(out.contains(word), "{word}");
    }
    assert!(
        out.lines().all(|line| line.chars().count() <= 100),
        "lines are wrapped"
    );
}

#[test]
fn json_says_kind_bars_tempo_and_how_often() {
    let piece = demo("pieces/lantern_barge.musicxml");
    let (status, out, error) = foreread(&["drill", &piece, "--as", "json"]);
    assert_eq!(status, Some(0), "{error}");
    let json: Value = serde_json::from_str(&out).unwrap();
    let drills = json["drills"].as_array().unwrap();
    assert!(drills.len() > 10);
    for drill in drills {
        assert!(
            drill["at_most"].as_u64().unwrap() <= 6,
            "no more than six repetitions"
        );
        assert!((40..=208).contains(&drill["tempo"]["bpm"].as_u64().unwrap()));
        assert!(
            !drill["what_for"].as_str().unwrap().is_empty()
                && !drill["when_to_stop"].as_str().unwrap().is_empty()
        );
        assert!(!drill["cautions"].as_array().unwrap().is_empty());
        assert!(drill["from_bar_index"].as_u64() <= drill["to_bar_index"].as_u64());
    }
}

#[test]
fn notation_is_written_and_can_be_read_again() {
    let file = File::new("spot.musicxml");
    let piece = demo("pieces/sealed_door.musicxml");
    let (status, _, error) = foreread(&["drill", &piece, "--spot", "1", "--to", file.path()]);
    assert_eq!(status, Some(0), "{error}");
    let (status, out, error) = foreread(&["survey", file.path(), "--as", "json"]);
    assert_eq!(status, Some(0), "{error}");
    let survey: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(survey["piece"]["instrument_id"], "oboe");
    assert!(survey["piece"]["notes"].as_u64().unwrap() > 20);
    assert!(
        survey["metre_more"]["uneven"]
            .as_array()
            .is_none_or(Vec::is_empty),
        "bars add up"
    );
}

#[test]
fn drills_sound_at_their_tempo() {
    let piece = demo("pieces/town_hall_minuet.musicxml");
    let midi = File::new("half.mid");
    let (status, _, error) = foreread(&[
        "drill",
        &piece,
        "--bars",
        "5",
        "--kind",
        "half-speed",
        "--to",
        midi.path(),
    ]);
    assert_eq!(status, Some(0), "{error}");
    assert!(midi.bytes().starts_with(b"MThd"));
    let wav = File::new("half.wav");
    let (status, _, error) = foreread(&[
        "drill",
        &piece,
        "--bars",
        "5",
        "--kind",
        "half-speed",
        "--to",
        wav.path(),
    ]);
    assert_eq!(status, Some(0), "{error}");
    assert!(wav.bytes().starts_with(b"RIFF"));
}

#[test]
fn mei_is_written_for_another_instrument() {
    let piece = demo("pieces/kite_weather.musicxml");
    let file = File::new("scales.mei");
    let (status, _, error) = foreread(&[
        "drill",
        &piece,
        "--scales",
        "--for",
        "clarinet-bb",
        "--to",
        file.path(),
    ]);
    assert_eq!(status, Some(0), "{error}");
    let (_, out, _) = foreread(&["survey", file.path(), "--as", "json"]);
    let survey: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(survey["piece"]["instrument_id"], "clarinet-bb");
}

#[test]
fn what_can_not_be_done_is_said_with_what_can() {
    let piece = demo("pieces/causeway_at_dusk.musicxml");
    let said = |arguments: &[&str]| {
        let (status, _, error) = foreread(&[&["drill", piece.as_str()], arguments].concat());
        assert_eq!(status, Some(2), "{error}");
        error
    };
    assert!(said(&["--spot", "99"]).contains("the worst is 1"));
    assert!(said(&["--bars", "900"]).contains("there is no bar 900"));
    assert!(said(&["--kind", "waltz"]).contains("there are scale, arpeggio"));
    assert!(said(&["--to", "x.musicxml"]).contains("--all"));
    assert!(said(&["--spot", "1", "--to", "x.docx"]).contains(".musicxml"));
    assert!(said(&["--bars", "1", "--kind", "without-ornaments"]).contains("leave out --kind"));
}

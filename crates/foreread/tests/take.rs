//! A recording laid against its piece: told in words and as JSON, judged by rubrics, refused with reasons.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

mod common;

use common::{demo, foreread};
use serde_json::Value;
use std::path::PathBuf;

/// A folder of this test's own.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("foreread-take-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn file(&self, name: &str) -> String {
        self.0.join(name).to_str().unwrap().to_owned()
    }

    /// The piece played by our own tone into a file.
    fn played(&self, name: &str, more: &[&str]) -> String {
        let file = self.file(name);
        let piece = demo("pieces/kite_weather.musicxml");
        let mut arguments = vec!["play", piece.as_str(), "--own-tone", "--to", file.as_str()];
        arguments.extend(more);
        let (status, _, error) = foreread(&arguments);
        assert_eq!(status, Some(0), "{error}");
        file
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn json(arguments: &[&str]) -> Value {
    let (status, out, error) = foreread(arguments);
    assert_eq!(status, Some(0), "{error}");
    serde_json::from_str(&out).unwrap()
}

#[test]
fn the_model_heard_again_is_as_written() {
    let folder = Folder::new("model");
    let take = folder.played("take.flac", &["--tempo", "80%", "--bars", "1-12", "--a", "443"]);
    let said = json(&[
        "take",
        &take,
        &demo("pieces/kite_weather.musicxml"),
        "--as",
        "json",
    ]);
    let notes = said["notes"].as_array().unwrap();
    assert!(notes.len() > 20, "{}", notes.len());
    let right = notes.iter().filter(|note| note["played"] == "right").count();
    assert!(right * 100 >= notes.len() * 97, "{right} of {}", notes.len());
    assert!(
        (said["a4"].as_f64().unwrap() - 443.0).abs() < 1.0,
        "{}",
        said["a4"]
    );
    assert!(
        said["restarts"].as_array().unwrap().is_empty(),
        "{}",
        said["restarts"]
    );
    let reached = said["bars"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|bar| bar["heard"] == "whole")
        .count();
    assert!(reached >= 11, "{reached} bars");
    assert_eq!(said["recording"], "take.flac");
    let page = said["tempo"]["page_bpm"].as_f64().unwrap();
    let heard = said["tempo"]["bpm"].as_f64().unwrap();
    assert!((heard / page - 0.8).abs() < 0.02, "{heard} of {page}");
}

#[test]
fn words_and_the_teachers_rubric() {
    let folder = Folder::new("words");
    let take = folder.played("take.wav", &["--bars", "1-8"]);
    let rubric = folder.file("rubric.toml");
    let text = "name = \"My lesson sheet\"\n[[line]]\nname = \"goes on\"\ncounts = \"hesitations\"\n\
                levels = [{ at_most = 0, points = 4, words = \"never stops\" }, { points = 1 }]\n";
    std::fs::write(&rubric, text).unwrap();
    let piece = demo("pieces/kite_weather.musicxml");
    let (status, out, error) = foreread(&["take", &take, &piece, "--rubric", &rubric]);
    assert_eq!(status, Some(0), "{error}");
    assert!(out.contains("notes at their pitch"), "{out}");
    assert!(
        out.contains("By “My lesson sheet” (the teacher's own)\n  goes on: 4 of 4 (0, never stops)"),
        "{out}"
    );
    std::fs::write(
        &rubric,
        "name = \"x\"\n[[line]]\nname = \"y\"\ncounts = \"beauty\"\nlevels = [{ points = 1 }]\n",
    )
    .unwrap();
    let (status, _, error) = foreread(&["take", &take, &piece, "--rubric", &rubric]);
    assert_eq!(status, Some(2));
    assert!(error.contains("“beauty” can't be counted"), "{error}");
}

#[test]
fn what_is_no_recording_is_refused() {
    let piece = demo("pieces/kite_weather.musicxml");
    let (status, _, error) = foreread(&["take", &piece, &piece]);
    assert_eq!(status, Some(3), "{error}");
    assert!(error.contains("no sound file"), "{error}");
    let (status, _, error) = foreread(&["take", "nowhere.wav", &piece]);
    assert_eq!(status, Some(2), "{error}");
    let (status, _, _) = foreread(&["take", &piece, &piece, "--a4", "200"]);
    assert_ne!(status, Some(0));
}

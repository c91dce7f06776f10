//! A folder as a musician has it: pieces, scores, broken files, pictures; and what the tables say.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

fn piece(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../demo/pieces")
        .join(name)
}

fn foreread(arguments: &[&str]) -> (Output, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_foreread"))
        .args(arguments)
        .output()
        .unwrap();
    let stdout = String::from_utf8_lossy(&output.stdout).into_owned();
    let stderr = String::from_utf8_lossy(&output.stderr).into_owned();
    (output, stdout, stderr)
}

/// A folder of this test run's own, removed when the test ends.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("foreread-folder-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(path.join("studio/.old")).unwrap();
        Self(path)
    }

    /// Two pieces, a score of two parts, two broken files, and what else lies about.
    fn mixed(name: &str) -> Self {
        let folder = Self::new(name);
        let put = |name: &str, bytes: &[u8]| std::fs::write(folder.0.join(name), bytes).unwrap();
        let copy = |from: &str, to: &str| put(to, &std::fs::read(piece(from)).unwrap());
        copy("kite_weather.musicxml", "studio/kite.musicxml");
        copy("winding_road.mxl", "a road.mxl");
        copy("town_hall_minuet.musicxml", "studio/minuet.xml");
        copy("low_water.musicxml", "studio/.old/hidden.musicxml");
        let kite = std::fs::read(piece("kite_weather.musicxml")).unwrap();
        put("studio/cut.musicxml", &kite[..kite.len() / 2]);
        put("broken.mxl", b"PK\x03\x04 and then noise");
        put("poster.pdf", b"%PDF-1.7 not music");
        put("notes.txt", b"Bring the mutes on Thursday.");
        put("settings.xml", b"<?xml version=\"1.0\"?><settings/>");
        folder
    }

    fn path(&self) -> &str {
        self.0.to_str().unwrap()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn lines(text: &str) -> Vec<serde_json::Value> {
    text.lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect()
}

#[test]
fn every_piece_and_part_and_what_is_broken() {
    let folder = Folder::mixed("rows");
    let (output, stdout, stderr) = foreread(&["survey", folder.path(), "--as", "jsonl"]);
    assert!(output.status.success(), "{stderr}");
    let rows = lines(&stdout);
    let said: Vec<(String, Option<u64>, bool)> = rows
        .iter()
        .map(|row| {
            (
                row["file"].as_str().unwrap().to_owned(),
                row["part"].as_u64(),
                row["error"].is_string(),
            )
        })
        .collect();
    let row = |file: &str, part, failed| (file.to_owned(), part, failed);
    assert_eq!(
        said,
        [
            row("a road.mxl", Some(1), false),
            row("broken.mxl", None, true),
            row("studio/cut.musicxml", None, true),
            row("studio/kite.musicxml", Some(1), false),
            row("studio/minuet.xml", Some(1), false),
            row("studio/minuet.xml", Some(2), false),
        ]
    );
    assert!(
        stderr.contains("foreread: broken.mxl: the compressed score can't be opened"),
        "{stderr}"
    );
    assert!(
        stderr.contains("foreread: studio/cut.musicxml: the file ends in the middle"),
        "{stderr}"
    );
    assert!(
        stderr.contains("3 files, 3 pieces, 4 parts; 2 could not be surveyed; 3 other files passed over"),
        "{stderr}"
    );
    assert!(!stderr.contains('\u{1b}'), "no bar where nobody looks");
}

/// A line is the survey of `--as json`, with three members more.
#[test]
fn a_line_is_the_same_survey() {
    let path = piece("town_hall_minuet.musicxml");
    let path = path.to_str().unwrap();
    let (_, stdout, _) = foreread(&["survey", path, "--as", "jsonl", "--part", "2"]);
    let mut line = lines(&stdout).remove(0);
    let line = line.as_object_mut().unwrap();
    assert_eq!(line.remove("file").unwrap(), path);
    assert_eq!(line.remove("part").unwrap(), 2);
    assert!(line.remove("tune").unwrap().is_null());
    let (_, alone, _) = foreread(&["survey", path, "--as", "json", "--part", "2"]);
    let alone: serde_json::Value = serde_json::from_str(&alone).unwrap();
    assert_eq!(&serde_json::Value::Object(line.clone()), &alone);
}

#[test]
fn the_first_line_of_the_table() {
    let (_, stdout, _) = foreread(&[
        "survey",
        piece("low_water.musicxml").to_str().unwrap(),
        "--as",
        "csv",
    ]);
    let header = stdout.split("\r\n").next().unwrap();
    assert_eq!(
        header,
        "file,tune,format,title,composer,part_number,part,instrument,key_tonic,key_mode,key_scale,key_certainty,\
         signature,lowest_written,highest_written,lowest_sounding,highest_sounding,metre,metre_changes,pickup,bars,\
         notes,tempo_marking,marked_tempo,first_reading_beat,first_reading_low,first_reading_high,bars_played,\
         quarters_played,shortest_value,shortest_quarters,altered_notes,syncopation_mean,ornaments,clefs,dynamics,\
         findings,problems,player_instrument,player_level,slowly_first,new_bars,levels,error"
    );
    assert_eq!(stdout.matches("\r\n").count(), 2);
}

#[test]
fn the_order_is_steady_whatever_the_number_of_threads() {
    let folder = Folder::mixed("steady");
    for form in ["jsonl", "csv", "parquet"] {
        let all = |threads: &str| {
            let (output, ..) = foreread(&["survey", folder.path(), "--as", form, "--threads", threads]);
            assert!(output.status.success());
            output.stdout
        };
        let one = all("1");
        for threads in ["2", "3", "8"] {
            assert_eq!(all(threads), one, "{form}, {threads} threads");
        }
    }
}

#[test]
fn a_table_to_a_file_stands_there_whole() {
    let folder = Folder::mixed("to");
    let table = folder.0.join("table.parquet");
    let (output, stdout, _) = foreread(&[
        "survey",
        folder.path(),
        "--as",
        "parquet",
        "--to",
        table.to_str().unwrap(),
    ]);
    assert!(output.status.success() && stdout.is_empty());
    let bytes = std::fs::read(&table).unwrap();
    // Source: Apache Parquet format, file format: PAR1 at both ends.
    assert!(bytes.starts_with(b"PAR1") && bytes.ends_with(b"PAR1"));
    assert!(!folder.0.join("table.parquet.part").exists());
}

#[test]
fn only_some_questions_and_one_part() {
    let folder = Folder::mixed("part");
    let (output, stdout, stderr) = foreread(&[
        "survey",
        folder.path(),
        "--as",
        "jsonl",
        "--part",
        "organ",
        "--questions",
        "range",
    ]);
    assert!(output.status.success(), "{stderr}");
    let rows = lines(&stdout);
    let surveyed: Vec<_> = rows.iter().filter(|row| row["error"].is_null()).collect();
    assert_eq!(surveyed.len(), 1);
    assert_eq!(surveyed[0]["part"], 2);
    assert!(surveyed[0]["range"].is_object() && surveyed[0]["key"].is_null());
    assert!(
        stderr.contains("2 without the part or tune asked for"),
        "{stderr}"
    );
}

#[test]
fn what_can_t_be_done_is_one_clear_message() {
    let empty = Folder::new("empty");
    let refuses = |arguments: &[&str], status: i32, message: &str| {
        let (output, stdout, stderr) = foreread(arguments);
        assert_eq!(output.status.code(), Some(status), "{arguments:?}: {stderr}");
        assert!(stderr.contains(message), "{arguments:?}: {stderr}");
        assert!(stdout.is_empty() || stdout.starts_with("file,tune,"), "{stdout}");
    };
    refuses(&["survey", empty.path(), "--as", "csv"], 2, "holds no file");
    refuses(
        &["survey", empty.path()],
        2,
        "survey all of it with --as csv, jsonl or parquet",
    );
    refuses(
        &["survey", "no-such-folder", "--as", "csv"],
        2,
        "there is no file no-such-folder",
    );
    std::fs::write(empty.0.join("poster.pdf"), "%PDF-1.7").unwrap();
    refuses(
        &["survey", empty.path(), "--as", "csv"],
        2,
        "holds no notated piece (1 other files",
    );
    refuses(
        &["survey", empty.path(), "--as", "csv", "--questions", "colour"],
        2,
        "no question is called",
    );
    let minuet = piece("town_hall_minuet.musicxml");
    let minuet = minuet.to_str().unwrap();
    refuses(
        &["survey", minuet, "--as", "csv", "--part", "tuba"],
        2,
        "no part is called “tuba”",
    );
    refuses(
        &["survey", minuet, "--as", "csv", "--tune", "4"],
        3,
        "holds one piece, not a book of tunes",
    );
    refuses(
        &["survey", minuet, "--tune", "4"],
        3,
        "holds one piece, not a book of tunes",
    );
    refuses(
        &["survey", minuet, "--as", "csv", "--to", minuet],
        2,
        "is the piece itself",
    );
    refuses(
        &["survey", minuet, "--as", "json", "--to", minuet],
        2,
        "is the piece itself",
    );
    std::fs::write(empty.0.join("cut.mxl"), "PK\u{3}\u{4}").unwrap();
    let (output, stdout, _) = foreread(&["survey", empty.path(), "--as", "csv"]);
    assert_eq!(output.status.code(), Some(3));
    assert_eq!(stdout.matches("\r\n").count(), 2, "the broken file has its row");
}

#[test]
fn standard_input_as_a_table() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_foreread"))
        .args(["survey", "-", "--as", "csv"])
        .stdin(Stdio::from(
            std::fs::File::open(piece("winding_road.mxl")).unwrap(),
        ))
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut text = String::new();
    std::io::Read::read_to_string(child.stdout.as_mut().unwrap(), &mut text).unwrap();
    assert!(child.wait().unwrap().success());
    assert!(text.lines().nth(1).unwrap().starts_with("standard input,"));
}

/// A book of forty tunes of our own, number 7 given twice and number 30 without music.
fn tunebook() -> String {
    (1..=40)
        .map(|number| {
            let number = if number == 8 { 7 } else { number };
            let letters = ["C", "D", "E", "F", "G", "A"];
            let notes: String = (0..4).map(|n| letters[(number * 5 + n * 2) % 6]).collect();
            let music = if number == 30 {
                "%\n".to_owned()
            } else {
                format!("{notes}|{notes}|]\n")
            };
            format!("X:{number}\nT:Lamplighter {number}\nM:4/4\nL:1/4\nK:C\n{music}\n")
        })
        .collect()
}

#[test]
fn every_tune_of_a_book_in_its_order() {
    let folder = Folder::new("book");
    let path = folder.0.join("book.abc");
    std::fs::write(&path, tunebook()).unwrap();
    let path = path.to_str().unwrap();
    let (output, stdout, stderr) = foreread(&["survey", path, "--as", "jsonl", "--threads", "3"]);
    assert!(output.status.success(), "{stderr}");
    let numbers: Vec<String> = lines(&stdout)
        .iter()
        .map(|row| row["tune"].as_str().unwrap().to_owned())
        .collect();
    let expected: Vec<String> = (1..=40)
        .map(|n: u32| if n == 8 { 7 } else { n }.to_string())
        .collect();
    assert_eq!(numbers, expected);
    assert!(
        stderr.contains("foreread: ") && stderr.contains("book.abc, tune 30: "),
        "{stderr}"
    );
    assert!(
        stderr.contains("1 file, 39 pieces, 39 parts; 1 could not be surveyed"),
        "{stderr}"
    );
    let (one, ..) = foreread(&["survey", path, "--as", "jsonl", "--threads", "1"]);
    assert_eq!(one.stdout, output.stdout);
}

#[test]
fn one_tune_of_a_book() {
    let folder = Folder::new("tune");
    let path = folder.0.join("book.abc");
    std::fs::write(&path, tunebook()).unwrap();
    let path = path.to_str().unwrap();
    let (_, alone, stderr) = foreread(&["survey", path, "--tune", "12", "--as", "json"]);
    let alone: serde_json::Value = serde_json::from_str(&alone).expect(&stderr);
    assert_eq!(alone["piece"]["tune"], "12");
    assert_eq!(alone["piece"]["format"], "ABC");
    assert_eq!(alone["piece"]["title"], "Lamplighter 12");
    let (_, stdout, _) = foreread(&["survey", path, "--tune", "12", "--as", "jsonl"]);
    assert_eq!(lines(&stdout).len(), 1);
    let (output, _, stderr) = foreread(&["survey", path, "--tune", "99"]);
    assert_eq!(output.status.code(), Some(3));
    assert!(stderr.contains("there is no tune 99"), "{stderr}");
    let (output, _, stderr) = foreread(&["survey", path, "--tune", "99", "--as", "csv"]);
    assert_eq!(output.status.code(), Some(3));
    assert!(stderr.contains("there is no tune 99"), "{stderr}");
}

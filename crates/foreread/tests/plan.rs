//! The plan and the log as a musician uses them: days to a date, a calendar that is imported again, a log that survives.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../demo/pieces")
        .join(name)
}

/// Exit status, standard output and standard error.
fn foreread(arguments: &[&str]) -> (Option<i32>, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_foreread"))
        .args(arguments)
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

/// A folder of this test's own with one piece in it.
struct Desk(PathBuf);

impl Desk {
    fn new(name: &str) -> Self {
        let folder = std::env::temp_dir().join(format!("foreread-plan-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::copy(demo("low_water.musicxml"), folder.join("low_water.musicxml")).unwrap();
        Self(folder)
    }

    fn piece(&self) -> String {
        self.0.join("low_water.musicxml").to_str().unwrap().to_owned()
    }

    fn log(&self) -> PathBuf {
        self.0.join("low_water.practice.jsonl")
    }

    fn visit(&self, date: &str, more: &[&str]) {
        let piece = self.piece();
        let (status, _, error) = foreread(
            &[
                &[
                    "log",
                    &piece,
                    "--bars",
                    "9-12",
                    "--date",
                    date,
                    "--today",
                    "2027-01-31",
                ],
                more,
            ]
            .concat(),
        );
        assert_eq!(status, Some(0), "{error}");
    }

    fn plan(&self, more: &[&str]) -> (Option<i32>, String, String) {
        let piece = self.piece();
        foreread(
            &[
                &["plan", &piece, "--until", "2027-03-06", "--minutes", "30"],
                more,
            ]
            .concat(),
        )
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

#[test]
fn every_day_to_the_date_is_planned() {
    let desk = Desk::new("days");
    let (status, out, error) = desk.plan(&["--today", "2027-01-11", "--off", "fri", "--as", "json"]);
    assert_eq!(status, Some(0), "{error}");
    let plan: Value = serde_json::from_str(&out).unwrap();
    let days = plan["days"].as_array().unwrap();
    assert_eq!(days.len(), 55);
    assert_eq!(days.last().unwrap()["kind"], "date");
    assert!(
        days.iter()
            .filter(|day| day["weekday"] == "fri")
            .all(|day| day["kind"] == "off")
    );
    assert_eq!(
        plan["days_off"]["kept_free"],
        Value::Null,
        "she named one herself"
    );
    assert!(days.iter().all(|day| day["minutes"].as_f64().unwrap() <= 30.0));
}

#[test]
fn a_second_calendar_updates_the_first() {
    let desk = Desk::new("ics");
    let uids = |today: &str| -> Vec<String> {
        let (status, out, error) = desk.plan(&["--today", today, "--as", "ics"]);
        assert_eq!(status, Some(0), "{error}");
        assert!(out.contains("\r\nDTSTAMP:") && out.split("\r\n").all(|line| line.len() <= 75));
        assert!(out.contains(&format!("DTSTAMP:{}T000000Z", today.replace('-', ""))));
        let uid = |line: &&str| line.starts_with("UID:");
        out.split("\r\n").filter(uid).map(str::to_owned).collect()
    };
    let first = uids("2027-01-11");
    let second = uids("2027-01-13");
    assert!(
        second.iter().all(|uid| first.contains(uid)),
        "the same day has the same name"
    );
    assert_eq!(uids("2027-01-11"), first, "and nothing depends on the clock");
}

#[test]
fn what_is_written_down_changes_tomorrow() {
    let desk = Desk::new("log");
    let turns = |today: &str| {
        let (_, out, _) = desk.plan(&["--today", today, "--as", "json"]);
        let plan: Value = serde_json::from_str(&out).unwrap();
        plan["days"][0]["turns"].to_string()
    };
    let before = turns("2027-01-12");
    desk.visit("2027-01-11", &["--tempo", "40", "--clean", "0", "--felt", "hard"]);
    let after = turns("2027-01-12");
    assert_ne!(before, after);
    let (status, shown, _) = foreread(&["log", &desk.piece()]);
    assert_eq!(status, Some(0));
    assert!(
        shown.contains("9–12") && shown.contains("2027-01-11") && shown.contains("not yet"),
        "{shown}"
    );
}

#[test]
fn a_torn_line_is_said_and_kept_and_the_next_is_whole() {
    let desk = Desk::new("torn");
    desk.visit("2027-01-11", &["--tempo", "40", "--clean", "3", "--felt", "easy"]);
    // As if the machine had gone down in the middle of a line.
    let torn = "{\"date\":\"2027-01-12\",\"piece\":\"Elegy";
    let mut log = std::fs::read_to_string(desk.log()).unwrap();
    log.push_str(torn);
    std::fs::write(desk.log(), &log).unwrap();
    desk.visit("2027-01-13", &["--tempo", "42", "--clean", "3", "--felt", "easy"]);
    let lines = std::fs::read_to_string(desk.log()).unwrap();
    assert!(lines.starts_with(&log) && lines.lines().count() == 3, "{lines}");
    let (status, shown, said) = foreread(&["log", &desk.piece(), "--as", "json"]);
    assert_eq!(status, Some(0));
    assert!(said.contains("line 2") && said.contains("kept"), "{said}");
    let shown: Value = serde_json::from_str(&shown).unwrap();
    assert_eq!(
        (&shown["visits"], &shown["bars"][0]["best_tempo"]),
        (&2.into(), &42.0.into())
    );
    let (status, _, said) = desk.plan(&["--today", "2027-01-14", "--as", "text"]);
    assert_eq!(status, Some(0));
    assert!(said.contains("line 2"), "{said}");
}

#[test]
fn writers_at_once_lose_nothing() {
    let desk = Desk::new("many");
    let all: Vec<_> = (0..8)
        .map(|_| {
            Command::new(env!("CARGO_BIN_EXE_foreread"))
                .args([
                    "log",
                    &desk.piece(),
                    "--bars",
                    "1-4",
                    "--tempo",
                    "40",
                    "--clean",
                    "2",
                    "--date",
                    "2027-01-11",
                    "--today",
                    "2027-01-12",
                ])
                .spawn()
                .unwrap()
        })
        .collect();
    for mut writer in all {
        assert!(writer.wait().unwrap().success());
    }
    let log = std::fs::read_to_string(desk.log()).unwrap();
    assert_eq!(
        log.lines()
            .filter(|line| serde_json::from_str::<Value>(line).is_ok())
            .count(),
        8
    );
}

#[test]
fn what_cannot_be_understood_says_what_to_do() {
    let desk = Desk::new("wrong");
    let piece = desk.piece();
    let said = |arguments: &[&str]| {
        let (status, out, error) = foreread(arguments);
        assert_eq!(status, Some(2), "{arguments:?}: {out}{error}");
        assert!(error.contains(" — ") && !error.contains("panicked"), "{error}");
        error
    };
    let plan = |more: &[&str]| said(&[&["plan", &piece, "--today", "2027-01-11"], more].concat());
    assert!(plan(&["--until", "2027-01-10"]).contains("past"));
    assert!(plan(&["--until", "2027-01-11"]).contains("today"));
    assert!(plan(&["--until", "13.2.2027"]).contains("2027-02-13"));
    assert!(plan(&["--until", "2027-02-30"]).contains("no such day"));
    assert!(plan(&["--until", "2027-02-13", "--minutes", "0"]).contains("minute"));
    assert!(plan(&["--until", "2027-02-13", "--off", "never"]).contains("--off"));
    assert!(plan(&["--until", "2027-02-13", "--off", "2027-01-01..2027-03-01"]).contains("day off"));
    assert!(plan(&["--until", "2027-02-13", "--bars", "40-99"]).contains("no bar 99"));
    assert!(plan(&["--until", "2027-02-13", "--day", "2027-03-01"]).contains("outside"));
    assert!(plan(&["--until", "2027-02-13", "--at", "noon"]).contains("17:30"));
    assert!(plan(&["--until", "2027-02-13", "--log", &piece]).contains("itself"));
    assert!(plan(&["--until", "2027-02-13", "--to", "plan.doc"]).contains(".ics"));
    let log = |more: &[&str]| said(&[&["log", &piece, "--today", "2027-01-11"], more].concat());
    assert!(log(&["--bars", "99"]).contains("no bar 99"));
    assert!(log(&["--bars", "8-5"]).contains("backwards"));
    assert!(log(&["--bars", "5-8", "--felt", "great"]).contains("steady"));
    assert!(log(&["--bars", "5-8", "--tempo", "0"]).contains("tempo"));
    assert!(log(&["--bars", "5-8", "--drill", "juggling"]).contains("half-speed"));
    assert!(log(&["--bars", "5-8", "--date", "2027-02-01"]).contains("still to come"));
    assert!(!desk.log().exists(), "nothing of this was written down");
}

#[test]
fn an_empty_log_is_no_log_and_another_piece_s_is_said() {
    let desk = Desk::new("others");
    let other = desk.0.join("other.jsonl");
    std::fs::write(
        &other,
        "{\"date\":\"2027-01-05\",\"piece\":\"Something Else\",\"from_bar\":\"1\",\"to_bar\":\"2\"}\n\n",
    )
    .unwrap();
    let (status, _, said) = desk.plan(&["--today", "2027-01-11", "--log", other.to_str().unwrap()]);
    assert_eq!(status, Some(0));
    assert!(said.contains("other pieces"), "{said}");
    let (status, shown, _) = foreread(&["log", &desk.piece()]);
    assert_eq!(status, Some(0));
    assert!(shown.contains("0 visits"), "{shown}");
}

#[test]
fn what_a_call_asks_for_is_planned_to_its_date() {
    let call = demo("../calls/harbour.toml");
    let (status, out, error) = foreread(&[
        "plan",
        "--call",
        call.to_str().unwrap(),
        "--today",
        "2026-11-26",
        "--minutes",
        "45",
        "--as",
        "json",
    ]);
    assert_eq!(status, Some(0), "{error}");
    let plan: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(
        (&plan["until"], &plan["for_what"]),
        (&"2027-02-20".into(), &"audition".into())
    );
    let pieces = plan["pieces"].as_array().unwrap();
    assert_eq!(pieces.len(), 4, "each cut at its own tempo");
    assert_eq!(
        pieces[0]["goal_tempo"]["bpm"], 69,
        "the middle of what is asked for"
    );
    let within = |turn: &Value| {
        let Some(piece) = turn["piece"].as_u64() else {
            return true;
        };
        let cuts = pieces[usize::try_from(piece).unwrap() - 1]["bars"]
            .as_array()
            .unwrap();
        let bar = |bars: &Value, key: &str| bars[key].as_u64().unwrap();
        turn["bars"].as_array().unwrap().iter().all(|bars| {
            cuts.iter().any(|cut| {
                bar(cut, "from_bar_index") <= bar(bars, "from_bar_index")
                    && bar(bars, "to_bar_index") <= bar(cut, "to_bar_index")
            })
        })
    };
    let turns = plan["days"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|day| day["turns"].as_array().unwrap());
    assert!(
        turns.into_iter().all(within),
        "nothing outside the cuts is practised"
    );
    let (status, _, error) = foreread(&["plan", "--minutes", "45"]);
    assert_eq!(status, Some(2), "{error}");
}

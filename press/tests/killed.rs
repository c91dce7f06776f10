//! What if the press dies over the music, or somebody kills it? These look for the process and for what it leaves on disk, so
//! they take turns.
#![cfg(target_os = "linux")]
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot set itself up has failed"
)]

use job::{AskEngrave, Breaks, Weights};
use printer::{PrintError, Printer};
use std::fs;
use std::path::PathBuf;
use std::process::Command;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

const PRESS: &str = env!("CARGO_BIN_EXE_foreread-press");
const MUSIC: &str = include_str!("../fixtures/kite_weather.mei");

static TURN: Mutex<()> = Mutex::new(());

fn ask() -> AskEngrave {
    AskEngrave {
        width: 18_000.0,
        breaks: Breaks::Flow,
        spacing: 1.0,
        weights: Weights::default(),
        ink: true,
    }
}

/// A note without a sensible length ends the engraver's program; we never write one, and if we did, this happens.
#[test]
fn music_that_kills_the_engraver_is_an_error_and_the_next_piece_is_engraved() {
    let _turn = TURN.lock().unwrap_or_else(PoisonError::into_inner);
    let mut printer = Printer::at(PRESS);
    let deadly = MUSIC.replace("dur=\"4\"", "dur=\"0\"");
    let error = printer.engrave(&deadly, ask()).unwrap_err();
    assert!(matches!(error, PrintError::Died(_)), "{error}");
    printer.engrave(MUSIC, ask()).unwrap();
    drop(printer);
    assert_eq!(left_behind(), Vec::<PathBuf>::new());
}

#[test]
fn a_press_killed_in_the_middle_of_a_request_costs_only_a_start() {
    let _turn = TURN.lock().unwrap_or_else(PoisonError::into_inner);
    let start = MUSIC.find("<measure").unwrap();
    let end = MUSIC.rfind("</measure>").unwrap() + "</measure>".len();
    let long: String = (0..20)
        .map(|copy| {
            let bars = &MUSIC[start..end];
            bars.replace("xml:id=\"", &format!("xml:id=\"k{copy}"))
                .replace("=\"#", &format!("=\"#k{copy}"))
        })
        .collect();
    let long = format!("{}{long}{}", &MUSIC[..start], &MUSIC[end..]);
    let mut printer = Printer::at(PRESS);
    printer.about().unwrap();
    let killer = std::thread::spawn(|| {
        std::thread::sleep(Duration::from_millis(100));
        let presses = presses();
        for press in &presses {
            assert!(
                Command::new("kill")
                    .args(["-KILL", press])
                    .status()
                    .unwrap()
                    .success()
            );
        }
        presses.len()
    });
    let (engraved, _) = printer.engrave(&long, ask()).unwrap();
    assert_eq!(killer.join().unwrap(), 1);
    assert!(engraved.systems.len() > 100);
    drop(printer);
    assert_eq!(left_behind(), Vec::<PathBuf>::new());
}

/// The presses that this process runs.
fn presses() -> Vec<String> {
    let own = std::process::id().to_string();
    let numbers = fs::read_dir("/proc")
        .unwrap()
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok());
    let is_press = |number: &String| {
        let status = fs::read_to_string(format!("/proc/{number}/status")).unwrap_or_default();
        let line = |key: &str| {
            status
                .lines()
                .find_map(|line| line.strip_prefix(key))
                .unwrap_or("")
                .trim()
                .to_owned()
        };
        line("PPid:") == own && line("Name:").starts_with("foreread-press")
    };
    numbers.filter(is_press).collect()
}

/// Folders of temporary data that this process's runners or their presses have left.
fn left_behind() -> Vec<PathBuf> {
    let own = format!("foreread-{}-", std::process::id());
    let entries = fs::read_dir(std::env::temp_dir()).unwrap();
    entries
        .filter_map(Result::ok)
        .filter(|entry| entry.file_name().to_string_lossy().starts_with(&own))
        .map(|entry| entry.path())
        .collect()
}

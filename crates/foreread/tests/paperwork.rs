//! Does every command have a page of the manual and is it completed by a shell?

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]

mod common;

use common::{demo, foreread};
use std::fs;

/// A device is written to and stays one; what is no file is never put away for one.
#[cfg(unix)]
#[test]
fn the_null_device_is_written_to() {
    use std::os::unix::fs::FileTypeExt;
    let (status, _, said) = foreread(&[
        "survey",
        &demo("pieces/kite_weather.musicxml"),
        "--as",
        "json",
        "--to",
        "/dev/null",
    ]);
    assert_eq!(status, Some(0), "{said}");
    assert!(fs::metadata("/dev/null").unwrap().file_type().is_char_device());
}

#[test]
fn every_command_has_a_page_and_is_completed() {
    let folder = std::env::temp_dir().join(format!("foreread-manual-{}", std::process::id()));
    let (status, _, said) = foreread(&["manual", "--to", folder.to_str().unwrap()]);
    assert_eq!(status, Some(0), "{said}");
    let (_, help, _) = foreread(&["--help"]);
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| line.starts_with("  "))
        .filter(|line| !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(commands.len() > 15, "{commands:?}");
    let (_, completed, _) = foreread(&["completions", "bash"]);
    for command in &commands {
        let page = fs::read_to_string(folder.join(format!("foreread-{command}.1"))).unwrap();
        // Source: man(7): a page begins with its title.
        assert!(
            page.contains(&format!(".TH FOREREAD-{}", command.to_uppercase())),
            "{command}"
        );
        assert!(page.contains(&format!("foreread {command}")), "{command}");
        assert!(completed.contains(&format!("foreread,{command})")), "{command}");
    }
    assert!(
        fs::read_to_string(folder.join("foreread.1"))
            .unwrap()
            .contains(".TH FOREREAD")
    );
    fs::remove_dir_all(folder).unwrap();
}

/// The questions come before what there is to see; another draw has other choices.
#[test]
fn the_questions_of_looking_first_are_asked_and_answered() {
    let piece = demo("pieces/kite_weather.musicxml");
    let (status, asked, said) = foreread(&["look", &piece, "--seconds", "30"]);
    assert_eq!(status, Some(0), "{said}");
    let (questions, answers) = asked.split_once("What there is to see").unwrap();
    for expected in ["half a minute", "Which key?", "[ ] D major", "4. Hardest place"] {
        assert!(questions.contains(expected), "{expected} in {questions}");
    }
    assert!(answers.contains("D major: ") && !answers.contains("[ ]"));
    let (_, other, _) = foreread(&["look", &piece, "--seconds", "30", "--draw", "2"]);
    assert_ne!(asked, other);
    let (status, _, said) = foreread(&["look", &piece, "--to", "questions.txt"]);
    assert_eq!(status, Some(2), "{said}");
}

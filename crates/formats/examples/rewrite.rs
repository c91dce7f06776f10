//! Reads scores, writes them as MusicXML, reads that again, and says whether it is the same page: `rewrite FOLDER < LIST`.
//!
//! `LIST` has a path on each line. Into the folder go the written texts, `0.musicxml`, `1.musicxml` … by line from 0.
//! For each line one is printed: number, `same`, `differs` or `unread`, the kinds of findings of writing with how many of
//! each, the seconds that writing took (the best of three), and the difference, with tabs between. Used by `reference/check_written.py`.

#![expect(clippy::print_stdout, reason = "its answer is what it prints")]

use std::collections::BTreeMap;
use std::io::BufRead;
use std::path::Path;

use notation::{Finding, Piece};

/// Written so often: a file takes a millisecond or so, and a machine that looks away for a while would pass for slow writing.
const RUNS: u32 = 3;

/// The written text and its findings, and how long that took (seconds).
fn timed(piece: &Piece) -> ((String, Vec<Finding>), f64) {
    let started = std::time::Instant::now();
    let written = formats::write_musicxml(piece);
    (written, started.elapsed().as_secs_f64())
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("where to write?")?;
    for (number, line) in std::io::stdin().lock().lines().enumerate() {
        let path = line?;
        let bytes = std::fs::read(&path)?;
        let Ok((piece, _)) = formats::read(&bytes, &path) else {
            println!("{number}\tunread\t\t0\t");
            continue;
        };
        let ((text, findings), mut seconds) = timed(&piece);
        for _ in 1..RUNS {
            seconds = seconds.min(timed(&piece).1);
        }
        std::fs::write(Path::new(&folder).join(format!("{number}.musicxml")), &text)?;
        let mut kinds: BTreeMap<&str, u32> = BTreeMap::new();
        for finding in &findings {
            *kinds.entry(finding.kind).or_default() += 1;
        }
        let kinds: Vec<String> = kinds
            .iter()
            .map(|(kind, count)| format!("{kind}={count}"))
            .collect();
        let lost = findings.iter().find(|finding| finding.kind == "not-in-musicxml");
        let lost = lost.map(ToString::to_string).unwrap_or_default();
        let (state, difference) = match formats::read(text.as_bytes(), &path) {
            Ok((again, _)) => match piece.same_page(&again) {
                Ok(()) => ("same", String::new()),
                Err(difference) => ("differs", difference.to_string()),
            },
            Err(error) => ("differs", error.to_string()),
        };
        let said = |text: &str| text.replace(['\t', '\n'], " ");
        println!(
            "{number}\t{state}\t{}\t{seconds:.6}\t{}\t{}",
            kinds.join(" "),
            said(&difference),
            said(&lost)
        );
    }
    Ok(())
}

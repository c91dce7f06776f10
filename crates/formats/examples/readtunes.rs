//! What does the reader say of every tune of many books? Time, the slowest, findings counted by kind; `--kind NAME`
//! lists one kind, `--tune NUMBER` reads only that one, `--events` lists what was read.
//!
//!     cargo run --release -p foreread-formats --example readtunes -- FILE …
#![expect(clippy::print_stdout, reason = "a command-line tool for developers")]

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

fn main() {
    let (mut kind, mut only, mut events, mut quiet) = (None, None, false, false);
    let mut files = Vec::new();
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        match argument.as_str() {
            "--kind" => kind = arguments.next(),
            "--tune" => only = arguments.next(),
            "--events" => events = true,
            "--quiet" => quiet = true,
            _ => files.push(argument),
        }
    }
    let mut kinds: BTreeMap<(&str, &str), (u32, String)> = BTreeMap::new();
    let (mut bytes, mut opened, mut spent, mut tunes, mut failed, mut bars, mut notes) =
        (0, Duration::ZERO, Duration::ZERO, 0, 0, 0, 0);
    let mut slowest = (Duration::ZERO, String::new());
    for file in &files {
        let Ok(data) = std::fs::read(file) else {
            println!("{file}: can't be read");
            continue;
        };
        bytes += data.len();
        let start = Instant::now();
        let source = match formats::Source::open(&data, file) {
            Ok(source) => source,
            Err(error) => {
                println!("{file}: FAILED: {error}");
                failed += 1;
                continue;
            }
        };
        opened += start.elapsed();
        for (index, tune) in source.tunes().iter().enumerate() {
            if only.as_ref().is_some_and(|only| *only != tune.number) {
                continue;
            }
            let start = Instant::now();
            let result = source.read_nth(index);
            let took = start.elapsed();
            spent += took;
            tunes += 1;
            let name = format!("{file}#{}", tune.number);
            if took > slowest.0 {
                slowest = (took, name.clone());
            }
            match result {
                Ok((piece, findings)) => {
                    bars += piece.bars.len();
                    notes += piece.parts.iter().map(|part| part.events.len()).sum::<usize>();
                    for finding in &findings {
                        let entry = kinds
                            .entry((finding.severity.word(), finding.kind))
                            .or_insert_with(|| (0, name.clone()));
                        entry.0 += 1;
                        if kind.as_deref() == Some(finding.kind) || only.is_some() {
                            println!("{name}: {} {}: {finding}", finding.severity.word(), finding.kind);
                        }
                    }
                    if events {
                        println!("{piece:#?}");
                    }
                }
                Err(error) => {
                    failed += 1;
                    if !quiet {
                        println!("{name}: FAILED: {error}");
                    }
                }
            }
        }
    }
    println!(
        "{} files, {tunes} tunes, {failed} failed, {bytes} bytes, {bars} bars, {notes} events",
        files.len()
    );
    println!(
        "opened in {opened:?}, read in {spent:?}, slowest {:?} {}",
        slowest.0, slowest.1
    );
    for ((severity, kind), (count, file)) in kinds {
        println!("{count:7} {severity:8} {kind:28} {file}");
    }
}

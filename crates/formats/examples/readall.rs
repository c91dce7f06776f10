//! What does the reader say of many files? Time, size, and findings counted by kind; `--kind NAME` lists one kind.
//!
//!     cargo run --release -p foreread-formats --example readall -- FILE …
#![expect(clippy::print_stdout, reason = "a command-line tool for developers")]

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

fn main() {
    let mut kind = None;
    let mut times = 1;
    let mut files = Vec::new();
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        match argument.as_str() {
            "--kind" => kind = arguments.next(),
            "--times" => times = arguments.next().and_then(|n| n.parse().ok()).unwrap_or(1),
            _ => files.push(argument),
        }
    }
    let (mut bytes, mut spent, mut failed) = (0, Duration::ZERO, 0);
    let mut kinds: BTreeMap<(&str, &str), (u32, String)> = BTreeMap::new();
    for file in &files {
        let Ok(data) = std::fs::read(file) else {
            println!("{file}: can't be read");
            continue;
        };
        let mut result = None;
        let mut best = Duration::MAX;
        for _ in 0..times {
            let start = Instant::now();
            result = Some(formats::read(&data, file));
            best = best.min(start.elapsed());
        }
        spent += best;
        bytes += data.len();
        match result {
            Some(Ok((piece, findings))) => {
                for finding in &findings {
                    let entry = kinds
                        .entry((finding.severity.word(), finding.kind))
                        .or_insert_with(|| (0, file.clone()));
                    entry.0 += 1;
                    if kind.as_deref() == Some(finding.kind) {
                        println!("{file}: {}: {finding}", finding.part.as_deref().unwrap_or("-"));
                    }
                }
                if kind.is_none() && files.len() < 20 {
                    let events: usize = piece.parts.iter().map(|part| part.events.len()).sum();
                    println!(
                        "{file}: {best:?}, {} parts, {} bars, {events} events",
                        piece.parts.len(),
                        piece.bars.len()
                    );
                    findings.iter().take(40).for_each(|finding| {
                        println!("    {} {}: {finding}", finding.severity.word(), finding.kind)
                    });
                }
            }
            Some(Err(error)) => {
                failed += 1;
                println!("{file}: FAILED: {error}");
            }
            None => {}
        }
    }
    println!("{} files, {failed} failed, {bytes} bytes, {spent:?}", files.len());
    for ((severity, kind), (count, file)) in kinds {
        println!("{count:7} {severity:8} {kind:26} {file}");
    }
}

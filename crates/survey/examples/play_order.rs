//! In what order are the bars of real files played, and which ornaments stand in them? For checking by eye and script.
//!
//! `cargo run --release --example play_order -- FILE …` prints a line for each file: its name, the order as runs of bar
//! numbers, the bars played. With `--more` first: findings, what the survey says, and the ornaments of every part.

use std::io::{self, Write};
use survey::Context;
use survey::road_map::{RoadMapAnswer, RoadOptions};

fn main() -> io::Result<()> {
    let mut out = io::stdout().lock();
    let mut more = false;
    for path in std::env::args().skip(1) {
        if path == "--more" {
            more = true;
            continue;
        }
        let bytes = std::fs::read(&path)?;
        match formats::read(&bytes, &path) {
            Err(error) => writeln!(out, "{path}\t{error}")?,
            Ok((piece, _)) => {
                for index in 0..piece.parts.len() {
                    if let Some(ctx) = Context::new(&piece, index) {
                        say(&mut out, &path, &ctx, more)?;
                    }
                    if !more {
                        break;
                    }
                }
            }
        }
    }
    Ok(())
}

fn say(out: &mut impl Write, path: &str, ctx: &Context, more: bool) -> io::Result<()> {
    let road = survey::road_map::answer(ctx, &RoadOptions::default());
    if ctx.part_index == 0 {
        writeln!(out, "{path}\t{}\t{}", runs(&road), road.bars_played)?;
    }
    if !more {
        return Ok(());
    }
    if ctx.part_index == 0 {
        for finding in &road.findings {
            writeln!(
                out,
                "    [{} {}] {finding}",
                finding.severity.word(),
                finding.kind
            )?;
        }
        writeln!(out, "    {}", road.means)?;
        for trap in &road.traps {
            writeln!(out, "    trap, bar {}: {}", ctx.label(trap.place.bar), trap.says)?;
        }
    }
    let ornaments = survey::ornaments::answer(ctx, &[]);
    writeln!(out, "  {}: {}", ctx.part.name, ornaments.means)?;
    for evidence in &ornaments.evidence {
        let bar = evidence.place.map_or("", |place| ctx.label(place.bar));
        writeln!(out, "    bar {bar}: {}", evidence.says)?;
    }
    Ok(())
}

/// Runs of bar numbers; the letter of a split bar (`4a`) is left out.
fn runs(road: &RoadMapAnswer) -> String {
    let number = |label: &str| {
        let digits: String = label.chars().take_while(char::is_ascii_digit).collect();
        digits.parse::<i64>().unwrap_or(-1)
    };
    let numbers: Vec<i64> = road
        .play_order
        .iter()
        .map(|played| number(&played.label))
        .collect();
    let run = |run: &[i64]| match run {
        [] => String::new(),
        [one] => one.to_string(),
        [first, .., last] => format!("{first}-{last}"),
    };
    let runs: Vec<String> = numbers.chunk_by(|a, b| *b == a + 1).map(run).collect();
    runs.join(" ")
}

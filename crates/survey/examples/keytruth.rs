//! How often is the key right on parts whose key is known? Runs the rows of a truth table and explains each miss.
//!
//! `cargo run --release --example keytruth -- [--part-only] [--quiet] TRUTH.csv FOLDER`: the table has the columns
//! unit (a path in the folder), part (counted by staves, from 0), tonic (`-` for flat), mode and tier.
//! A unit `book.abc#12` is the tune with that number.
//! Declared modes and titles are not looked at by the question itself. `--part-only` leaves the other parts of the file out.

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::Path;
use survey::Context;
use survey::key::{KeyAnswer, Tonality};

struct Row {
    unit: String,
    part: usize,
    tonic: String,
    mode: String,
    scale: String,
    tier: String,
}

struct Outcome {
    row: Row,
    answer: KeyAnswer,
    right: bool,
    sounding_scale: bool,
}

fn main() -> io::Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let flag = |name: &str| args.iter().any(|arg| arg == name);
    let plain: Vec<&String> = args.iter().filter(|arg| !arg.starts_with("--")).collect();
    let [table, folder] = plain.as_slice() else {
        return Err(io::Error::other("say the truth table and the folder of scores"));
    };
    let mut out = io::stdout().lock();
    let mut outcomes = Vec::new();
    for row in rows(&std::fs::read_to_string(table)?) {
        match run(&Path::new(folder).join(&row.unit), row.part, flag("--part-only")) {
            Ok(answer) => outcomes.push(judge(row, answer)),
            Err(why) => writeln!(out, "not run: {} part {}: {why}", row.unit, row.part)?,
        }
    }
    report(&mut out, &outcomes, flag("--quiet"))
}

fn rows(text: &str) -> Vec<Row> {
    let mut lines = text.lines();
    let header: Vec<&str> = lines.next().unwrap_or("").split(',').collect();
    let column = |name: &str| header.iter().position(|h| *h == name);
    let (unit, part, tonic, mode) = (column("unit"), column("part"), column("tonic"), column("mode"));
    let (scale, tier) = (column("scale"), column("tier"));
    lines
        .filter_map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            let cell = |at: Option<usize>| {
                at.and_then(|at| cells.get(at))
                    .map(|c| c.trim_matches('"').to_owned())
            };
            let unit = cell(unit)?;
            Some(Row {
                unit,
                part: cell(part)?.parse().ok()?,
                tonic: cell(tonic)?,
                mode: cell(mode)?,
                scale: cell(scale).unwrap_or_default(),
                tier: cell(tier).unwrap_or_default(),
            })
        })
        .collect()
}

/// The answer for a part counted by staves, as libraries that split a piano part count.
fn run(path: &Path, staff: usize, part_only: bool) -> Result<KeyAnswer, String> {
    let named = path.to_string_lossy().into_owned();
    let (file, tune) = named
        .split_once('#')
        .map_or((named.as_str(), None), |(file, tune)| (file, Some(tune)));
    let bytes = std::fs::read(file).map_err(|e| e.to_string())?;
    let source = formats::Source::open(&bytes, file).map_err(|e| e.to_string())?;
    let (mut piece, _) = source.read(tune).map_err(|e| e.to_string())?;
    let mut before = 0;
    let mut index = None;
    for (i, part) in piece.parts.iter().enumerate() {
        before += usize::from(part.staves.max(1));
        if staff < before {
            index = Some(i);
            break;
        }
    }
    let mut index = index.ok_or("no such part")?;
    let unfolding = performance::road::unfold(&piece, &performance::road::RoadOptions::default());
    let order: Vec<notation::BarIndex> = unfolding.played.iter().map(|played| played.bar).collect();
    if part_only {
        let part = piece.parts.swap_remove(index);
        piece.barlines.retain(|line| line.part == index);
        piece.parts = vec![part];
        index = 0;
    }
    let ctx = Context::new(&piece, index).ok_or("no such part")?;
    Ok(survey::key::answer(&ctx, Some(&order)))
}

fn tonality(row: &Row) -> Option<Tonality> {
    let mut chars = row.tonic.chars();
    let step = notation::Step::from_letter(chars.next()?)?;
    let signs: i32 = chars.map(|c| if c == '#' { 7 } else { -7 }).sum();
    Some(Tonality {
        fifths: step.fifths() + signs,
        minor: row.mode == "minor",
    })
}

fn judge(row: Row, answer: KeyAnswer) -> Outcome {
    let truth = tonality(&row);
    let right = truth.is_some_and(|t| t.tonic() == answer.tonic && t.mode() == answer.mode);
    let sounding_scale = answer.scale.starts_with(&row.scale);
    Outcome {
        row,
        answer,
        right,
        sounding_scale,
    }
}

/// How a wrong answer stands to the right one.
fn confusion(outcome: &Outcome) -> &'static str {
    let Some(truth) = tonality(&outcome.row) else {
        return "no truth";
    };
    let (step, alter) = outcome.answer.tonic;
    let said = Tonality {
        fifths: step.fifths() + 7 * i32::from(alter),
        minor: outcome.answer.mode == "minor",
    };
    match said {
        _ if said == truth.relative() => "relative",
        _ if said == truth.parallel() => "parallel",
        _ if said.minor == truth.minor && (said.fifths - truth.fifths).abs() == 1 => "fifth",
        _ if said.pitch_class() == truth.pitch_class() && said.minor == truth.minor => "spelling",
        _ => "other",
    }
}

fn share(hits: usize, all: usize) -> String {
    let tenths = if all == 0 {
        0
    } else {
        (hits * 2000 + all) / (2 * all)
    };
    format!("{hits}/{all} = {}.{} %", tenths / 10, tenths % 10)
}

fn report(out: &mut impl Write, outcomes: &[Outcome], quiet: bool) -> io::Result<()> {
    let right = |list: &[&Outcome]| share(list.iter().filter(|o| o.right).count(), list.len());
    let all: Vec<&Outcome> = outcomes.iter().collect();
    writeln!(out, "exact tonic and mode: {}", right(&all))?;
    let mut tiers: BTreeMap<&str, Vec<&Outcome>> = BTreeMap::new();
    let mut deciles: BTreeMap<u32, Vec<&Outcome>> = BTreeMap::new();
    for outcome in outcomes {
        tiers.entry(&outcome.row.tier).or_default().push(outcome);
        let decile = (0..10)
            .rev()
            .find(|d| outcome.answer.certainty >= f64::from(*d) / 10.0)
            .unwrap_or(0);
        deciles.entry(decile).or_default().push(outcome);
    }
    for (tier, list) in &tiers {
        writeln!(out, "  {tier}: {}", right(list))?;
    }
    let labelled: Vec<&Outcome> = outcomes
        .iter()
        .filter(|o| o.right && !o.row.scale.is_empty())
        .collect();
    let scales = labelled.iter().filter(|o| o.sounding_scale).count();
    writeln!(
        out,
        "mode proper right where the key is: {}",
        share(scales, labelled.len())
    )?;
    writeln!(out, "certainty by decile: claimed, right")?;
    for (decile, list) in &deciles {
        let sum: f64 = list.iter().map(|o| o.answer.certainty).sum();
        let mean = sum / f64::from(u32::try_from(list.len()).unwrap_or(u32::MAX));
        writeln!(
            out,
            "  {}0–{}0 %: {:.1} %, {}",
            decile,
            decile + 1,
            100.0 * mean,
            right(list)
        )?;
    }
    let mut confusions: BTreeMap<&str, u32> = BTreeMap::new();
    for outcome in outcomes.iter().filter(|o| !o.right) {
        *confusions.entry(confusion(outcome)).or_default() += 1;
    }
    writeln!(out, "misses: {confusions:?}")?;
    for outcome in outcomes.iter().filter(|o| !o.right && !quiet) {
        explain(out, outcome)?;
    }
    Ok(())
}

fn name(tonic: (notation::Step, i8), mode: &str) -> String {
    format!(
        "{} {mode}",
        notation::Pitch::new(tonic.0, tonic.1, 4).class_sign()
    )
}

fn explain(out: &mut impl Write, outcome: &Outcome) -> io::Result<()> {
    let Outcome { row, answer, .. } = outcome;
    let said = name(answer.tonic, answer.mode);
    writeln!(
        out,
        "MISS {} part {}: truth {} {}, said {said} ({:.2})",
        row.unit, row.part, row.tonic, row.mode, answer.certainty
    )?;
    for evidence in &answer.evidence {
        writeln!(out, "     {}", evidence.says)?;
    }
    if let Some(second) = &answer.runner_up {
        let other = name(second.tonic, second.mode);
        writeln!(
            out,
            "     runner-up {other} ({:.2}): {}",
            second.certainty, second.why_not
        )?;
    }
    Ok(())
}

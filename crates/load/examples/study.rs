//! What would a teacher say of this page to this player? `cargo run -p foreread-load --example study -- [--instrument ID] [--level LEVEL] PIECE …`.

use instruments::Experience;
use load::{Player, Wishes};
use std::io::{self, Write};
use survey::{Context, Options, Question};

fn main() -> io::Result<()> {
    let mut out = io::stdout().lock();
    let (mut instrument, mut level) = (None, Experience::Intermediate);
    let mut args = std::env::args().skip(1);
    while let Some(arg) = args.next() {
        match arg.as_str() {
            "--instrument" => instrument = args.next().and_then(|id| instruments::by_id(&id)),
            "--level" => {
                let name = args.next().unwrap_or_default();
                level = Experience::ALL
                    .into_iter()
                    .find(|l| l.word() == name)
                    .unwrap_or(level);
            }
            path => piece(&mut out, path, instrument, level)?,
        }
    }
    Ok(())
}

fn piece(
    out: &mut impl Write,
    path: &str,
    instrument: Option<&'static instruments::Instrument>,
    level: Experience,
) -> io::Result<()> {
    let (piece, _) = formats::read(&std::fs::read(path)?, path).map_err(io::Error::other)?;
    let (Some(ctx), Some(survey)) = (
        Context::new(&piece, 0),
        survey::survey(&piece, 0, &Question::ALL, &Options::default()),
    ) else {
        return Ok(());
    };
    let instrument = instrument.or(survey.instrument.as_ref().map(|found| found.instrument));
    let player = Player::usual(instrument, level);
    let began = std::time::Instant::now();
    let study = load::study(&ctx, &survey, &player, &Wishes::default());
    let took = began.elapsed();
    writeln!(
        out,
        "== {path}, {}, {}: {} bars, {:.1} ms",
        instrument.map_or("?", |i| i.name),
        level.word(),
        piece.bars.len(),
        took.as_secs_f64() * 1e3
    )?;
    if let Some(first) = &study.first {
        writeln!(
            out,
            "  first {} = {}-{} {:?} ({}), set by {:?}: {}",
            first.beat.sign(),
            first.range.low,
            first.range.high,
            first.range.click,
            first.holds.id(),
            first
                .set_by
                .as_ref()
                .map(|(bar, why)| format!("{}: {why}", piece.label(*bar))),
            first.reason
        )?;
        for limit in &first.limits {
            writeln!(
                out,
                "    {} {:.0} {}",
                limit.holds.id(),
                limit.quarters_a_minute,
                limit.why
            )?;
        }
    }
    if let (Some(goal), Some(ladder)) = (&study.goal, &study.ladder) {
        let rungs: Vec<String> = ladder
            .rungs
            .iter()
            .map(|rung| format!("{}×{}", rung.says(), rung.times.0))
            .collect();
        writeln!(
            out,
            "  to {} = {:.0} ({}): {}",
            goal.beat.sign(),
            goal.bpm,
            goal.from,
            rungs.join(", ")
        )?;
    }
    for spot in &study.spots {
        writeln!(
            out,
            "  {} bars {}-{} ({:.2}): {} -> {}",
            if spot.slowly_first { "*" } else { " " },
            piece.label(spot.from),
            piece.label(spot.to),
            spot.weight,
            spot.reasons.join("; "),
            spot.suggestion
        )?;
    }
    let per = |of: &dyn Fn(&load::BarLoad) -> f64| -> String {
        study
            .bars
            .iter()
            .map(|bar| format!("{:.1}", of(bar)))
            .collect::<Vec<_>>()
            .join(" ")
    };
    writeln!(out, "  reading {}", per(&|bar| bar.reading.total()))?;
    writeln!(out, "  hand    {}", per(&|bar| bar.hand.total()))?;
    for finding in &study.findings {
        writeln!(out, "  ! {finding}")?;
    }
    for standing in &study.levels {
        writeln!(out, "  {}", standing.says())?;
    }
    Ok(())
}

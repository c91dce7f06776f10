//! How do the reading pieces of every level come out? Seeds a level, mean load, candidates, milliseconds a piece:
//! `cargo run --release -p foreread-practice --example readings -- SEEDS [FOLDER] [PART OF A TABLE'S NAME]`. With a folder the
//! pieces are written there as MusicXML. Exits with 1 if a piece takes 30 ms or more in the mean: `benches/reading` runs it.

use practice::reading::{find, of_level, reading, usual_player};
use std::io::Write;
use std::process::ExitCode;
use std::time::Instant;

/// Milliseconds a piece, in the mean over all levels.
const LIMIT: f64 = 30.0;

fn main() -> Result<ExitCode, Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let seeds: u64 = arguments
        .next()
        .and_then(|number| number.parse().ok())
        .unwrap_or(20);
    let folder = arguments.next().filter(|name| name != "-");
    let wanted = arguments.next().unwrap_or_default();
    let mut out = std::io::stdout().lock();
    let (mut all, mut whole) = (0_u32, 0.0);
    for table in load::levels::tables()
        .iter()
        .filter(|table| table.name.contains(&wanted))
    {
        // One instrument of each set that the table's levels name.
        let mut instruments: Vec<&str> = Vec::new();
        for level in table.levels {
            let name = match level.instruments.first().copied() {
                None => "flute",
                Some("flute") if level.instruments.len() > 1 => "clarinet-bb",
                Some("string") => "violin",
                Some(name) => name,
            };
            if !instruments.contains(&name) {
                instruments.push(name);
            }
        }
        for name in instruments {
            let instrument = instruments::by_id(name);
            for level in table.levels_for(instrument) {
                let (table, level) = find(&format!("{}:{}", table.name, level.name), instrument)?;
                let player = usual_player(table, level, instrument);
                let bounds = of_level(table, level, &player)?;
                let (mut load, mut tries, mut made, mut failed) = (Vec::new(), 0, 0_u32, Vec::new());
                let start = Instant::now();
                for seed in 0..seeds {
                    match reading(&bounds, &player, seed) {
                        Ok(piece) => {
                            load.push(piece.load);
                            tries += piece.tries;
                            made += 1;
                            if let Some(folder) = &folder {
                                let (text, _) = formats::write_musicxml(&piece.piece);
                                let file =
                                    format!("{folder}/{}-{name}-{}-{seed}.musicxml", table.name, level.name);
                                std::fs::write(file.replace(' ', "_"), text)?;
                            }
                        }
                        Err(refusal) => failed.push(format!("{seed}: {refusal}")),
                    }
                }
                let took = start.elapsed().as_secs_f64() * 1000.0;
                all += made;
                whole += took;
                load.sort_by(f64::total_cmp);
                let at = |share: f64| {
                    let index = share * f64::from(made.saturating_sub(1));
                    load.iter()
                        .enumerate()
                        .find(|(at, _)| f64::from(u32::try_from(*at).unwrap_or(0)) >= index)
                };
                let mean = load.iter().sum::<f64>() / f64::from(made.max(1));
                writeln!(
                    out,
                    "{:40} {:12} {:12} mean {mean:5.2}  tenth {:5.2} half {:5.2} nine tenths {:5.2}  tries {:5.1}  {:6.1} ms  failed {}",
                    table.name,
                    level.name,
                    name,
                    at(0.1).map_or(0.0, |(_, load)| *load),
                    at(0.5).map_or(0.0, |(_, load)| *load),
                    at(0.9).map_or(0.0, |(_, load)| *load),
                    f64::from(u32::try_from(tries).unwrap_or(0)) / f64::from(made.max(1)),
                    took / f64::from(made.max(1)),
                    failed.len()
                )?;
                for one in failed.iter().take(3) {
                    writeln!(out, "    {one}")?;
                }
            }
        }
    }
    let mean = whole / f64::from(all.max(1));
    writeln!(out, "{all} pieces, {mean:.1} ms a piece (limit {LIMIT} ms)")?;
    Ok(if mean < LIMIT {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

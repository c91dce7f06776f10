//! How much is there to read in a note of real parts? `cargo run --release -p foreread-load --example bits -- SCORE …`.
//!
//! Prints the tenth, the middle and the ninetieth of a hundred parts, in bits a note, with and without the marks.

use std::io::{self, Write};
use survey::{Context, Options, Question};

/// Parts shorter than this many notes say little.
const FEWEST: usize = 30;

fn main() -> io::Result<()> {
    let (mut all, mut bare) = (Vec::new(), Vec::new());
    for path in std::env::args().skip(1) {
        let Ok((piece, _)) = formats::read(&std::fs::read(&path)?, &path) else {
            continue;
        };
        for part in 0..piece.parts.len() {
            let (Some(ctx), Some(survey)) = (
                Context::new(&piece, part),
                survey::survey(&piece, part, &Question::ALL, &Options::default()),
            ) else {
                continue;
            };
            let hints = load::reading::Hints {
                regions: survey.key.as_ref().map_or(&[], |key| &key.regions),
                metre: survey.metre.as_ref(),
            };
            let read = load::reading::reading_load(&ctx, &hints);
            if read.notes.len() < FEWEST {
                continue;
            }
            let notes = f64::from(u32::try_from(read.notes.len()).unwrap_or(u32::MAX));
            all.push(read.shares.iter().map(|placed| placed.share.amount).sum::<f64>() / notes);
            bare.push(
                read.notes
                    .iter()
                    .map(|note| note.pitch_bits + note.rhythm_bits)
                    .sum::<f64>()
                    / notes,
            );
        }
    }
    let mut out = io::stdout().lock();
    for (name, mut values) in [("with marks", all), ("without", bare)] {
        values.sort_by(f64::total_cmp);
        let of_ten = |n: usize| {
            values
                .get(values.len().saturating_sub(1) * n / 10)
                .copied()
                .unwrap_or(0.0)
        };
        writeln!(
            out,
            "{} parts {name}: {:.2} {:.2} {:.2}",
            values.len(),
            of_ten(1),
            of_ten(5),
            of_ten(9)
        )?;
    }
    Ok(())
}

//! Where do the boundary models divide the tunes of a book? `cargo run --release --example phrases -- BOOK.abc [ROWS.bin]`.
//! Or the first parts of scores: `-- SCORE.musicxml …`.
//!
//! One line for each tune: its number, how many notes, whether it has a metre, then four lists by note: the boundary
//! model's strengths, the beginnings by the grouper, after a rest, and ours. With ROWS.bin the rows and cells that the
//! weights are learnt from are written there, little-endian: notes as u32, rows as f32, then for each end the cells of
//! each stretch that may end there as bytes.

use std::io::{self, Write};
use survey::Context;
use survey::phrases::{self, Notes, features, grouper, lbdm};

fn main() -> io::Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let Some(book) = args.first() else {
        return Err(io::Error::other("say the book of tunes"));
    };
    if !book.ends_with(".abc") {
        let mut out = io::BufWriter::new(io::stdout().lock());
        for (number, path) in args.iter().enumerate() {
            let read = formats::read(&std::fs::read(path)?, path).map_err(io::Error::other)?;
            tune_line(&mut out, None, &number.to_string(), &read.0)?;
        }
        return Ok(());
    }
    let text = String::from_utf8_lossy(&std::fs::read(book)?).into_owned();
    let mut rows = args
        .get(1)
        .map(std::fs::File::create)
        .transpose()?
        .map(io::BufWriter::new);
    let mut out = io::BufWriter::new(io::stdout().lock());
    for tune in text.split("\nX:").map(|tune| tune.trim_start_matches("X:")) {
        let number = tune.lines().next().unwrap_or("").trim().to_owned();
        if number.is_empty() {
            continue;
        }
        match formats::read(format!("X:{tune}\n").as_bytes(), "tune.abc") {
            Ok((piece, _)) => tune_line(&mut out, rows.as_mut(), &number, &piece)?,
            Err(why) => writeln!(out, "{number}\tunread\t{why}")?,
        }
    }
    Ok(())
}

fn tune_line(
    out: &mut impl Write,
    rows: Option<&mut io::BufWriter<std::fs::File>>,
    number: &str,
    piece: &notation::Piece,
) -> io::Result<()> {
    let Some(ctx) = Context::new(piece, 0) else {
        return writeln!(out, "{number}\tunread\tno part");
    };
    let key = survey::key::answer(&ctx, None);
    let notes = Notes::of(&ctx);
    let answer = phrases::answer(&ctx, Some(&key));
    let strengths: Vec<String> = lbdm::strengths(&notes)
        .iter()
        .map(|s| format!("{s:.5}"))
        .collect();
    let certainties: Vec<String> = answer.certainties.iter().map(|s| format!("{s:.4}")).collect();
    let marks = |holds: Vec<bool>| -> String { holds.iter().map(|h| if *h { '1' } else { '0' }).collect() };
    let rests = (0..notes.len()).map(|at| notes.gap(at) > 0.0).collect();
    let ours = (0..notes.len()).map(|at| answer.begins(at)).collect();
    let has_metre = ctx.part.metres.iter().any(|metre| !metre.value.parts.is_empty());
    writeln!(
        out,
        "{number}\t{}\t{}\t{}\t{}\t{}\t{}\t{}",
        notes.len(),
        u8::from(has_metre),
        strengths.join(","),
        marks(grouper::begins(&notes)),
        marks(rests),
        marks(ours),
        certainties.join(",")
    )?;
    rows.map_or(Ok(()), |rows| {
        write_rows(rows, &notes, phrases::tonic_class(&key))
    })
}

fn write_rows(to: &mut impl Write, notes: &Notes, tonic: i32) -> io::Result<()> {
    let n = notes.len();
    to.write_all(&u32::try_from(n).unwrap_or(0).to_le_bytes())?;
    for row in features::rows(notes, Some(tonic)).rows {
        for value in row {
            #[expect(
                clippy::cast_possible_truncation,
                reason = "seven digits are enough to learn from"
            )]
            to.write_all(&(value as f32).to_le_bytes())?;
        }
    }
    for end in 1..=n {
        for back in 1..=features::LONGEST {
            let cells = if back <= end {
                features::cells(notes, end - back, end)
            } else {
                [255; 4]
            };
            let bytes: Vec<u8> = cells
                .iter()
                .map(|cell| u8::try_from(*cell).unwrap_or(255))
                .collect();
            to.write_all(&bytes)?;
        }
    }
    Ok(())
}

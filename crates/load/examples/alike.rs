//! What returns in a piece? `cargo run -p foreread-load --example alike -- PIECE` prints every look-alike.

use std::io::Write;
use survey::Context;

fn main() -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    for path in std::env::args().skip(1) {
        let bytes = std::fs::read(&path)?;
        let (piece, _) = formats::read(&bytes, &path).map_err(std::io::Error::other)?;
        let Some(ctx) = Context::new(&piece, 0) else {
            continue;
        };
        let answer = load::alike::answer(&ctx, &[]);
        writeln!(out, "{path}: {}; form {}", answer.summary, answer.form.letters())?;
        for alike in &answer.look_alikes {
            let like = alike.how.words(piece.label(alike.like), "bar");
            writeln!(
                out,
                "  bar {} {like} {}",
                piece.label(alike.bar),
                alike.differences.join("; ")
            )?;
        }
        for figure in &answer.figures {
            let first = piece.label(figure.first.bar);
            writeln!(
                out,
                "  a figure of {} notes, first in bar {first}, {} times on {} pitches",
                figure.notes,
                figure.places.len(),
                figure.starts
            )?;
        }
    }
    Ok(())
}

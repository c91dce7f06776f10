//! How is a piece fingered? `cargo run -p foreread-load --example fingers -- PIECE [INSTRUMENT]` prints what is not usual.

use std::io::Write;
use survey::Context;

fn main() -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    let mut arguments = std::env::args().skip(1);
    let Some(path) = arguments.next() else {
        return writeln!(out, "fingers PIECE [INSTRUMENT]");
    };
    let bytes = std::fs::read(&path)?;
    let (piece, _) = formats::read(&bytes, &path).map_err(std::io::Error::other)?;
    let Some(ctx) = Context::new(&piece, 0) else {
        return writeln!(out, "no part");
    };
    let instrument = match arguments.next() {
        Some(id) => instruments::by_id(&id),
        None => instruments::identify(ctx.part).map(|found| found.instrument),
    };
    let player = load::Player::usual(instrument, instruments::Experience::Intermediate);
    let ornaments = survey::ornaments::answer(&ctx, &[]).ornaments;
    let answer = load::fingers::answer(&ctx, &player, &ornaments);
    let title = answer.chart.map_or("no chart", |chart| chart.title);
    writeln!(
        out,
        "{path}: {title}; {} notes. {}",
        answer.notes.len(),
        answer.means
    )?;
    writeln!(
        out,
        "  {:.1} movements with the usual fingerings, {:.1} with these",
        answer.all_basic, answer.total
    )?;
    for stay in answer.stays() {
        let (from, to) = (piece.label(stay.from.bar), piece.label(stay.to.bar));
        writeln!(out, "  bars {from}–{to}: {} ({} notes)", stay.says, stay.notes)?;
    }
    for tending in answer.tendencies() {
        let (bar, written) = (piece.label(tending.place.bar), tending.written.sign());
        writeln!(
            out,
            "  bar {bar:>3} {written:>4} (× {}) tends: {}",
            tending.times, tending.says
        )?;
    }
    for note in &answer.notes {
        if let Some(reason) = note.reason.as_ref().filter(|_| note.alternate) {
            let (bar, written) = (piece.label(note.place.bar), note.written.sign());
            let (name, state) = (&note.fingering.name, note.state);
            writeln!(out, "  bar {bar:>3} {written:>4}: {name} [{state}]: {reason}")?;
        }
        if let Some(said) = &note.said {
            writeln!(out, "  bar {:>3} {said}", piece.label(note.place.bar))?;
        }
    }
    for gap in &answer.gaps {
        let (bar, written) = (piece.label(gap.place.bar), gap.written.sign());
        writeln!(out, "  bar {bar:>3} {written:>4} (× {}): {}", gap.times, gap.why)?;
    }
    for trill in &answer.trills {
        let (bar, main, upper) = (
            piece.label(trill.place.bar),
            trill.main.sign(),
            trill.upper.sign(),
        );
        writeln!(out, "  bar {bar:>3} trill {main}–{upper}: {}", trill.says)?;
    }
    let shares = answer.shares();
    let mut hardest: Vec<&load::Placed> = shares.iter().collect();
    hardest.sort_by(|a, b| b.share.amount.total_cmp(&a.share.amount));
    for placed in hardest.into_iter().take(8) {
        let bar = piece.label(placed.place.bar);
        writeln!(
            out,
            "  hardest: bar {bar}, {:.2}: {}",
            placed.share.amount, placed.share.why
        )?;
    }
    Ok(())
}

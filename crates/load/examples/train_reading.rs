//! Counts what tunes do, for the reading load: `train_reading TABLE NAME=FOLDER …`, each folder a tune book in ABC.
//!
//! Writes the table and prints what stands in `crates/load/src/reading/long_term.md`: tunes, notes, and how many bits a bar
//! takes in each book with a model that has not seen it (the words for amounts are cut there).

mod books;

use books::{Book, hints, learnt, read};
use load::reading::{LongTerm, Settings, reading_load_with};
use std::io::Write;
use std::path::Path;
use survey::Context;

fn main() -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    let mut arguments = std::env::args().skip(1);
    let Some(path) = arguments.next() else {
        return Err(std::io::Error::other("train_reading TABLE NAME=FOLDER …"));
    };
    let mut books = Vec::new();
    for argument in arguments {
        let (name, folder) = argument
            .split_once('=')
            .ok_or_else(|| std::io::Error::other("a book is NAME=FOLDER"))?;
        books.push(read(name, Path::new(folder), ".abc")?);
    }
    let all: Vec<&Book> = books.iter().collect();
    let table = learnt(&all);
    std::fs::write(&path, table.bytes())?;
    writeln!(out, "table: {} bytes", table.bytes().len())?;
    let mut bars = Vec::new();
    for book in &books {
        let others: Vec<&Book> = all
            .iter()
            .copied()
            .filter(|other| other.name != book.name)
            .collect();
        let unseen = measured(book, &learnt(&others));
        let notes: usize = unseen.iter().map(|tune| tune.notes).sum();
        let of = |bits: fn(&Measured) -> f64| per(unseen.iter().map(bits).sum(), notes);
        writeln!(
            out,
            "{}: {} tunes, {notes} notes; left out: pitch {:.3}, rhythm {:.3} bits a note",
            book.name,
            book.tunes.len(),
            of(|tune| tune.pitch),
            of(|tune| tune.rhythm),
        )?;
        bars.extend(unseen.into_iter().flat_map(|tune| tune.bars));
    }
    bars.sort_by(f64::total_cmp);
    writeln!(out, "bits a bar, all marks among them, {} bars:", bars.len())?;
    for percent in [10, 25, 40, 50, 60, 75, 80, 90, 95, 99] {
        let at = (bars.len() * percent / 100).min(bars.len().saturating_sub(1));
        writeln!(
            out,
            "  {percent} of 100 up to {:.1}",
            bars.get(at).copied().unwrap_or_default()
        )?;
    }
    Ok(())
}

struct Measured {
    pitch: f64,
    rhythm: f64,
    notes: usize,
    bars: Vec<f64>,
}

fn measured(book: &Book, table: &LongTerm) -> Vec<Measured> {
    book.tunes
        .iter()
        .filter_map(|tune| {
            let ctx = Context::new(&tune.piece, tune.part)?;
            let answer = reading_load_with(&ctx, &hints(&tune.survey), table, &Settings::default());
            Some(Measured {
                pitch: answer.notes.iter().map(|note| note.pitch_bits).sum(),
                rhythm: answer.notes.iter().map(|note| note.rhythm_bits).sum(),
                notes: answer.notes.len(),
                bars: answer
                    .per_bar()
                    .iter()
                    .map(load::Account::total)
                    .filter(|bits| *bits > 0.0)
                    .collect(),
            })
        })
        .collect()
}

#[expect(clippy::cast_precision_loss, reason = "some hundred thousand notes")]
fn per(bits: f64, notes: usize) -> f64 {
    bits / notes.max(1) as f64
}

//! Tune books read from a folder or a file, for learning and for measuring. Used by the examples beside it.
#![allow(dead_code, reason = "not every example uses all of it")]

use load::reading::{Hints, LongTerm, Melody, Pruning, Settings, Trainer, Weights, fitted};
use notation::Piece;
use std::path::{Path, PathBuf};
use survey::{Context, Options, Question, Survey};

/// A book: its name and its tunes.
pub struct Book {
    pub name: String,
    pub tunes: Vec<Tune>,
}

/// A tune: the piece and its line.
pub struct Tune {
    pub piece: Piece,
    pub part: usize,
    pub survey: Survey,
    pub melody: Melody,
}

/// What is too rare to be kept in the shipped table: chosen so that it stays under 300 kB.
pub const PRUNING: Pruning = Pruning {
    contexts: [2, 4, 12, 40, 80, u32::MAX],
    once_from: 1,
};

/// How fast the weights move, pass by pass.
const RATES: [f64; 3] = [0.01, 0.003, 0.001];

/// Fewer notes and rests than this are no tune.
const SHORTEST: usize = 16;

/// The hints that a survey gives.
pub fn hints(survey: &Survey) -> Hints<'_> {
    Hints {
        regions: survey.key.as_ref().map_or(&[], |key| &key.regions),
        metre: survey.metre.as_ref(),
    }
}

/// Reads the first part of every tune of the files (or of the files in a folder) that end as asked.
pub fn read(name: &str, path: &Path, ends: &str) -> std::io::Result<Book> {
    let mut tunes = Vec::new();
    for file in files(path, ends)? {
        let bytes = std::fs::read(&file)?;
        let Ok(source) = formats::Source::open(&bytes, &file.to_string_lossy()) else {
            continue;
        };
        for index in 0..source.tunes().len().max(1) {
            tunes.extend(source.read_nth(index).ok().and_then(|(piece, _)| tune(piece)));
        }
    }
    Ok(Book {
        name: name.to_owned(),
        tunes,
    })
}

/// The first part, or in a choir its soprano.
fn tune(piece: Piece) -> Option<Tune> {
    let soprano = piece
        .parts
        .iter()
        .position(|part| part.name.to_lowercase().starts_with("soprano"));
    let part = soprano.unwrap_or(0);
    let survey = survey::survey(
        &piece,
        part,
        &[Question::Key, Question::Metre],
        &Options::default(),
    )?;
    let melody = Melody::of(&Context::new(&piece, part)?, &hints(&survey));
    (melody.items.len() >= SHORTEST).then_some(Tune {
        piece,
        part,
        survey,
        melody,
    })
}

/// Files in order of name.
fn files(path: &Path, ends: &str) -> std::io::Result<Vec<PathBuf>> {
    if path.is_file() {
        return Ok(vec![path.to_owned()]);
    }
    let mut files: Vec<PathBuf> = std::fs::read_dir(path)?
        .map(|entry| Ok(entry?.path()))
        .collect::<std::io::Result<_>>()?;
    files.retain(|file| file.to_string_lossy().ends_with(ends));
    files.sort();
    Ok(files)
}

/// The counts of some books, without weights.
pub fn counted<'b>(books: impl Iterator<Item = &'b Book>, pruning: &Pruning) -> LongTerm {
    let mut trainer = Trainer::default();
    for tune in books.flat_map(|book| &book.tunes) {
        trainer.add(&tune.melody);
    }
    trainer.table(pruning)
}

/// Weights fitted on melodies in three parts, each with counts of the other two: for sets too small for books.
pub fn weights_of(melodies: &[&Melody], pruning: &Pruning, start: Weights) -> Weights {
    let mut weights = start;
    for rate in RATES {
        for third in 0..3 {
            let mut trainer = Trainer::default();
            for (_, melody) in melodies.iter().enumerate().filter(|(at, _)| at % 3 != third) {
                trainer.add(melody);
            }
            let table = trainer.table(pruning).weighted(&weights);
            let rest = melodies.iter().copied().skip(third).step_by(3);
            weights = fitted(&table, rest, &[rate], &Settings::default());
        }
    }
    weights
}

/// What some books teach: counts of all of them, and weights fitted on each with counts of the others.
pub fn learnt(books: &[&Book]) -> LongTerm {
    let mut weights = Weights::default();
    for rate in RATES {
        for book in books {
            let others = books.iter().copied().filter(|other| other.name != book.name);
            let table = counted(others, &PRUNING).weighted(&weights);
            // Each second tune says enough.
            let tunes = book.tunes.iter().step_by(2).map(|tune| &tune.melody);
            weights = fitted(&table, tunes, &[rate], &Settings::default());
        }
    }
    counted(books.iter().copied(), &PRUNING).weighted(&weights)
}

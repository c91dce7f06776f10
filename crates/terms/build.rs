//! How does a dictionary cost nothing at run time? The files under `data/` are read, checked and sorted here, once, and
//! written as static tables: numbers that point into a few long texts, ready to be searched where they lie.

use std::error::Error;
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};

#[path = "src/fold.rs"]
#[allow(dead_code, reason = "the crate uses the rest")]
mod fold;
#[path = "src/kind.rs"]
#[allow(dead_code, reason = "the crate uses the rest")]
mod kind;
#[path = "src/dictionary/labels.rs"]
mod labels;
#[path = "src/dictionary/source.rs"]
mod source;
#[path = "src/words.rs"]
#[allow(dead_code, reason = "the crate uses the rest")]
mod words;

use source::Spelled;

type Result<T> = std::result::Result<T, Box<dyn Error>>;

fn main() -> std::process::ExitCode {
    match write_tables() {
        Ok(()) => std::process::ExitCode::SUCCESS,
        Err(what) => {
            // Cargo shows this to whoever edited the file.
            let _ = writeln!(std::io::stderr(), "\nthe dictionary cannot be built\n{what}\n");
            std::process::ExitCode::FAILURE
        }
    }
}

fn write_tables() -> Result<()> {
    let here = PathBuf::from(std::env::var("CARGO_MANIFEST_DIR")?);
    let out = PathBuf::from(std::env::var("OUT_DIR")?);
    let mut said = std::io::stdout();
    for watched in [
        "data",
        "build.rs",
        "src/fold.rs",
        "src/kind.rs",
        "src/words.rs",
        "src/dictionary",
    ] {
        writeln!(said, "cargo::rerun-if-changed={watched}")?;
    }
    std::fs::write(out.join("tables.rs"), tables(&here.join("data"))?)?;
    Ok(())
}

/// The whole generated file.
fn tables(data: &Path) -> Result<String> {
    let read = |name: &str| {
        std::fs::read_to_string(data.join(name)).map_err(|error| format!("data/{name}: {error}"))
    };
    let mut files = Vec::new();
    for (kind, name) in source::TABLES {
        files.push((kind, name, read(name)?));
    }
    let mut terms = Vec::new();
    for (kind, name, content) in &files {
        terms.extend(source::rows(name, content, |line| source::term_row(*kind, line))?);
    }
    let small = read(source::MODIFIERS)?;
    let modifiers = source::rows(source::MODIFIERS, &small, source::modifier_row)?;
    let plain = read(source::PLAIN)?;

    let mut text = String::new();
    let mut out = String::new();
    writeln!(out, "pub(super) static TERM_ROWS: [TermRow; {}] = [", terms.len())?;
    for row in &terms {
        let cells = cells(&mut text, [row.term, row.meaning, row.aliases, row.notes])?;
        let (language, kind) = (row.language, row.kind);
        writeln!(
            out,
            "TermRow {{ {cells}, language: Language::{language:?}, kind: Kind::{kind:?} }},"
        )?;
    }
    writeln!(out, "];")?;
    writeln!(
        out,
        "pub(super) static MODIFIER_ROWS: [ModifierRow; {}] = [",
        modifiers.len()
    )?;
    for row in &modifiers {
        let cells = cells(&mut text, [row.word, row.before, row.after, row.note])?;
        let (language, part) = (row.language, row.part);
        writeln!(
            out,
            "ModifierRow {{ {cells}, language: Language::{language:?}, part: Part::{part:?} }},"
        )?;
    }
    writeln!(out, "];")?;
    writeln!(out, "pub(super) static TEXT: &str = {text:?};")?;

    let terms = source::term_spellings(&terms)?;
    let modifiers = source::modifier_spellings(&modifiers)?;
    write_keys(&mut out, "TERM", &terms)?;
    write_keys(&mut out, "MODIFIER", &modifiers)?;
    write_targets(&mut out, &terms)?;
    let both = terms.iter().chain(&modifiers);
    let mut words: Vec<&str> = both.flat_map(|spelled| spelled.text.split(' ')).collect();
    words.sort_unstable();
    words.dedup();
    write_words(&mut out, "WORD", &words)?;
    write_words(&mut out, "PLAIN", &source::plain_words(&plain)?)?;
    out.push_str(
        "pub(super) static DICTIONARY: Dictionary = Dictionary {
    terms: Index { text: TERM_KEY_TEXT, keys: &TERM_KEYS },
    small: Index { text: MODIFIER_KEY_TEXT, keys: &MODIFIER_KEYS },
    targets: &TARGETS,
    words: WordList { text: WORD_TEXT, starts: &WORD_STARTS },
    plain: WordList { text: PLAIN_TEXT, starts: &PLAIN_STARTS },
};\n",
    );
    Ok(out)
}

/// Adds the cells to the text and says where they lie.
fn cells(text: &mut String, cells: [&str; 4]) -> Result<String> {
    let start = u32::try_from(text.len())?;
    let mut lengths = [0u16; 4];
    for (length, cell) in lengths.iter_mut().zip(cells) {
        *length = u16::try_from(cell.len())?;
        text.push_str(cell);
    }
    Ok(format!("cells: Cells {{ start: {start}, lengths: {lengths:?} }}"))
}

fn write_keys(out: &mut String, name: &str, spellings: &[Spelled]) -> Result<()> {
    let mut text = String::new();
    writeln!(out, "static {name}_KEYS: [Key; {}] = [", spellings.len())?;
    for spelled in spellings {
        let start = u32::try_from(text.len())?;
        let length = u8::try_from(spelled.text.len())
            .map_err(|_| format!("data: the spelling \"{}\" is too long", spelled.text))?;
        let (words, entry, target) = (spelled.words(), u16::try_from(spelled.row)?, spelled.target);
        writeln!(
            out,
            "Key {{ start: {start}, length: {length}, words: {words}, entry: {entry}, target: {target} }},"
        )?;
        text.push_str(&spelled.text);
    }
    writeln!(out, "];\nstatic {name}_KEY_TEXT: &str = {text:?};")?;
    Ok(())
}

/// The words that a misspelling may be read as, the shortest first.
fn write_targets(out: &mut String, spellings: &[Spelled]) -> Result<()> {
    let mut found = Vec::new();
    for (key, spelled) in spellings.iter().enumerate() {
        if spelled.is_target() {
            let length = spelled.text.chars().count();
            found.push((
                length,
                u16::try_from(key)?,
                u16::try_from(spelled.row)?,
                &spelled.text,
            ));
        }
    }
    found.sort_unstable();
    writeln!(out, "static TARGETS: [Target; {}] = [", found.len())?;
    for (length, key, entry, word) in found {
        let letters = fold::letter_set(word);
        writeln!(
            out,
            "Target {{ letters: {letters}, entry: {entry}, key: {key}, length: {length} }},"
        )?;
    }
    writeln!(out, "];")?;
    Ok(())
}

fn write_words(out: &mut String, name: &str, words: &[&str]) -> Result<()> {
    let mut starts = vec![0u32];
    let mut text = String::new();
    for word in words {
        text.push_str(word);
        starts.push(u32::try_from(text.len())?);
    }
    writeln!(out, "static {name}_STARTS: [u32; {}] = {starts:?};", starts.len())?;
    writeln!(out, "static {name}_TEXT: &str = {text:?};")?;
    Ok(())
}

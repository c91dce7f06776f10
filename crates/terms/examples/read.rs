//! What does each line of standard input mean? Prints the reading of one direction per line.
#![allow(clippy::print_stdout, reason = "a command-line example prints its answer")]

use std::io::BufRead;

fn main() -> std::io::Result<()> {
    for line in std::io::stdin().lock().lines() {
        let line = line?.replace("\\n", "\n");
        let reading = terms::read(&line);
        let meaning = reading.meaning.as_deref().unwrap_or("-");
        let kind = reading.kind.map_or("-", terms::Kind::name);
        println!("{line:?} | {kind} | {meaning}");
        for word in &reading.words {
            if word.spelling != terms::Spelling::Exact {
                println!("    {} = {} ({:?})", word.text, word.lemma, word.spelling);
            }
        }
        if !reading.unknown.is_empty() {
            println!("    unknown: {}", reading.unknown.join(", "));
        }
    }
    Ok(())
}

//! How are files played? One line a note: file, part, onset and length in quarter notes, MIDI pitch, role, event, onset in
//! seconds.
//!
//!     cargo run --release -p foreread-performance --example played -- [--baroque] FILE …
//!
//! A line `BARS` before the notes of a part gives the written bars in the order played. For comparing with what other
//! libraries play.

use formats::read;
use performance::ornament::Period;
use performance::play::{PlayOptions, perform};
use std::io::Write;

fn main() {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    let mut options = PlayOptions::default();
    for argument in std::env::args().skip(1) {
        if let Some(period) = argument.strip_prefix("--").and_then(Period::from_word) {
            options.period = period;
            continue;
        }
        let file = argument;
        let Ok(Ok((piece, _))) = std::fs::read(&file).map(|data| read(&data, &file)) else {
            let _ = writeln!(out, "{file}\tFAILED");
            continue;
        };
        for part in 0..piece.parts.len() {
            let Some(played) = perform(&piece, part, &options) else {
                continue;
            };
            let order: Vec<String> = played
                .slots
                .iter()
                .map(|slot| slot.played.bar.to_string())
                .collect();
            let _ = writeln!(out, "{file}\t{part}\tBARS\t{}", order.join(" "));
            for note in &played.notes {
                let from = played.clock.begins(note.onset);
                let pitch = note
                    .pitch
                    .map_or_else(|| "x".to_owned(), |pitch| pitch.to_string());
                let _ = writeln!(
                    out,
                    "{file}\t{part}\t{}\t{}\t{pitch}\t{:?}\t{}\t{from:.9}",
                    note.onset, note.held, note.role, note.event
                );
            }
        }
    }
}

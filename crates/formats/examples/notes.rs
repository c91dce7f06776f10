//! Which notes does the reader find in many files? One line each: file, part, onset, duration, pitch, grace or not.
//!
//!     cargo run --release -p foreread-formats --example notes -- FILE …
//!
//! For comparing with what other libraries read, whatever the standard.

use notation::{EventKind, Quarters};
use std::io::Write;

fn main() {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    for file in std::env::args().skip(1) {
        let Ok(data) = std::fs::read(&file) else {
            continue;
        };
        let Ok((piece, _)) = formats::read(&data, &file) else {
            let _ = writeln!(out, "{file}\tFAILED");
            continue;
        };
        let onsets = piece.bar_onsets();
        for (index, part) in piece.parts.iter().enumerate() {
            for event in &part.events {
                let start = onsets
                    .get(event.place.bar.get())
                    .copied()
                    .unwrap_or(Quarters::ZERO);
                let onset = start + event.place.offset;
                let grace = if event.is_grace() { "grace" } else { "" };
                let length = event.duration;
                if let EventKind::Chord(heads) = &event.kind {
                    for head in heads {
                        let pitch = head.pitch().map_or("x".to_owned(), |pitch| pitch.to_string());
                        let tie = format!("{}{}", u8::from(head.tie_stop), u8::from(head.tie_start));
                        let _ = writeln!(out, "{file}\t{index}\t{onset}\t{length}\t{pitch}\t{grace}\t{tie}");
                    }
                } else if event.is_rest() {
                    let _ = writeln!(out, "{file}\t{index}\t{onset}\t{length}\trest\t{grace}\t00");
                }
            }
        }
    }
}

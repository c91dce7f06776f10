//! What notes does a file hold, one a line? With two files: the first thing in which they differ as pages.
//!
//!     cargo run -p foreread-formats --example pages -- FILE [FILE]
#![expect(clippy::print_stdout, reason = "a command-line tool for developers")]

use notation::{HeadNote, Piece};

fn open(name: &str) -> Result<Piece, String> {
    let bytes = std::fs::read(name).map_err(|error| format!("{name}: {error}"))?;
    formats::read(&bytes, name)
        .map(|(piece, _)| piece)
        .map_err(|error| format!("{name}: {error}"))
}

/// Part, bar index, offset, duration, pitch, `g` for a grace note, `(` and `)` for a tie from and to.
fn notes(piece: &Piece) {
    for (nth, part) in piece.parts.iter().enumerate() {
        for event in &part.events {
            for head in event.heads() {
                let pitch = match head.note {
                    HeadNote::Pitch(pitch) => pitch.to_string(),
                    HeadNote::Unpitched(_) => "x".to_owned(),
                };
                println!(
                    "{nth}\t{}\t{}\t{}\t{pitch}\t{}{}{}",
                    event.place.bar,
                    event.place.offset,
                    event.duration,
                    if event.is_grace() { "g" } else { "" },
                    if head.tie_stop { ")" } else { "" },
                    if head.tie_start { "(" } else { "" },
                );
            }
        }
    }
}

fn main() {
    let names: Vec<String> = std::env::args().skip(1).collect();
    let said = match names.as_slice() {
        [one] => open(one).map(|piece| notes(&piece)),
        [here, there] => open(here).and_then(|here| {
            let there = open(there)?;
            match here.same_page(&there) {
                Ok(()) => println!("the same page"),
                Err(difference) => println!("{difference}"),
            }
            Ok(())
        }),
        _ => Err("one file, or two to compare".to_owned()),
    };
    if let Err(error) = said {
        println!("ERROR {error}");
    }
}

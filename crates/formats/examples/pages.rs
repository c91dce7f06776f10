//! What notes does a file hold, one a line? With two files: the first thing in which they differ as pages.
//!
//!     cargo run -p foreread-formats --example pages -- FILE [FILE]
//!
//! With `--all` before one file: also what stands at the notes and beside them.
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

/// What stands at the notes and beside them, each as kind, part, bar, offset and what it is.
fn marks(piece: &Piece) {
    for (nth, part) in piece.parts.iter().enumerate() {
        let say = |kind: &str, place: notation::Place, what: String| {
            println!("{kind}\t{nth}\t{}\t{}\t{what}", place.bar, place.offset);
        };
        for event in &part.events {
            let at = event.place;
            for mark in &event.articulations {
                say("articulation", at, format!("{:?}", mark.kind));
            }
            for mark in &event.ornaments {
                say("ornament", at, format!("{:?} {:?}", mark.kind, mark.accidentals));
            }
            for mark in event
                .technical
                .iter()
                .chain(event.heads().iter().flat_map(|head| &head.technical))
            {
                say("technical", at, format!("{} {}", mark.name, mark.text));
            }
            for mark in &event.fermatas {
                say("fermata", at, format!("{mark:?}"));
            }
            for lyric in &event.lyrics {
                say("lyric", at, format!("{lyric:?}"));
            }
            for head in event.heads() {
                if let Some(accidental) = &head.accidental {
                    say("accidental", at, accidental.sign.clone());
                }
            }
            if !event.beams.is_empty() {
                say("beams", at, format!("{:?}", event.beams));
            }
            if let Some(grace) = event.grace {
                say("grace", at, format!("{grace:?}"));
            }
        }
        for span in &part.spans {
            let end = span
                .end
                .map(|end| format!("{}@{}", end.place.bar, end.place.offset));
            let place = span
                .start
                .or(span.end)
                .map(|anchor| anchor.place)
                .unwrap_or_default();
            say(
                "span",
                place,
                format!("{:?} to {}", span.kind, end.unwrap_or_default()),
            );
        }
        for direction in &part.directions {
            say("direction", direction.place, format!("{:?}", direction.kind));
        }
        part.clefs
            .iter()
            .for_each(|clef| say("clef", clef.place, clef.value.code()));
        part.keys
            .iter()
            .for_each(|key| say("key", key.place, key.value.name()));
        part.metres
            .iter()
            .for_each(|metre| say("metre", metre.place, metre.value.name()));
        part.transpositions
            .iter()
            .for_each(|change| say("transposition", change.place, format!("{:?}", change.value)));
    }
    for line in &piece.barlines {
        println!(
            "barline\t{}\t{}\t{:?}\t{:?} {:?} {:?} {:?}",
            line.part, line.place.bar, line.side, line.style, line.repeat, line.ending, line.fermatas
        );
    }
    for bar in &piece.bars {
        println!("bar\t{}\t{}\t{}", bar.label, bar.implicit, bar.length);
    }
}

fn main() {
    let names: Vec<String> = std::env::args().skip(1).collect();
    let said = match names.as_slice() {
        [all, one] if all == "--all" => open(one).map(|piece| {
            notes(&piece);
            marks(&piece);
        }),
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

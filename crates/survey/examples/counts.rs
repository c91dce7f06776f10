//! How many of everything does a file hold? One line of JSON for each part of each file named, for comparing by script.
//!
//! `cargo run --release --example counts -- FILE …`

use std::io::{self, Write};
use survey::Context;
use survey::counts::{Counts, Marks, PartCounts, clef_name, count};

fn main() -> io::Result<()> {
    let mut out = io::stdout().lock();
    for path in std::env::args().skip(1) {
        let bytes = std::fs::read(&path)?;
        match formats::read(&bytes, &path) {
            Err(error) => writeln!(out, "{{\"file\":{path:?},\"error\":{:?}}}", error.to_string())?,
            Ok((piece, _)) => {
                for index in 0..piece.parts.len() {
                    if let Some(ctx) = Context::new(&piece, index) {
                        writeln!(out, "{}", line(&path, index, &ctx, &count(&ctx)))?;
                    }
                }
            }
        }
    }
    Ok(())
}

fn line(path: &str, index: usize, ctx: &Context, counts: &PartCounts) -> String {
    let staves: Vec<String> = counts
        .staves
        .iter()
        .map(|(staff, counts)| format!("\"{staff}\":{}", object(counts)))
        .collect();
    format!(
        "{{\"file\":{path:?},\"part\":{},\"bars\":{},\"whole\":{},\"staves\":{{{}}}}}",
        index + 1,
        ctx.piece.bars.len(),
        object(&counts.whole),
        staves.join(",")
    )
}

fn object(c: &Counts) -> String {
    let pitch = |pitch: Option<notation::Pitch>| pitch.map_or("null".to_owned(), |p| format!("\"{p}\""));
    let clefs: Vec<String> = c
        .clefs
        .iter()
        .map(|clef| format!("{:?}", clef_name(*clef)))
        .collect();
    format!(
        "{{\"events\":{},\"heads\":{},\"chords\":{},\"grace\":{},\"tuplet_members\":{},\"ties\":{},\"altered\":{},\
         \"shown_acc\":{},\"double_acc\":{},\"rests\":{},\"slurs\":{},\"ornaments\":{},\"articulations\":{},\
         \"technical\":{},\"dynamics\":{},\"hairpins\":{},\"fermatas\":{},\"arpeggios\":{},\"lowest\":{},\
         \"highest\":{},\"hidden_heads\":{},\"cue_heads\":{},\"clefs\":[{}]}}",
        c.events,
        c.heads,
        c.chords,
        c.grace,
        c.tuplet_members,
        c.ties,
        c.altered,
        c.shown_acc,
        c.double_acc,
        c.rests,
        c.slurs,
        marks(&c.ornaments),
        marks(&c.articulations),
        marks(&c.technical),
        marks(&c.dynamics),
        marks(&c.hairpins),
        c.fermatas,
        c.arpeggios,
        pitch(c.lowest),
        pitch(c.highest),
        c.hidden_heads,
        c.cue_heads,
        clefs.join(",")
    )
}

fn marks(marks: &Marks) -> String {
    let pairs: Vec<String> = marks
        .iter()
        .map(|(name, count)| format!("{name:?}:{count}"))
        .collect();
    format!("{{{}}}", pairs.join(","))
}

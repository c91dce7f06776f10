//! Writes the prep sheets and cards of the demo pieces, and of any files named, as typesetter's source with its files and
//! as HTML, to be looked at: `cargo run -p foreread-sheet --example sheets -- FOLDER [PIECE …]`.
//!
//! Excerpts are left out, or stand as empty frames of a likely size with `FRAMES=1`: engraving is not asked on this floor.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a tool to look at pages with"
)]

use instruments::Experience;
use load::{Player, Wishes};
use sheet::{
    BarWord, Composed, Excerpt, Excerpts, Handed, LEVELS, Paper, Slot, StudyTime, Terminal, TypstSheet, card,
    card_html, card_text, card_typst, prep_html, prep_sheet, prep_typst,
};
use std::fs;
use std::path::{Path, PathBuf};
use survey::{Context, Options, Question};

fn main() {
    let mut asked = std::env::args().skip(1).map(PathBuf::from);
    let out = asked.next().expect("a folder to write to");
    let mut pieces: Vec<PathBuf> = asked.collect();
    if pieces.is_empty() {
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/pieces");
        pieces = fs::read_dir(demo)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .collect();
        pieces.sort();
    }
    for piece in &pieces {
        for studied in [true, false] {
            write(&out, piece, studied);
        }
    }
}

fn write(out: &Path, path: &Path, studied: bool) {
    let name = path.file_stem().unwrap().to_string_lossy().replace('.', "-");
    let Ok((piece, findings)) = formats::read(&fs::read(path).unwrap(), &path.to_string_lossy()) else {
        println!("{name}: can't be read");
        return;
    };
    let survey = survey::survey(&piece, 0, &Question::ALL, &Options::default()).unwrap();
    let ctx = Context::new(&piece, 0).unwrap();
    let player = Player::usual(
        survey.instrument.as_ref().map(|i| i.instrument),
        Experience::Intermediate,
    );
    let study = studied.then(|| load::study(&ctx, &survey, &player, &Wishes::default()));
    let what = Composed {
        piece: &piece,
        part: 0,
        survey: &survey,
        questions: &Question::ALL,
        findings: &findings,
        fallback_title: &name,
        study: study.as_ref(),
    };
    let handed = Handed {
        player: if studied {
            "Ivo Tarrant".to_owned()
        } else {
            String::new()
        },
        date: "12 March".to_owned(),
    };
    let whole = prep_sheet(&what, &handed);
    let excerpts: Excerpts = whole.slots.iter().filter_map(frame).collect();
    let kind = if studied { "player" } else { "plain" };
    for level in 0..LEVELS {
        let sheet = whole.at(level);
        let folder = out.join(format!("{name}-{kind}-{level}"));
        put(&folder, &prep_typst(&sheet, &excerpts, Paper::A4, BarWord::Bar));
        fs::write(
            folder.join("sheet.html"),
            prep_html(&sheet, &excerpts, BarWord::Bar),
        )
        .unwrap();
    }
    let cards = [card(&what, StudyTime::Sixty), card(&what, StudyTime::Thirty)];
    let engraved: Excerpts = cards[0].slot.iter().filter_map(frame).collect();
    let folder = out.join(format!("{name}-{kind}-0"));
    for (name, excerpt) in &engraved {
        fs::write(folder.join(format!("{name}.svg")), &excerpt.svg).unwrap();
    }
    fs::write(
        folder.join("card.typ"),
        card_typst(&cards, &engraved, Paper::A4, BarWord::Bar).source,
    )
    .unwrap();
    fs::write(
        folder.join("card.html"),
        card_html(&cards, &engraved, BarWord::Bar),
    )
    .unwrap();
    let how = Terminal {
        width: 80,
        styled: false,
        bar_word: BarWord::Bar,
    };
    let text: Vec<String> = cards.iter().map(|card| card_text(card, how)).collect();
    fs::write(folder.join("card.txt"), text.join("\n")).unwrap();
    println!("{name}-{kind}: {} slots", whole.slots.len());
}

fn put(folder: &Path, document: &TypstSheet) {
    fs::create_dir_all(folder).unwrap();
    fs::write(folder.join("sheet.typ"), &document.source).unwrap();
    for (name, bytes) in &document.files {
        fs::write(folder.join(name), bytes).unwrap();
    }
}

/// An empty frame where an excerpt will stand: some 30 mm a bar, 14 mm high.
fn frame(slot: &Slot) -> Option<(String, Excerpt)> {
    std::env::var_os("FRAMES")?;
    let width = (f64::from(slot.to.0 - slot.from.0 + 1) * 34.0 + 12.0).min(slot.room_mm);
    let staff: String = (0..5)
        .map(|line| {
            format!(
                "<path d='M0 {0}H{width}' stroke='#000' stroke-width='.12'/>",
                5.0 + 1.25 * f64::from(line)
            )
        })
        .collect();
    let svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='{width}mm' height='15mm' viewBox='0 0 {width} 15'>{staff}</svg>"
    );
    Some((slot.id.clone(), Excerpt::of(svg)?))
}

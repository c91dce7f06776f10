//! How does a study read, in the terminal and on the page? One written out by hand, and demo pieces for five players.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test may fail"
)]

#[path = "studies/made.rs"]
mod made;
#[path = "studies/printed.rs"]
mod printed;

use instruments::Experience;
use load::{Player, Study, Wishes};
use notation::Piece;
use sheet::{BarWord, Composed, Row, Sheet, Terminal, compose, fingers, html, ladder, spots, terminal};
use std::path::{Path, PathBuf};
use survey::{Context, Options, Question, Survey};

/// A demo piece, surveyed and studied for the player of its part.
struct Studied {
    piece: Piece,
    survey: Survey,
    study: Study,
}

impl Studied {
    fn of(name: &str, experience: Experience) -> Self {
        let path = folder().join(format!("../../demo/pieces/{name}.musicxml"));
        let bytes = std::fs::read(&path).unwrap();
        let (piece, _) = formats::read(&bytes, &format!("{name}.musicxml")).unwrap();
        let survey = survey::survey(&piece, 0, &Question::ALL, &Options::default()).unwrap();
        let ctx = Context::new(&piece, 0).unwrap();
        let instrument = survey.instrument.as_ref().map(|found| found.instrument);
        let player = Player::usual(instrument, experience);
        let study = load::study(&ctx, &survey, &player, &Wishes::default());
        Self { piece, survey, study }
    }

    fn composed<'a>(&'a self, questions: &'a [Question], study: bool) -> Composed<'a> {
        Composed {
            piece: &self.piece,
            part: 0,
            survey: &self.survey,
            questions,
            findings: &[],
            fallback_title: "",
            study: study.then_some(&self.study),
        }
    }

    fn sheet(&self) -> Sheet {
        compose(&self.composed(&Question::ALL, true))
    }
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).to_path_buf()
}

fn text(sheet: &Sheet) -> String {
    let how = Terminal {
        width: 88,
        styled: false,
        bar_word: BarWord::Bar,
    };
    terminal(sheet, how)
}

/// Holds a text against the one kept. `FOREREAD_BLESS=1` writes it anew; read the diff.
fn check(file: &str, text: &str) {
    let kept = folder().join("tests/studies").join(file);
    if std::env::var_os("FOREREAD_BLESS").is_some() {
        std::fs::write(&kept, text).unwrap();
    }
    let expected = std::fs::read_to_string(&kept).unwrap_or_default();
    assert!(
        text == expected,
        "{file} changed; run with FOREREAD_BLESS=1 and read the diff"
    );
}

/// The study alone, without the twelve questions, which have their own tests.
fn study_only(sheet: &Sheet) -> Sheet {
    Sheet {
        sections: Vec::new(),
        look_first: None,
        ..sheet.clone()
    }
}

/// The page from its header on: the style has a file of its own.
fn body(page: &str) -> &str {
    page.split_once("<body>").map_or("", |(_, body)| body)
}

const DEMOS: [&str; 5] = [
    "sealed_door",
    "kite_weather",
    "town_hall_minuet",
    "winding_road",
    "causeway_at_dusk",
];

/// A study written out by hand reads so; what studies of real pieces say may change with what they weigh.
#[test]
fn a_study_reads_as_it_did() {
    for (name, id) in [
        ("oboe", "oboe"),
        ("trumpet", "trumpet-bb"),
        ("flute", "flute"),
        ("viola", "viola"),
    ] {
        let studied = made::studied(id);
        let sheet = study_only(&studied.sheet());
        check(&format!("{name}.txt"), &text(&sheet));
        if matches!(name, "oboe" | "viola") {
            check(&format!("{name}.html"), body(&html(&sheet, BarWord::Bar)));
        }
    }
}

/// Every word is the player's own word for a bar, labels included.
#[test]
fn measures_for_those_who_say_measures() {
    let how = Terminal {
        width: 88,
        styled: false,
        bar_word: BarWord::Measure,
    };
    let said = terminal(&study_only(&made::studied("oboe").sheet()), how);
    assert!(said.contains("  measure 4 ") && said.contains("into the downbeat of measure 3"));
    let bars = |line: &&str| {
        line.split(|c: char| !c.is_alphabetic())
            .any(|word| word == "bar" || word == "bars")
    };
    assert_eq!(said.lines().find(bars), None);
}

/// What is weighed inside is said in words.
#[test]
fn nothing_is_said_in_the_words_of_the_workshop() {
    for name in DEMOS {
        for experience in Experience::ALL {
            let studied = Studied::of(name, experience);
            let sheet = study_only(&studied.sheet());
            let page = html(&sheet, BarWord::Bar);
            for said in [text(&sheet), body(&page).to_owned()] {
                let words: Vec<String> = said
                    .split(|c: char| !c.is_alphabetic())
                    .map(str::to_lowercase)
                    .collect();
                for word in ["bits", "entropy", "cost", "costs", "weight", "nan", "inf"] {
                    assert!(!words.iter().any(|said| said == word), "{name}: {word}");
                }
            }
            assert!(text(&sheet).lines().all(|line| line.chars().count() <= 88));
        }
    }
}

#[test]
fn without_a_study_nothing_of_it_stands_on_the_sheet() {
    let studied = Studied::of("sealed_door", Experience::Student);
    let plain = compose(&studied.composed(&Question::ALL, false));
    assert!(plain.study.is_empty());
    assert!(plain.bars.iter().all(|bar| bar.asks.is_empty()));
    let page = html(&plain, BarWord::Bar);
    assert!(!page.contains("class=\"shade\"") && page.contains("The bars at a glance"));
    // A few questions are answered without the study's sections.
    let few = compose(&studied.composed(&[Question::Tempo], true));
    assert!(few.study.is_empty());
}

#[test]
fn the_first_tempo_is_the_players() {
    let studied = Studied::of("kite_weather", Experience::Student);
    let said = |study| {
        let sheet = compose(&studied.composed(&Question::ALL, study));
        let tempo = sheet
            .sections
            .iter()
            .find(|section| section.id == "tempo")
            .unwrap();
        let read_first = tempo.rows.iter().find_map(|row| match row {
            Row::Line { label, text, .. } if label == "read first" => Some(text.clone()),
            _ => None,
        });
        read_first.unwrap()
    };
    assert!(said(true).contains("for you"), "{}", said(true));
    assert!(!said(false).contains("for you"));
}

#[test]
fn each_command_has_its_own_small_sheet() {
    let studied = Studied::of("sealed_door", Experience::Intermediate);
    let what = studied.composed(&Question::ALL, true);
    let ids = |sheet: &Sheet| sheet.study.iter().map(|section| section.id).collect::<Vec<_>>();
    assert_eq!(ids(&spots(&what)), ["slowly-first", "spots"]);
    assert_eq!(ids(&fingers(&what)), ["fingers"]);
    assert_eq!(ids(&ladder(&what)), ["first-tempo"]);
    for small in [spots(&what), fingers(&what), ladder(&what)] {
        assert!(small.sections.is_empty() && !small.foot.is_empty());
    }
    // Strings have nothing on the whole sheet, and a plain word where they ask.
    let viola = Studied::of("winding_road", Experience::Intermediate);
    assert!(!ids(&viola.sheet()).contains(&"fingers"));
    let asked = fingers(&viola.composed(&Question::ALL, true));
    assert!(text(&asked).contains("fingerings are charted for winds only"));
}

/// Strings bow, winds breathe, and an oboe has two signs.
#[test]
fn commas_for_winds_and_bows_for_strings() {
    let said = |name| text(&study_only(&Studied::of(name, Experience::Intermediate).sheet()));
    let viola = said("winding_road");
    assert!(viola.contains("BOW IT LIKE THIS") && viola.contains("⊓ down") && !viola.contains("BREATHE"));
    let flute = said("kite_weather");
    assert!(flute.contains("    ,  before") && flute.contains("    (,)  before"));
    let oboe = said("sealed_door");
    assert!(oboe.contains("    out  before") && oboe.contains("    in   before"));
}

/// The metronome's marks begin at forty: a climb can't begin below them, and the sheet says so.
#[test]
fn a_climb_that_begins_above_the_first_tempo_says_so() {
    let mut studied = made::studied("flute");
    let said = |studied: &Studied| text(&ladder(&studied.composed(&Question::ALL, true)));
    assert!(!said(&studied).contains("before it"));
    studied.study.first.as_mut().unwrap().range.high = 36;
    assert!(said(&studied).contains("before it    The metronome's marks begin at"));
}

//! Is what she puts right kept at once, and does everything she wrote on the piece go along? On two systems of a demo piece as the press saw
//! them (`crates/pageread/fixtures`).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot set itself up has failed"
)]

use super::act::{kept, undone};
use super::stand;
use crate::serve::AppAsked;
use crate::state::App;
use job::{Answer, Letter};
use notation::Quarters;
use pageread::{Change, Doubt, Edit, Main, SignAt, System, assemble};
use std::path::PathBuf;
use store::{Bars, NewMark, NewPaper, NewPiece, PieceId};

const SEEN: &[u8] = include_bytes!("../../../pageread/fixtures/two-systems.letter");

fn systems() -> Vec<System> {
    let answer: Letter<Answer> = Letter::read(&mut &*SEEN).unwrap();
    let Answer::Seen(page) = answer.head else {
        panic!("the recorded answer is no page");
    };
    let seen = page.systems.iter().zip(&answer.blobs);
    seen.map(|(place, scores)| {
        let (fours, _) = scores.as_chunks::<4>();
        let scores: Vec<f32> = fours.iter().map(|four| f32::from_le_bytes(*four)).collect();
        System::new(0, place, &scores)
    })
    .collect()
}

struct House {
    app: App,
    home: PathBuf,
    piece: PieceId,
}

impl House {
    fn new(name: &str) -> Self {
        let home = std::env::temp_dir().join(format!("foreread-mending-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&home);
        let asked = AppAsked {
            home: Some(home.clone()),
            no_open: true,
            ..AppAsked::default()
        };
        let app = App::open(&asked, 1).unwrap().0;
        let (systems, read) = (systems(), assemble(&systems()));
        let new = NewPiece {
            title: "Read".to_owned(),
            file_name: "read.musicxml".to_owned(),
            bytes: desk::musicxml(&read.piece).0.into_bytes(),
            ..NewPiece::default()
        };
        let piece = app.store.add_piece(&new).unwrap().id;
        let document = serde_json::json!({ "version": 1, "systems": systems }).to_string();
        let paper = NewPaper {
            piece,
            file_name: "read.png".to_owned(),
            bytes: b"page".to_vec(),
            document,
            strips: vec![b"one".to_vec(), b"two".to_vec()],
        };
        app.store.add_paper(&paper).unwrap();
        Self { app, home, piece }
    }

    fn file(&self) -> String {
        String::from_utf8(self.app.store.piece_file(self.piece).unwrap()).unwrap()
    }

    fn notes(&self) -> Vec<SignAt> {
        let stand = stand(&self.app, self.piece.0).unwrap();
        let signs = stand.now.read.places.signs.iter();
        signs
            .filter(|sign| matches!(sign.main, Main::Note(_)))
            .map(|sign| sign.at)
            .collect()
    }
}

impl Drop for House {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.home);
    }
}

#[test]
fn what_is_put_right_is_in_the_piece_at_once_her_mark_stays_and_undo_brings_it_back() {
    let house = House::new("marks");
    let before = house.file();
    let row = house.app.store.piece(house.piece).unwrap();
    let music = Bars::of(&crate::pieces::open(&house.app, &row).unwrap().piece, 0);
    let hold = music
        .hold(5, Quarters::ZERO, notation::Pitch::parse("E5"))
        .unwrap();
    let mark = house
        .app
        .store
        .add_mark(house.piece, &NewMark::at("circle", hold))
        .unwrap();
    let note = house.notes()[0];
    let edit = Edit::Change {
        at: note,
        change: Change::Nothing,
    };
    let said = kept(&house.app, house.piece.0, &[edit]).unwrap();
    assert_eq!(
        (
            said.gestures,
            house.app.store.paper_edits(house.piece).unwrap().len()
        ),
        (1, 1)
    );
    assert_ne!(house.file(), before);
    let marks = house.app.store.marks(house.piece, None).unwrap();
    assert_eq!((marks[0].id, marks[0].from.bar), (mark.id, 5));
    let said = undone(&house.app, house.piece.0).unwrap();
    assert_eq!((said.gestures, house.file()), (0, before));
    assert_eq!(
        house.app.store.paper_edits(house.piece).unwrap().len(),
        1,
        "nothing is lost"
    );
}

#[test]
fn words_put_right_are_in_the_piece_at_once_and_the_folder_calls_it_by_its_title() {
    let house = House::new("words");
    let texts = || stand(&house.app, house.piece.0).unwrap().now.read.places.texts;
    let at = |holds: &str| texts().iter().find(|text| text.read.contains(holds)).unwrap().at;
    let row = house.app.store.piece(house.piece).unwrap();
    house.app.store.set_title(house.piece, "Foreread demo").unwrap();
    let music = Bars::of(&crate::pieces::open(&house.app, &row).unwrap().piece, 0);
    let hold = music
        .hold(5, Quarters::ZERO, notation::Pitch::parse("E5"))
        .unwrap();
    let new = NewMark::at("circle", hold);
    let mark = house.app.store.add_mark(house.piece, &new).unwrap();
    let before = house.file();
    let text = |at, text: Option<&str>, is, mark| Edit::Text {
        at,
        text: text.map(str::to_owned),
        is,
        mark,
    };
    let tempo = pageread::MetronomeSaid {
        note: 3,
        dots: 0,
        value: "40".to_owned(),
    };
    let edits = [
        text(at("Foreread demo"), Some("Abendlied"), None, None),
        text(at("58"), Some(""), None, Some(tempo)),
        text(at("Ruhig"), Some("Sehr ruhig"), None, None),
        Edit::AddText {
            system: 1,
            x: 400.0,
            text: "C".to_owned(),
            is: pageread::TextKind::Rehearsal,
            mark: None,
        },
    ];
    let said = kept(&house.app, house.piece.0, &edits).unwrap();
    assert_eq!(said.gestures, 1);
    assert!(
        said.changed.iter().any(|words| words.contains("“Abendlied”")),
        "{:?}",
        said.changed
    );
    let file = house.file();
    for there in [
        "Abendlied",
        "Sehr ruhig",
        "<beat-unit>half</beat-unit>",
        "<per-minute>40</per-minute>",
        ">C</rehearsal>",
    ] {
        assert!(file.contains(there), "{there}");
    }
    assert_eq!(house.app.store.piece(house.piece).unwrap().title, "Abendlied");
    let marks = house.app.store.marks(house.piece, None).unwrap();
    assert_eq!((marks[0].id, marks[0].from.bar), (mark.id, 5));
    undone(&house.app, house.piece.0).unwrap();
    assert_eq!(house.file(), before);
    assert_eq!(house.app.store.piece(house.piece).unwrap().title, "Foreread demo");
}

#[test]
fn a_clef_put_right_goes_for_the_lines_after_it_and_the_survey_says_what_changed() {
    let house = House::new("clef");
    let stand = stand(&house.app, house.piece.0).unwrap();
    let is_clef = |sign: &&pageread::ReadSign| matches!(sign.main, Main::Clef(_));
    let first = stand.now.read.places.signs.iter().find(is_clef).unwrap().at;
    let edit = Edit::Change {
        at: first,
        change: Change::Becomes(Main::try_from("clef:C4".to_owned()).unwrap()),
    };
    let said = kept(&house.app, house.piece.0, &[edit]).unwrap();
    assert!(
        said.changed.iter().any(|words| words.starts_with("Range now ")),
        "{:?}",
        said.changed
    );
    assert_eq!(said.gestures, 1, "one gesture, however many lines it is for");
    let file = house.file();
    assert_eq!(file.matches("<sign>C</sign>").count(), 1);
    assert!(!file.contains("<sign>G</sign>"));
}

#[test]
fn a_bar_that_does_not_add_up_is_asked_until_somebody_says_that_it_is_right() {
    let house = House::new("bar");
    let third = stand(&house.app, house.piece.0).unwrap();
    let signs = third.now.read.places.signs.iter();
    let mut in_third =
        signs.filter(|sign| matches!(sign.main, Main::Note(_)) && sign.bar.is_some_and(|bar| bar.0 == 2));
    let gone = in_third.next().unwrap().at;
    let said = kept(
        &house.app,
        house.piece.0,
        &[Edit::Change {
            at: gone,
            change: Change::Nothing,
        }],
    )
    .unwrap();
    let asked = said
        .places
        .iter()
        .find(|place| place.about == Doubt::Bar)
        .unwrap();
    assert_eq!((said.off, asked.bar), (1, Some(2)));
    assert!(
        said.changed
            .iter()
            .any(|words| words == "1 bar does not add up now.")
    );
    let at = SignAt {
        system: asked.system,
        number: asked.sign.unwrap(),
    };
    let right = Edit::Right {
        at,
        about: Doubt::Bar,
    };
    let said = kept(&house.app, house.piece.0, &[right]).unwrap();
    assert_eq!(said.off, 0);
    assert!(said.places.iter().all(|place| place.about != Doubt::Bar));
}

#[test]
fn each_place_takes_one_gesture() {
    let house = House::new("gestures");
    // Every other sign made doubtful, as a bad scan would.
    let mut systems = systems();
    let signs = systems.iter_mut().flat_map(|system| &mut system.seen.signs);
    for sign in signs.step_by(2) {
        sign.log = -1.2;
    }
    let document = serde_json::json!({ "version": 1, "systems": systems }).to_string();
    let mut new = house.app.store.paper(house.piece).unwrap().unwrap();
    new.document = document;
    let piece = house
        .app
        .store
        .add_piece(&NewPiece {
            title: "Doubtful".to_owned(),
            file_name: "doubtful.musicxml".to_owned(),
            bytes: desk::musicxml(&assemble(&systems).piece).0.into_bytes(),
            ..NewPiece::default()
        })
        .unwrap()
        .id;
    let paper = NewPaper {
        piece,
        file_name: "doubtful.png".to_owned(),
        bytes: b"page".to_vec(),
        document: new.document,
        strips: Vec::new(),
    };
    house.app.store.add_paper(&paper).unwrap();
    let mut said = super::said::said(&stand(&house.app, piece.0).unwrap());
    let places = said.places.len();
    assert!(places > 20, "{places}");
    let mut gestures = 0;
    while let Some(place) = said.places.first() {
        let edit = match (place.sign, place.mark) {
            (Some(number), _) => Edit::Right {
                at: SignAt {
                    system: place.system,
                    number,
                },
                about: place.about,
            },
            (None, Some((line, number))) => Edit::Beside {
                system: place.system,
                line,
                number,
                name: Some("p".to_owned()),
            },
            (None, None) => panic!("a place without a sign"),
        };
        said = kept(&house.app, piece.0, &[edit]).unwrap();
        gestures += 1;
    }
    assert_eq!(gestures, places);
}

/// The two systems with something else in them, as another piece from paper.
fn other(house: &House, change: impl FnOnce(&mut [System])) -> PieceId {
    let mut systems = systems();
    change(&mut systems);
    let new = NewPiece {
        title: "Other".to_owned(),
        file_name: "other.musicxml".to_owned(),
        bytes: desk::musicxml(&assemble(&systems).piece).0.into_bytes(),
        ..NewPiece::default()
    };
    let piece = house.app.store.add_piece(&new).unwrap().id;
    let paper = NewPaper {
        piece,
        file_name: "other.png".to_owned(),
        bytes: b"page".to_vec(),
        document: serde_json::json!({ "version": 1, "systems": systems }).to_string(),
        strips: Vec::new(),
    };
    house.app.store.add_paper(&paper).unwrap();
    piece
}

/// A sign above the staff as the reader would tell it.
fn mark(number: u32, x: f32, name: &str, sure: f32) -> serde_json::Value {
    serde_json::json!({ "number": number, "x": x, "name": name, "sure": sure })
}

#[test]
fn a_sign_that_was_left_out_is_printed_or_is_not() {
    let house = House::new("left-out");
    let doubtful = |systems: &mut [System]| {
        systems[0].seen.roads = vec![serde_json::from_value(mark(0, 300.0, "segno", 0.6)).unwrap()];
    };
    let segno = |piece: PieceId| {
        let file = house.app.store.piece_file(piece).unwrap();
        String::from_utf8(file).unwrap().contains("<segno")
    };
    let asked = |said: &super::said::Said| said.places.iter().position(|place| place.left_out.is_some());

    let piece = other(&house, doubtful);
    let said = super::said::said(&stand(&house.app, piece.0).unwrap());
    let place = &said.places[asked(&said).unwrap()];
    let (line, number, name) = place.left_out.unwrap();
    let (system, sign) = (place.system, place.sign.unwrap());
    assert!(!segno(piece));
    let printed = Edit::Beside {
        system,
        line,
        number,
        name: Some(name.to_owned()),
    };
    let said = kept(&house.app, piece.0, &[printed]).unwrap();
    assert!(segno(piece) && asked(&said).is_none());

    undone(&house.app, piece.0).unwrap();
    let right = Edit::Right {
        at: SignAt { system, number: sign },
        about: Doubt::Open,
    };
    let said = kept(&house.app, piece.0, &[right]).unwrap();
    assert!(!segno(piece) && asked(&said).is_none());
}

#[test]
fn a_bar_line_that_was_taken_for_another_is_that_once_it_is_said_to_be_right() {
    let house = House::new("bar-line");
    let bar = |name: &str| Main::try_from(name.to_owned()).unwrap();
    // Two endings over the second and third bar line; that of the second is read as a doubtful repeat.
    let piece = other(&house, |systems| {
        let signs = &mut systems[0].seen.signs;
        let lines = signs
            .iter_mut()
            .filter(|sign| matches!(sign.main, Main::Bar(_)))
            .take(3);
        let lines: Vec<_> = lines.collect();
        let ends: Vec<f32> = lines.iter().map(|line| line.x).collect();
        let [_, first, second] = <[_; 3]>::try_from(lines).unwrap_or_else(|_| panic!("three bars"));
        first.main = bar("bar:rep_end");
        (second.main, second.log) = (bar("bar:rep_end"), -0.5);
        let other = serde_json::json!({ "change": { "becomes": "bar:final" }, "sure": 0.3 });
        second.others = vec![serde_json::from_value(other).unwrap()];
        let marks = [
            mark(0, ends[0] + 5.0, "v1", 0.99),
            mark(1, ends[1], "vend", 0.99),
            mark(2, ends[1] + 5.0, "v2", 0.99),
            mark(3, ends[2], "vend", 0.99),
        ];
        systems[0].seen.roads = marks
            .into_iter()
            .map(|mark| serde_json::from_value(mark).unwrap())
            .collect();
    });
    let repeats = || {
        let file = house.app.store.piece_file(piece).unwrap();
        let text = String::from_utf8(file).unwrap();
        text.matches("direction=\"backward\"").count()
    };
    assert_eq!(repeats(), 1);
    let first = stand(&house.app, piece.0).unwrap();
    let (at, _) = first.now.read.instead[0];
    let asked = |said: &super::said::Said| {
        said.places
            .iter()
            .any(|place| (place.system, place.sign) == (at.system, Some(at.number)))
    };
    assert!(asked(&super::said::said(&first)));
    let about = Doubt::Sign;
    let said = kept(&house.app, piece.0, &[Edit::Right { at, about }]).unwrap();
    assert_eq!((repeats(), asked(&said)), (1, false));
    undone(&house.app, piece.0).unwrap();
    let change = Change::Becomes(bar("bar:rep_end"));
    let said = kept(&house.app, piece.0, &[Edit::Change { at, change }]).unwrap();
    assert_eq!((repeats(), asked(&said)), (2, false));
}

#[test]
fn a_piece_that_did_not_come_from_paper_has_no_such_screen() {
    let house = House::new("none");
    let other = house
        .app
        .store
        .add_piece(&NewPiece {
            title: "Other".to_owned(),
            file_name: "other.abc".to_owned(),
            bytes: b"X:1\nT:O\nK:C\nCDEF|\n".to_vec(),
            ..NewPiece::default()
        })
        .unwrap();
    assert!(kept(&house.app, other.id.0, &[]).is_err());
    let nobody = Edit::Change {
        at: SignAt { system: 7, number: 1 },
        change: Change::Nothing,
    };
    assert!(kept(&house.app, house.piece.0, &[nobody]).is_err());
    assert!(house.app.store.paper_edits(house.piece).unwrap().is_empty());
}

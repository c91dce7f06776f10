//! Is what the press engraves what was asked: every sign there with its own id, boxes and ink where the drawing has them, the
//! same bytes every time?
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot set itself up has failed"
)]

use job::{
    Answer, AskEngrave, AskInk, AskPdf, Breaks, Engraved, Ink, Letter, Rect, RefusalKind, Request,
    STAFF_HEIGHT, System, Weights,
};
use press::Press;
use std::collections::{BTreeMap, BTreeSet};

/// A demo piece: chords, grace notes, tuplets, slurs and hairpins over line ends, words above and below.
const MUSIC: &str = include_str!("../fixtures/kite_weather.mei");

fn ask() -> AskEngrave {
    AskEngrave {
        width: 18_000.0,
        breaks: Breaks::Flow,
        spacing: 1.0,
        weights: Weights::default(),
        ink: true,
    }
}

fn letter(mei: &str, ask: AskEngrave) -> Letter<Request> {
    Letter {
        head: Request::Engrave(ask),
        blobs: vec![mei.as_bytes().to_vec()],
    }
}

fn engrave(press: &mut Press, mei: &str, ask: AskEngrave) -> (Engraved, Vec<String>) {
    let answer = press.answer(letter(mei, ask));
    let Answer::Engraved(engraved) = answer.head else {
        panic!("{:?}", answer.head)
    };
    let svgs: Vec<String> = answer
        .blobs
        .into_iter()
        .map(|blob| String::from_utf8(blob).unwrap())
        .collect();
    assert_eq!(svgs.len(), engraved.systems.len() + 1);
    (engraved, svgs)
}

/// One bar of our own in 4/4.
fn part(bars: &[&str]) -> String {
    let bars: String = bars
        .iter()
        .enumerate()
        .map(|(index, bar)| {
            format!(
                "<measure xml:id=\"b{index}\" n=\"{}\"><staff n=\"1\"><layer n=\"1\">{bar}</layer></staff></measure>",
                index + 1
            )
        })
        .collect();
    format!(
        "<mei xmlns=\"http://www.music-encoding.org/ns/mei\" meiversion=\"5.0\"><meiHead/><music><body><mdiv><score><scoreDef>\
         <staffGrp><staffDef n=\"1\" lines=\"5\" clef.shape=\"G\" clef.line=\"2\" meter.count=\"4\" meter.unit=\"4\"/></staffGrp>\
         </scoreDef><section>{bars}</section></score></mdiv></body></music></mei>"
    )
}

const BAR: &str = "<note xml:id=\"n1\" pname=\"g\" oct=\"4\" dur=\"4\" dots=\"1\"><artic artic=\"acc\"/></note>\
                   <note xml:id=\"n2\" pname=\"c\" oct=\"6\" dur=\"8\"/><note xml:id=\"n3\" pname=\"b\" oct=\"4\" dur=\"2\"/>";

#[test]
fn every_note_and_bar_of_the_music_has_its_box_and_its_place_in_the_drawing() {
    let (engraved, svgs) = engrave(&mut Press::default(), MUSIC, ask());
    assert_eq!(engraved.complaints, Vec::<String>::new());
    let ids = |element: &str| -> BTreeSet<String> {
        MUSIC
            .split(&format!("<{element} xml:id=\""))
            .skip(1)
            .map(|after| after.split('"').next().unwrap().to_owned())
            .collect()
    };
    let boxed = |class: &str| -> BTreeSet<String> {
        let boxes = engraved.systems.iter().flat_map(|system| &system.boxes);
        boxes
            .filter(|boxed| boxed.class == class)
            .map(|boxed| boxed.id.clone())
            .collect()
    };
    for (element, least) in [("note", 100), ("measure", 46)] {
        assert!(ids(element).len() >= least);
        assert_eq!(ids(element), boxed(element), "{element}");
    }
    let drawing = svgs.concat();
    for id in ids("note") {
        assert!(drawing.contains(&format!("id=\"{id}\"")), "{id}");
    }
}

#[test]
fn boxes_lie_in_their_systems_and_staves_are_as_high_as_agreed() {
    let (engraved, _) = engrave(&mut Press::default(), MUSIC, ask());
    let mut bottom = f64::NEG_INFINITY;
    for system in &engraved.systems {
        assert!((system.staff.h - STAFF_HEIGHT).abs() < 1e-9);
        assert!(system.bounds.y > bottom, "systems come from the top");
        bottom = system.bounds.bottom();
        for boxed in &system.boxes {
            let all = system.bounds.around(&boxed.rect);
            // The staff lines' own boxes lie in the middle of their thickness.
            assert!(
                near(&all, &system.bounds),
                "{boxed:?} reaches out of {:?}",
                system.bounds
            );
            assert!(
                boxed.measure.is_empty() || MUSIC.contains(&format!("<measure xml:id=\"{}\"", boxed.measure))
            );
        }
    }
}

fn near(one: &Rect, other: &Rect) -> bool {
    [one.x - other.x, one.y - other.y, one.w - other.w, one.h - other.h]
        .iter()
        .all(|by| by.abs() < 0.01)
}

/// A note's box is its head alone: as high as a staff space, wherever its stem, dot and accent are.
///
/// Source: SMuFL 1.40, "Noteheads": a head fills the space between two lines.
#[test]
fn a_notes_box_is_its_head() {
    let (engraved, _) = engrave(&mut Press::default(), &part(&[BAR]), ask());
    let boxes = &engraved.systems[0].boxes;
    let of = |class: &str| {
        boxes
            .iter()
            .filter(|boxed| boxed.class == class)
            .map(|boxed| boxed.rect)
            .collect::<Vec<_>>()
    };
    let (notes, stems, dots, accents) = (of("note"), of("stem"), of("dots"), of("artic"));
    assert_eq!(
        (notes.len(), stems.len(), dots.len(), accents.len()),
        (3, 3, 1, 1)
    );
    for note in &notes {
        assert!((note.h - job::STAFF_SPACE).abs() < 20.0, "{note:?}");
        assert!(note.w > job::STAFF_SPACE && note.w < 1.5 * job::STAFF_SPACE);
    }
    assert!(stems[0].h > 3.0 * job::STAFF_SPACE);
    assert!(dots[0].x >= notes[0].right());
    // G4 lies on the second line: two spaces below the middle line, and the staff is four spaces high.
    let staff = engraved.systems[0].staff;
    let middle = notes[0].y + notes[0].h / 2.0;
    assert!((middle - (staff.y + 3.0 * job::STAFF_SPACE)).abs() < 3.0);
}

#[test]
fn the_same_music_gives_the_same_bytes_warm_or_cold_and_whatever_came_between() {
    let mut press = Press::default();
    let bytes = |press: &mut Press, mei: &str| {
        let mut bytes = Vec::new();
        press.answer(letter(mei, ask())).write(&mut bytes).unwrap();
        bytes
    };
    let first = bytes(&mut press, MUSIC);
    bytes(&mut press, &part(&[BAR, BAR]));
    assert_eq!(bytes(&mut press, MUSIC), first);
    assert_eq!(bytes(&mut Press::default(), MUSIC), first);
}

/// The fast map against the slow twin: the same system drawn as pixels, eight to a cell's side. Every cell with an inked pixel
/// must be in the map, and every cell of the map must be one of these or beside one.
#[test]
fn the_map_of_ink_is_that_of_the_drawing() {
    let mut press = Press::default();
    let (engraved, svgs) = engrave(&mut press, MUSIC, ask());
    let mut seen = 0;
    for (system, svg) in engraved.systems.iter().zip(&svgs[1..]) {
        let fast = system.ink.as_ref().unwrap();
        let columns = usize::try_from(fast.columns).unwrap();
        let slow = drawn(&mut press, fast, &svgs[0], svg);
        for (index, (fast, inked)) in fast.cells().iter().zip(&slow).enumerate() {
            let (row, column) = (index / columns, index % columns);
            assert!(
                *fast || !inked,
                "ink at column {column}, row {row} is not in the map"
            );
            assert!(
                !fast || beside(&slow, columns, row, column),
                "no ink near column {column}, row {row}"
            );
            seen += usize::from(*inked);
        }
    }
    assert!(seen > 10_000, "{seen} cells of ink are too few for a page");
}

/// The cells of the map as pixels show them.
fn drawn(press: &mut Press, map: &Ink, defs: &str, svg: &str) -> Vec<bool> {
    const FINER: usize = 4;
    let (wide, high) = (f64::from(map.columns) * map.cell, f64::from(map.rows) * map.cell);
    let picture = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}\" height=\"{high}\" viewBox=\"{} {} {wide} {high}\">\
         {defs}{svg}</svg>",
        map.x, map.y
    );
    let answer = press.answer(Letter {
        head: Request::Ink(AskInk {
            cell: map.cell / f64::from(u32::try_from(FINER).unwrap()),
        }),
        blobs: vec![picture.into_bytes()],
    });
    let Answer::Ink(ink) = answer.head else {
        panic!("{:?}", answer.head)
    };
    let (columns, rows) = (
        usize::try_from(map.columns).unwrap(),
        usize::try_from(map.rows).unwrap(),
    );
    assert_eq!(usize::try_from(ink.columns).unwrap(), columns * FINER);
    let mut cells = vec![false; columns * rows];
    for (index, _) in ink.cells().iter().enumerate().filter(|(_, inked)| **inked) {
        cells[index / (columns * FINER) / FINER * columns + index % (columns * FINER) / FINER] = true;
    }
    cells
}

fn beside(cells: &[bool], columns: usize, row: usize, column: usize) -> bool {
    (row.saturating_sub(1)..=row + 1).any(|row| {
        (column.saturating_sub(1)..=(column + 1).min(columns - 1))
            .any(|column| cells.get(row * columns + column) == Some(&true))
    })
}

#[test]
fn nothing_in_the_drawing_offends_a_strict_content_security_policy() {
    let (_, svgs) = engrave(&mut Press::default(), MUSIC, ask());
    let all = svgs.concat();
    for forbidden in [
        " style=", "<style", "<script", "xlink:", "http://", "onload", "bbox",
    ] {
        assert!(!all.contains(forbidden), "{forbidden}");
    }
}

#[test]
fn lines_end_where_they_are_asked_to() {
    let mut press = Press::default();
    let bars = part(&[BAR; 24]);
    let marked = bars
        .replacen("<measure xml:id=\"b5\"", "<pb/><measure xml:id=\"b5\"", 1)
        .replacen("<measure xml:id=\"b9\"", "<sb/><measure xml:id=\"b9\"", 1);
    let mut lines = |mei: &str, breaks: Breaks| -> Vec<usize> {
        let (engraved, _) = engrave(&mut press, mei, AskEngrave { breaks, ..ask() });
        let count = |system: &System| {
            system
                .boxes
                .iter()
                .filter(|boxed| boxed.class == "measure")
                .count()
        };
        engraved.systems.iter().map(count).collect()
    };
    let flow = lines(&bars, Breaks::Flow);
    assert!(flow.len() > 2 && flow.iter().sum::<usize>() == 24, "{flow:?}");
    assert_eq!(lines(&marked, Breaks::Flow), flow, "marks count for nothing");
    assert_eq!(lines(&marked, Breaks::AsMarked), [5, 4, 15]);
    assert_eq!(
        lines(&bars, Breaks::AsMarked),
        [24],
        "without a mark it is one line"
    );
    assert_eq!(lines(&marked, Breaks::OneLine), [24]);
    let both = lines(&marked, Breaks::MarkedAndFlow);
    assert_eq!(both[..2], [5, 4]);
    assert!(both.len() > 3 && both.iter().sum::<usize>() == 24, "{both:?}");
}

#[test]
fn one_line_is_as_long_as_it_needs() {
    let mut press = Press::default();
    let mut width = |bars: usize| {
        let ask = AskEngrave {
            breaks: Breaks::OneLine,
            ..ask()
        };
        engrave(&mut press, &part(&vec![BAR; bars]), ask).0.systems[0]
            .bounds
            .w
    };
    assert!(width(1) < 6_000.0);
    assert!(width(16) > 20_000.0);
}

#[test]
fn lines_get_as_thick_and_notes_as_far_apart_as_asked() {
    let mut press = Press::default();
    let of = |press: &mut Press, ask: AskEngrave| engrave(press, &part(&[BAR; 12]), ask);
    let pens = |svg: &str, class: &str| -> f64 {
        let after = svg.split(&format!("class=\"{class}\"><path")).nth(1).unwrap();
        let pen = after.split("stroke-width=\"").nth(1).unwrap();
        pen.split('"').next().unwrap().parse().unwrap()
    };
    let (usual, usual_svgs) = of(&mut press, ask());
    let mut thick = ask();
    thick.weights = Weights {
        staff: 2.0,
        stem: 2.0,
        barline: 2.0,
        ..Weights::default()
    };
    let (_, thick_svgs) = of(&mut press, thick);
    for class in ["staff", "stem", "barLine"] {
        let ratio = pens(&thick_svgs[1], class) / pens(&usual_svgs[1], class);
        assert!((ratio - 2.0).abs() < 0.15, "{class}: {ratio}");
    }
    let (wide, _) = of(
        &mut press,
        AskEngrave {
            spacing: 2.0,
            ..ask()
        },
    );
    assert!(wide.systems.len() > usual.systems.len());
}

#[test]
fn small_signs_grow_where_they_stand() {
    let mut press = Press::default();
    let mut accent = |small_signs: f64| -> (Rect, Rect) {
        let weights = Weights {
            small_signs,
            ..Weights::default()
        };
        let (engraved, _) = engrave(&mut press, &part(&[BAR]), AskEngrave { weights, ..ask() });
        let of = |class: &str| {
            engraved.systems[0]
                .boxes
                .iter()
                .find(|boxed| boxed.class == class)
                .unwrap()
                .rect
        };
        (of("artic"), of("note"))
    };
    let ((usual, note), (large, large_note)) = (accent(1.0), accent(1.4));
    assert_eq!(note, large_note);
    assert!((large.w / usual.w - 1.4).abs() < 0.01 && (large.h / usual.h - 1.4).abs() < 0.01);
    assert!(!large.meets(&note));
}

/// The box of each class that words have, which the engraver doesn't measure itself.
#[test]
fn words_have_boxes_as_wide_as_they_are_printed() {
    let (engraved, _) = engrave(&mut Press::default(), MUSIC, ask());
    let mut widths: BTreeMap<&str, f64> = BTreeMap::new();
    for boxed in engraved.systems.iter().flat_map(|system| &system.boxes) {
        if ["dir", "tempo", "mNum", "label"].contains(&boxed.class.as_str()) {
            assert!(boxed.rect.w > 50.0 && boxed.rect.h > 50.0, "{boxed:?}");
            let widest = widths.entry(boxed.class.as_str()).or_default();
            *widest = widest.max(boxed.rect.w);
        }
    }
    assert!(
        widths.contains_key("dir") && widths.contains_key("mNum"),
        "{widths:?}"
    );
    assert!(widths["dir"] > 3.0 * widths["mNum"]);
}

#[test]
fn music_that_is_none_is_refused_in_words() {
    let mut press = Press::default();
    let empty = part(&[]);
    let cut = &MUSIC[..MUSIC.len() / 2];
    let cases = [
        ("", "it is no whole MEI document"),
        ("hello", "it is no whole MEI document"),
        (cut, "it is no whole MEI document"),
        (
            "<mei xmlns=\"http://www.music-encoding.org/ns/mei\"/>",
            "the engraver could not read the music",
        ),
        (empty.as_str(), "there is no music in the part"),
    ];
    for (mei, what) in cases {
        let answer = press.answer(letter(mei, ask()));
        let Answer::Refused(refusal) = answer.head else {
            panic!("{:?}", answer.head)
        };
        assert_eq!(refusal.kind, RefusalKind::Music);
        assert!(refusal.what.starts_with(what), "{}", refusal.what);
    }
    // The press is as good as new.
    engrave(&mut press, MUSIC, ask());
}

#[test]
fn a_request_without_its_music_or_with_senseless_numbers_is_refused() {
    let mut press = Press::default();
    let mut refused = |letter: Letter<Request>| match press.answer(letter).head {
        Answer::Refused(refusal) => assert_eq!(refusal.kind, RefusalKind::Request, "{}", refusal.what),
        other => panic!("{other:?}"),
    };
    refused(Letter::bare(Request::Engrave(ask())));
    refused(letter(
        MUSIC,
        AskEngrave {
            width: f64::NAN,
            ..ask()
        },
    ));
    refused(letter(MUSIC, AskEngrave { width: 1e12, ..ask() }));
    refused(letter(
        MUSIC,
        AskEngrave {
            spacing: 0.0,
            ..ask()
        },
    ));
    refused(Letter {
        head: Request::Engrave(ask()),
        blobs: vec![vec![0xff, 0xfe]],
    });
    let pdf = |sizes_mm| {
        Request::Pdf(AskPdf {
            sizes_mm,
            title: String::new(),
            author: String::new(),
            language: String::new(),
        })
    };
    refused(Letter::bare(pdf(vec![])));
    refused(Letter {
        head: pdf(vec![(0.0, f64::INFINITY)]),
        blobs: vec![b"<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1\" height=\"1\"/>".to_vec()],
    });
}

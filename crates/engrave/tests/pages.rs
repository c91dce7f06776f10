//! Pages laid out from a recorded answer of the press: what stands on them, where, and the same every time.
//!
//! `fixtures/recorded/two-lines.letter` is what the press answered for [`TWO_LINES`] in large print. Record it again if the
//! protocol changes; `FOREREAD_BLESS=1` rewrites the skeleton.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot set itself up has failed"
)]

use engrave::{Edition, Laid, Look, Paper, Printable, lay_out, page_layers, to_job};
use job::{Answer, Engraved, Letter, Rect, System};
use notation::{Anchor, Id, PencilMark, PencilSign, Piece, sketch};
use proptest::prelude::*;
use std::path::PathBuf;

const TWO_LINES: &str = "key:1 metre:4/4 \"Andante\" mm:q=72 @p ( G4/q A4/q B4/h ) | C5/q B4/q A4/h!fermata | @f G4/h r/h | \
                         reh:A D5/q < C5/q B4/q A4/q | G4/w . | E5/q!staccato D5/q C5/h | R | G4/w |.";

struct Recorded {
    piece: Piece,
    look: Look,
    printable: Printable,
    engraved: Engraved,
    svgs: Vec<String>,
}

fn recorded() -> Recorded {
    let mut piece = sketch(TWO_LINES).unwrap();
    piece.credits.title = Some("Two Lines & a <Rest>".to_owned());
    let look = Look::of(Edition::LargePrint);
    let printable = to_job(&piece, &look);
    let mut bytes = include_bytes!("../fixtures/recorded/two-lines.letter").as_slice();
    let letter: Letter<Answer> = Letter::read(&mut bytes).unwrap();
    let Answer::Engraved(engraved) = letter.head else {
        panic!("the recorded answer is another one")
    };
    let svgs = letter
        .blobs
        .into_iter()
        .map(|blob| String::from_utf8(blob).unwrap())
        .collect();
    Recorded {
        piece,
        look,
        printable,
        engraved,
        svgs,
    }
}

impl Recorded {
    fn laid(&self, marks: &[PencilMark]) -> Laid {
        lay_out(
            &self.piece,
            &self.look,
            &self.printable,
            &self.engraved,
            &self.svgs,
            marks,
        )
    }
}

fn circle(piece: &Piece, event: usize) -> PencilMark {
    let event = &piece.parts[0].events[event];
    let from = Anchor {
        place: event.place,
        element: Some(event.id),
    };
    PencilMark::new(PencilSign::Circle, from, "It is the first of its kind.")
}

#[test]
fn everything_written_has_its_place_inside_the_margins() {
    let recorded = recorded();
    let laid = recorded.laid(&[]);
    assert_eq!(laid.findings, [], "nothing is lost, nothing to turn");
    let part = &recorded.piece.parts[0];
    let ids = part
        .events
        .iter()
        .map(|event| event.id)
        .chain(part.directions.iter().map(|direction| direction.id));
    let page = &laid.pages[0];
    for id in ids
        .chain(part.spans.iter().map(|span| span.id))
        .chain(recorded.piece.bars.iter().map(|bar| bar.id))
    {
        let spots = laid
            .places
            .of
            .get(&id)
            .unwrap_or_else(|| panic!("{id} stands nowhere"));
        for spot in spots {
            let Rect { x, y, .. } = spot.rect_mm;
            assert!(
                x > 10.0 && spot.rect_mm.right() < page.width_mm - 10.0,
                "{id}: {:?}",
                spot.rect_mm
            );
            assert!(
                y > 10.0 && spot.rect_mm.bottom() < page.height_mm - 10.0,
                "{id}: {:?}",
                spot.rect_mm
            );
        }
    }
}

#[test]
fn notes_follow_each_other_as_they_are_read() {
    let recorded = recorded();
    let laid = recorded.laid(&[]);
    let spots: Vec<(usize, usize, f64)> = recorded.piece.parts[0]
        .events
        .iter()
        .map(|event| laid.places.of[&event.id][0])
        .map(|spot| (spot.page, spot.system, spot.rect_mm.x))
        .collect();
    assert!(spots.windows(2).all(|pair| pair[0] < pair[1]), "{spots:?}");
}

#[test]
fn large_print_has_staves_of_fourteen_millimetres() {
    let recorded = recorded();
    let laid = recorded.laid(&[]);
    assert_eq!((laid.pages[0].width_mm, laid.pages[0].height_mm), (297.0, 210.0));
    let bar = recorded.piece.bars[1].id;
    assert!((laid.places.of[&bar][0].rect_mm.h - 14.0).abs() < 1e-6);
}

#[test]
fn the_same_page_every_time() {
    let (one, other) = (recorded(), recorded());
    let marks = [circle(&one.piece, 4)];
    assert_eq!(one.laid(&marks), other.laid(&marks));
}

#[test]
fn layers_hold_what_they_should_and_together_everything() {
    let recorded = recorded();
    let laid = recorded.laid(&[circle(&recorded.piece, 4)]);
    let (music, pencil) = page_layers(&laid.pages[0]);
    assert!(music.contains("class=\"system\"") && !music.contains("class=\"mark"));
    assert!(!pencil.contains("class=\"system\"") && pencil.contains("class=\"mark"));
    for layer in [&music, &pencil] {
        let document = roxmltree::Document::parse(layer).unwrap();
        assert_eq!(
            document.root_element().attribute("viewBox"),
            Some(view_box(&laid.pages[0].svg).as_str())
        );
    }
}

fn view_box(svg: &str) -> String {
    roxmltree::Document::parse(svg)
        .unwrap()
        .root_element()
        .attribute("viewBox")
        .unwrap()
        .to_owned()
}

#[test]
fn a_page_needs_nothing_beside_it_and_carries_no_inline_style() {
    let recorded = recorded();
    let svg = &recorded.laid(&[circle(&recorded.piece, 4)]).pages[0].svg;
    let document = roxmltree::Document::parse(svg).unwrap();
    let defined: Vec<&str> = document
        .descendants()
        .filter_map(|node| node.attribute("id"))
        .collect();
    for node in document.descendants() {
        assert_eq!(node.attribute("style"), None);
        if let Some(to) = node.attribute("href") {
            assert!(
                defined.contains(&to.trim_start_matches('#')),
                "{to} is defined nowhere"
            );
        }
    }
    let title = document
        .descendants()
        .find(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "title")))
        .unwrap();
    assert_eq!(title.text(), Some("Two Lines & a <Rest> · Sketch, page 1 of 1"));
}

/// The page without its numbers: elements, classes and words.
fn skeleton(svg: &str) -> String {
    let document = roxmltree::Document::parse(svg).unwrap();
    let mut out = String::new();
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        let name = node.tag_name().name();
        if matches!(name, "path" | "use" | "tspan" | "defs" | "style")
            || node
                .ancestors()
                .any(|a| a.has_tag_name(("http://www.w3.org/2000/svg", "defs")))
        {
            continue;
        }
        let depth = node.ancestors().count() - 2;
        let class = node.attribute("class").unwrap_or("");
        let words: String = if name == "text" || name == "title" {
            node.descendants()
                .filter(roxmltree::Node::is_text)
                .filter_map(|text| text.text())
                .collect()
        } else {
            String::new()
        };
        out.push_str(format!("{}{name} {class} {words}", "  ".repeat(depth)).trim_end());
        out.push('\n');
    }
    out
}

#[test]
fn the_skeleton_of_a_page() {
    let recorded = recorded();
    let found = skeleton(&recorded.laid(&[]).pages[0].svg);
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/recorded/two-lines.expected.txt");
    if std::env::var_os("FOREREAD_BLESS").is_some() {
        std::fs::write(&path, &found).unwrap();
    }
    assert_eq!(found, std::fs::read_to_string(&path).unwrap());
}

#[test]
fn nothing_engraved_is_one_empty_page() {
    let mut recorded = recorded();
    recorded.engraved.systems.clear();
    let laid = recorded.laid(&[]);
    assert_eq!(laid.pages.len(), 1);
    assert!(
        laid.findings
            .iter()
            .all(|finding| finding.kind == "not-engraved" || finding.what.is_empty())
    );
}

/// So many systems with so much above and below, one bar in each.
fn synthetic(heights: &[(f64, f64)]) -> (Piece, Engraved, Vec<String>) {
    let piece = sketch(&"C5/w | ".repeat(heights.len())).unwrap();
    let mut systems = Vec::new();
    let mut at = 0.0;
    for ((above, below), bar) in heights.iter().zip(&piece.bars) {
        let staff = Rect {
            x: 0.0,
            y: at + above,
            w: 18_000.0,
            h: 720.0,
        };
        let measure = job::Boxed {
            id: bar.id.to_string(),
            class: "measure".to_owned(),
            measure: bar.id.to_string(),
            rect: staff,
        };
        let ink = |y: f64, h: f64| job::Boxed {
            id: String::new(),
            class: "slur".to_owned(),
            measure: bar.id.to_string(),
            rect: Rect {
                x: 100.0,
                y,
                w: 50.0,
                h,
            },
        };
        systems.push(System {
            bounds: staff,
            staff,
            boxes: vec![measure, ink(at, *above), ink(staff.bottom(), *below)],
            ink: None,
        });
        at = staff.bottom() + below + 720.0;
    }
    let svgs = vec!["<g class=\"system\"/>".to_owned(); heights.len() + 1];
    let engraved = Engraved {
        systems,
        complaints: Vec::new(),
    };
    (piece, engraved, svgs)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    #[test]
    fn systems_stand_in_order_inside_their_pages(
        heights in prop::collection::vec((0.0..1500.0, 0.0..1500.0), 1..40),
        letter in any::<bool>(),
        landscape in any::<bool>(),
        double_sided in any::<bool>(),
    ) {
        let (piece, engraved, svgs) = synthetic(&heights);
        let mut look = Look::of(Edition::Clean);
        look.paper = if letter { Paper::Letter } else { Paper::A4 };
        (look.landscape, look.double_sided) = (landscape, double_sided);
        let printable = to_job(&piece, &look);
        let laid = lay_out(&piece, &look, &printable, &engraved, &svgs, &[]);
        let bars: Vec<Id> = piece.bars.iter().map(|bar| bar.id).collect();
        let spots: Vec<_> = bars.iter().map(|bar| {
            let spots = &laid.places.of[bar];
            assert_eq!(spots.len(), 1, "each system stands once");
            spots[0]
        }).collect();
        for (spot, (above, below)) in spots.iter().zip(&heights) {
            let page = &laid.pages[spot.page];
            let mm = look.staff_height_mm / 720.0;
            prop_assert!(spot.rect_mm.y - above * mm >= 11.9, "too high: {spot:?}");
            prop_assert!(spot.rect_mm.bottom() + below * mm <= page.height_mm - 14.9, "too low: {spot:?}");
        }
        for (pair, heights) in spots.windows(2).zip(heights.windows(2)) {
            let mm = look.staff_height_mm / 720.0;
            let white = pair[1].rect_mm.y - heights[1].0 * mm - pair[0].rect_mm.bottom() - heights[0].1 * mm;
            prop_assert!(pair[0].page < pair[1].page || white > 0.5, "systems meet: {white} mm");
        }
        prop_assert_eq!(spots.last().map(|spot| spot.page + 1), Some(laid.pages.len()));
    }
}

#[test]
fn a_turn_in_the_middle_of_music_is_told_with_its_bar() {
    let (piece, engraved, svgs) = synthetic(&[(600.0, 600.0); 36]);
    let look = Look::of(Edition::Clean);
    let printable = to_job(&piece, &look);
    let laid = lay_out(&piece, &look, &printable, &engraved, &svgs, &[]);
    assert!(laid.pages.len() > 2);
    let turns: Vec<_> = laid
        .findings
        .iter()
        .filter(|finding| finding.kind == "page-turn")
        .collect();
    assert_eq!(turns.len(), (laid.pages.len() - 1) / 2, "{:?}", laid.findings);
    let first_of_third = piece
        .bars
        .iter()
        .position(|bar| laid.places.of[&bar.id][0].page == 2)
        .unwrap();
    assert_eq!(turns[0].bar.map(|bar| bar.get()), Some(first_of_third));
    assert!(turns[0].advice.contains("local law"));
}

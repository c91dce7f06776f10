//! Marks on systems whose boxes and ink are known.

use super::field::{Field, May};
use super::pen::Pen;
use super::scene::Scene;
use super::signs;
use super::{Drawn, encloses, place, place_told};
use crate::look::{Edition, Look};
use job::{Boxed, Ink, Rect, System};
use notation::{
    Anchor, BarIndex, Event, NoteValue, PencilMark, PencilPicture, PencilSign, Piece, Place, Quarters,
    SmallNote, Written, sketch,
};
use proptest::prelude::*;
use std::collections::BTreeSet;

const LEFT: f64 = 1000.0;
const TOP: f64 = 1500.0;

fn rect(x: f64, y: f64, w: f64, h: f64) -> Rect {
    Rect { x, y, w, h }
}

/// A system as an engraver would draw it: bars of equal width, notes by their offset, heads by their pitch in the treble clef,
/// stems, accidentals; its ink is what is in the boxes and on the lines.
fn engraved(piece: &Piece, bar_width: f64, more: &[Rect]) -> System {
    let mut boxes = Vec::new();
    let mut ink: Vec<Rect> = more.to_vec();
    let part = &piece.parts[0];
    let bars = piece.bars.len();
    let width = bar_width * f64::from(u32::try_from(bars).unwrap());
    for line in 0..5 {
        ink.push(rect(LEFT, TOP + f64::from(line) * 180.0 - 6.5, width, 13.0));
    }
    let mut add = |id: String, class: &str, measure: &str, r: Rect, inked: bool| {
        boxes.push(Boxed {
            id,
            class: class.to_owned(),
            measure: measure.to_owned(),
            rect: r,
        });
        if inked {
            ink.push(r);
        }
    };
    for (index, bar) in piece.bars.iter().enumerate() {
        let x = LEFT + bar_width * f64::from(u32::try_from(index).unwrap());
        let id = bar.id.to_string();
        add(id.clone(), "measure", &id, rect(x, TOP, bar_width, 720.0), false);
        add(
            format!("{id}-s1"),
            "staff",
            &id,
            rect(x, TOP - 6.5, bar_width, 733.0),
            false,
        );
        add(
            format!("{id}-line"),
            "barLine",
            &id,
            rect(x + bar_width - 27.0, TOP - 13.0, 27.0, 746.0),
            true,
        );
        for event in part.bar_events(BarIndex::from_usize(index)) {
            let along = event.place.offset.to_f64() / bar.length.to_f64().max(0.25);
            let at = x + 330.0 + along * (bar_width - 600.0);
            let Some(pitch) = event.top_pitch() else {
                add(
                    event.id.to_string(),
                    "rest",
                    &id,
                    rect(at, TOP + 90.0, 193.0, 538.0),
                    true,
                );
                continue;
            };
            // The bottom line is E4.
            let y = TOP + 720.0 - f64::from(pitch.diatonic() - 30) * 90.0 - 90.0;
            add(event.id.to_string(), "note", &id, rect(at, y, 212.0, 180.0), true);
            add(
                format!("{}-stem", event.id),
                "stem",
                &id,
                rect(at + 194.0, y - 530.0, 18.0, 600.0),
                true,
            );
            for head in event.heads().iter().filter(|head| head.accidental.is_some()) {
                add(
                    format!("{}-accid", head.id),
                    "accid",
                    &id,
                    rect(at - 223.0, y - 160.0, 179.0, 502.0),
                    true,
                );
            }
        }
    }
    let bounds = ink.iter().copied().reduce(|a, b| a.around(&b)).unwrap();
    System {
        bounds,
        staff: rect(LEFT, TOP, width, 720.0),
        boxes,
        ink: Some(inked(&bounds, &ink)),
    }
}

fn inked(bounds: &Rect, ink: &[Rect]) -> Ink {
    let cell = job::INK_CELL;
    let whole = |length: f64| u32::try_from(super::sketch::index(length, cell).max(0)).unwrap();
    let (columns, rows) = (whole(bounds.w) + 1, whole(bounds.h) + 1);
    let mut cells = vec![false; (columns * rows) as usize];
    for one in ink {
        let span = |from: f64, to: f64, most: u32| whole(from)..=whole(to).min(most - 1);
        for row in span(one.y - bounds.y, one.bottom() - bounds.y, rows) {
            for column in span(one.x - bounds.x, one.right() - bounds.x, columns) {
                cells[(row * columns + column) as usize] = true;
            }
        }
    }
    Ink::from_cells((bounds.x, bounds.y), cell, columns, rows, cells)
}

fn at_event(event: &Event) -> Anchor {
    Anchor {
        place: event.place,
        element: Some(event.id),
    }
}

fn at_bar(piece: &Piece, bar: usize, end: bool) -> Anchor {
    let offset = if end {
        piece.bars[bar].length
    } else {
        Quarters::ZERO
    };
    Anchor {
        place: Place {
            bar: BarIndex::from_usize(bar),
            offset,
        },
        element: None,
    }
}

/// A mark of a sign at the nth event (and its bar).
fn mark(piece: &Piece, sign: PencilSign, nth: usize) -> PencilMark {
    let events = &piece.parts[0].events;
    let event = &events[nth % events.len()];
    let bar = event.place.bar.get();
    let mut mark = PencilMark::new(sign, at_event(event), "It says why.");
    let beats: Vec<Place> = piece.parts[0]
        .bar_events(event.place.bar)
        .iter()
        .map(|event| event.place)
        .collect();
    match sign {
        PencilSign::SpotBracket | PencilSign::RepeatHook => {
            mark.from = at_bar(piece, bar, false);
            mark.to = Some(at_bar(piece, bar, true));
        }
        PencilSign::BeatStrokes => mark.at = beats.into_iter().map(|place| (place, String::new())).collect(),
        PencilSign::Counts => {
            let word = |(n, place): (usize, Place)| (place, format!("{}", n + 1));
            mark.at = beats.into_iter().enumerate().map(word).collect();
        }
        PencilSign::Courtesy => mark.text = "♮".to_owned(),
        PencilSign::Circle => mark.text = "= F".to_owned(),
        PencilSign::Fingering | PencilSign::Words => mark.text = "1-2".to_owned(),
        PencilSign::LookAlike => mark.text = "a′".to_owned(),
        PencilSign::JumpArrow => {
            mark.from = at_bar(piece, bar, true);
            mark.text = "1".to_owned();
        }
        PencilSign::Eyeglasses => mark.from = at_bar(piece, bar, false),
        PencilSign::FingeringDiagram => {
            mark.picture = Some(PencilPicture {
                svg: "<circle cx=\"300\" cy=\"200\" r=\"80\" fill=\"currentColor\"/>".to_owned(),
                width: 900.0,
                height: 400.0,
            });
        }
        PencilSign::SmallNotes => {
            let note = SmallNote::Note {
                position: 5,
                accidental: Some("♯".to_owned()),
                values: vec![Written {
                    value: NoteValue::N16th,
                    dots: 0,
                    tuplets: Vec::new(),
                }],
            };
            mark.small_notes = vec![note; 3];
        }
        PencilSign::Breath | PencilSign::SlowBreath => {}
    }
    mark
}

fn drawn(piece: &Piece, system: &System, marks: &[PencilMark]) -> Vec<Drawn> {
    let marks: Vec<&PencilMark> = marks.iter().collect();
    let (drawn, findings) = place_told(system, piece, &marks, &Look::of(Edition::Practice));
    assert!(findings.is_empty(), "{findings:?}");
    drawn
}

fn plain() -> Piece {
    sketch("metre:4/4 B4/q C5/q A4/q G4/q | E5/q D5/q C#5/q B4/q | A4/q G4/q F4/q E4/q |").expect("a sketch")
}

#[test]
fn every_sign_finds_its_place_and_says_why() {
    let piece = plain();
    let system = engraved(&piece, 4000.0, &[]);
    for sign in PencilSign::ALL {
        let one = drawn(&piece, &system, &[mark(&piece, sign, 6)]);
        let [one] = one.as_slice() else {
            panic!("{sign:?}: {one:?}")
        };
        assert!(
            one.svg
                .starts_with(&format!("<g class=\"mark {} pencil-graphite\"", sign.class())),
            "{}",
            one.svg
        );
        assert!(one.svg.contains("<desc>It says why.</desc>") && one.svg.contains(", bar 2</title>"));
        assert!(
            !one.svg.contains("style="),
            "a strict page allows no inline style"
        );
        assert!(one.rect.w > 0.0 && one.rect.h > 0.0);
    }
}

#[test]
fn a_circle_goes_round_the_head_with_its_accidental() {
    let piece = plain();
    let system = engraved(&piece, 4000.0, &[]);
    let mut circle = mark(&piece, PencilSign::Circle, 6);
    circle.text = String::new();
    let ring = drawn(&piece, &system, &[circle]).remove(0).rect;
    let id = piece.parts[0].events[6].id.to_string();
    let head = system
        .boxes
        .iter()
        .find(|thing| thing.id == id)
        .expect("the head")
        .rect;
    assert!(
        ring.x < head.x - 223.0 && ring.right() > head.right(),
        "{ring:?} {head:?}"
    );
    assert!(ring.y < head.y - 160.0 && ring.bottom() > head.bottom());
    assert!(ring.w < 1000.0 && ring.h < 1000.0);
}

#[test]
fn a_circle_crosses_a_slur_and_a_flag_but_no_other_head() {
    let piece = plain();
    let id = |nth: usize| piece.parts[0].events[nth].id.to_string();
    let head = |system: &System, nth: usize| {
        let is = |thing: &&Boxed| thing.id == id(nth);
        system.boxes.iter().find(is).expect("a head").rect
    };
    let note = head(&engraved(&piece, 4000.0, &[]), 2);
    let mut circle = mark(&piece, PencilSign::Circle, 2);
    circle.text = String::new();
    // A slur close over it, a flag close under it: without names they are ink of which nothing is known.
    let over = rect(note.x - 300.0, note.y - 60.0, note.w + 600.0, 40.0);
    let under = rect(note.x, note.bottom() + 20.0, note.w, 300.0);
    let unknown = engraved(&piece, 4000.0, &[over, under]);
    let mut known = unknown.clone();
    for (class, rect) in [("slur", over), ("flag", under)] {
        known.boxes.push(Boxed {
            id: class.to_owned(),
            class: class.to_owned(),
            rect,
            ..known.boxes[0].clone()
        });
    }
    let ring = drawn(&piece, &known, std::slice::from_ref(&circle))
        .remove(0)
        .rect;
    let goes_round = |ring: &Rect| {
        ring.x < note.x && ring.right() > note.right() && ring.y < note.y && ring.bottom() > note.bottom()
    };
    assert!(goes_round(&ring), "{ring:?} {note:?}");
    assert!(ring.right() < head(&known, 3).x && ring.x > head(&known, 1).right());
    let arrow = drawn(&piece, &unknown, &[circle]).remove(0).rect;
    assert!(!goes_round(&arrow), "{arrow:?} {note:?}");
}

#[test]
fn a_courtesy_stands_before_its_head_where_there_is_room_and_over_it_where_there_is_none() {
    let piece = sketch("metre:4/4 B4/q C5/q A4/q G4/q | C6/q D5/q C#5/q B4/q |").expect("a sketch");
    let head = |system: &System| {
        let id = piece.parts[0].events[4].id.to_string();
        system
            .boxes
            .iter()
            .find(|thing| thing.id == id)
            .expect("the head")
            .rect
    };
    let wide = engraved(&piece, 5000.0, &[]);
    let before = drawn(&piece, &wide, &[mark(&piece, PencilSign::Courtesy, 4)])
        .remove(0)
        .rect;
    assert!(
        before.right() <= head(&wide).x && before.bottom() > head(&wide).y,
        "{before:?}"
    );
    // The way is blocked by other ink.
    let blocked = rect(head(&wide).x - 400.0, head(&wide).y - 100.0, 380.0, 300.0);
    let narrow = engraved(&piece, 5000.0, &[blocked]);
    let over = drawn(&piece, &narrow, &[mark(&piece, PencilSign::Courtesy, 4)])
        .remove(0)
        .rect;
    assert!(over.bottom() <= head(&narrow).y, "{over:?}");
}

#[test]
fn counts_stand_on_one_line_below_everything_and_strokes_above() {
    let piece = plain();
    let low = rect(LEFT + 500.0, TOP + 900.0, 2000.0, 300.0);
    let system = engraved(&piece, 4000.0, &[low]);
    let counts = drawn(&piece, &system, &[mark(&piece, PencilSign::Counts, 0)]).remove(0);
    assert!(counts.rect.y > low.bottom(), "{:?}", counts.rect);
    assert_eq!(counts.svg.matches("<text").count(), 4);
    let lines: BTreeSet<&str> = counts
        .svg
        .split(" y=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    assert_eq!(lines.len(), 1, "one common line");
    let strokes = drawn(&piece, &system, &[mark(&piece, PencilSign::BeatStrokes, 0)]).remove(0);
    assert!(strokes.rect.bottom() < TOP);
}

#[test]
fn a_breath_stands_between_its_note_and_the_next() {
    let piece = plain();
    let system = engraved(&piece, 4000.0, &[]);
    let comma = drawn(&piece, &system, &[mark(&piece, PencilSign::Breath, 3)])
        .remove(0)
        .rect;
    let of = |nth: usize| {
        let id = piece.parts[0].events[nth].id.to_string();
        system
            .boxes
            .iter()
            .find(|thing| thing.id == id)
            .expect("a head")
            .rect
    };
    assert!(comma.x > of(3).right() && comma.right() < of(4).x, "{comma:?}");
    assert!(comma.bottom() < TOP);
}

#[test]
fn repeats_and_hard_spots_never_look_alike() {
    let piece = plain();
    let system = engraved(&piece, 4000.0, &[]);
    let brackets = drawn(&piece, &system, &[mark(&piece, PencilSign::SpotBracket, 4)])
        .remove(0)
        .rect;
    let hooks = drawn(&piece, &system, &[mark(&piece, PencilSign::RepeatHook, 4)])
        .remove(0)
        .rect;
    // Brackets go through the staff, hooks stand over it.
    assert!(
        brackets.y < TOP && brackets.bottom() > TOP + 720.0,
        "{brackets:?}"
    );
    assert!(hooks.bottom() < TOP, "{hooks:?}");
}

#[test]
fn the_hand_draws_the_same_mark_the_same_way_each_time() {
    let piece = plain();
    let system = engraved(&piece, 4000.0, &[]);
    let marks: Vec<PencilMark> = PencilSign::ALL
        .iter()
        .map(|sign| mark(&piece, *sign, 5))
        .collect();
    let first = drawn(&piece, &system, &marks);
    assert_eq!(first, drawn(&piece, &system, &marks));
    // Alone it is the same line, though perhaps elsewhere; another mark's line is another.
    let lines = |nth: usize| {
        drawn(&piece, &system, &[mark(&piece, PencilSign::Breath, nth)])
            .remove(0)
            .svg
    };
    assert_ne!(lines(1), lines(2));
}

#[test]
fn a_mark_of_another_system_is_passed_over_and_one_that_spans_two_is_drawn_in_both() {
    let piece = plain();
    let mut whole = engraved(&piece, 4000.0, &[]);
    // The system holds only the first two bars.
    let last = piece.bars[2].id.to_string();
    whole.boxes.retain(|thing| thing.measure != last);
    assert!(drawn(&piece, &whole, &[mark(&piece, PencilSign::Breath, 9)]).is_empty());
    let mut spot = mark(&piece, PencilSign::SpotBracket, 4);
    spot.to = Some(at_bar(&piece, 2, true));
    let begun = drawn(&piece, &whole, &[spot]).remove(0).rect;
    assert!(begun.w < 400.0, "only the bracket that opens: {begun:?}");
}

#[test]
fn a_grace_note_bears_a_mark_of_its_own() {
    let piece = sketch("metre:4/4 g:C#5/e B4/q C5/q A4/q G4/q |").expect("a sketch");
    let system = engraved(&piece, 4000.0, &[]);
    assert!(piece.parts[0].events[0].is_grace());
    let mut circle = mark(&piece, PencilSign::Circle, 0);
    circle.from.element = Some(piece.parts[0].events[0].heads()[0].id);
    assert_eq!(drawn(&piece, &system, &[circle]).len(), 1);
}

#[test]
fn without_an_ink_map_the_boxes_are_the_ink() {
    let piece = plain();
    let mut system = engraved(&piece, 4000.0, &[]);
    system.ink = None;
    let some = drawn(&piece, &system, &[mark(&piece, PencilSign::Fingering, 4)]);
    assert!(some[0].rect.bottom() < TOP);
}

#[test]
fn a_broken_system_is_no_trouble() {
    let piece = plain();
    let nowhere = System {
        bounds: rect(f64::NAN, 0.0, f64::INFINITY, -5.0),
        staff: rect(0.0, 0.0, 1e300, 0.0),
        boxes: Vec::new(),
        ink: None,
    };
    let marks: Vec<PencilMark> = PencilSign::ALL
        .iter()
        .map(|sign| mark(&piece, *sign, 5))
        .collect();
    let marks: Vec<&PencilMark> = marks.iter().collect();
    assert!(place(&nowhere, &piece, &marks, &Look::default()).is_empty());
}

/// Every mark placed one after the other, each held against the ink and the marks before it.
fn checked(piece: &Piece, system: &System, marks: &[PencilMark]) -> Result<(), TestCaseError> {
    let scene = Scene::of(system, piece);
    let mut field = Field::of(&scene);
    let mut taken: BTreeSet<super::sketch::Cell> = BTreeSet::new();
    for mark in marks {
        let mut pen = Pen::new(&scene, &mut field, mark);
        signs::draw(&mut pen);
        let Some(sketch) = pen.done() else { continue };
        for cell in sketch.cells((0.0, 0.0), 5.0, 0.0) {
            taken_by(&mut taken, cell, mark)?;
        }
        let fresh = Field::of(&scene);
        // That a loop keeps off the note it goes round is a law of its own: cells are too coarse to tell.
        let own = match (mark.sign, scene.stop(&mark.from)) {
            (PencilSign::Circle, Some(stop)) => [
                vec![stop.rect, scene.with_accidental(&stop)],
                scene.close_to(&stop.rect),
            ]
            .concat(),
            _ => Vec::new(),
        };
        let (ink, hard) = fresh.shares(&sketch, &own);
        if encloses(mark.sign) {
            prop_assert!(!hard, "{:?} touches a head, a sign or words", mark.sign);
        } else {
            prop_assert!(!ink, "{:?} touches ink", mark.sign);
        }
    }
    Ok(())
}

/// Finer cells than those by which marks are placed, about a fifteenth of a millimetre on paper.
fn taken_by(
    taken: &mut BTreeSet<super::sketch::Cell>,
    cell: super::sketch::Cell,
    mark: &PencilMark,
) -> Result<(), TestCaseError> {
    prop_assert!(taken.insert(cell), "{:?} touches another mark", mark.sign);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn marks_touch_neither_ink_nor_each_other(
        notes in proptest::collection::vec((0usize..15, 0usize..4), 6..24),
        signs in proptest::collection::vec((0usize..15, 0usize..40), 1..14),
        width in 1800.0f64..5200.0,
        more in proptest::collection::vec((0.0f64..9000.0, 200.0f64..3200.0, 40.0f64..900.0, 30.0f64..260.0), 0..5),
    ) {
        const PITCHES: [&str; 15] =
            ["A3", "C4", "D4", "E4", "F#4", "G4", "A4", "Bb4", "C5", "D5", "E5", "F#5", "A5", "C6", "E6"];
        let mut text = "metre:4/4".to_owned();
        for (at, (pitch, _)) in notes.iter().enumerate() {
            text.push_str(&format!(" {}/q{}", PITCHES[*pitch], if at % 4 == 3 { " |" } else { "" }));
        }
        let piece = sketch(&text).expect("a sketch");
        let more: Vec<Rect> = more.into_iter().map(|(x, y, w, h)| rect(LEFT + x, y, w, h)).collect();
        let system = engraved(&piece, width, &more);
        let marks: Vec<PencilMark> = signs.iter().map(|(sign, nth)| mark(&piece, PencilSign::ALL[*sign], *nth)).collect();
        checked(&piece, &system, &marks)?;
        // Together: no cell is shared by two marks, whatever their kind.
        let all: Vec<&PencilMark> = marks.iter().collect();
        let one = place(&system, &piece, &all, &Look::default());
        prop_assert_eq!(&one, &place(&system, &piece, &all, &Look::default()));
    }
}

#[test]
fn a_place_once_taken_is_not_free_for_any_other_mark() {
    let piece = plain();
    let system = engraved(&piece, 4000.0, &[]);
    let scene = Scene::of(&system, &piece);
    let mut field = Field::of(&scene);
    let one = mark(&piece, PencilSign::Fingering, 4);
    let mut pen = Pen::new(&scene, &mut field, &one);
    signs::draw(&mut pen);
    let sketch = pen.done().expect("a fingering");
    for may in [May::TouchNothing, May::CrossLines, May::CrossCurves] {
        assert!(!field.is_free(&field.footprint(&sketch, may), (0, 0), may));
    }
}

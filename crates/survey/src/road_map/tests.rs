//! Road maps sketched in a line: what the survey says of them.

use super::{HeldOn, RoadMapAnswer, RoadOptions, TrapKind, answer, last_of_line};
use crate::Context;
use notation::{Piece, sketch};
use proptest::prelude::*;

fn asked(text: &str) -> (Piece, RoadMapAnswer) {
    let piece = sketch(text).expect("a sketch");
    let context = Context::new(&piece, 0).expect("a part");
    let found = answer(&context, &RoadOptions::default());
    (piece, found)
}

fn kinds(answer: &RoadMapAnswer) -> Vec<TrapKind> {
    answer.traps.iter().map(|trap| trap.kind).collect()
}

/// Source: Grove's Dictionary, "Da capo", "Fine": the music ends at Fine, so the last note played is the one there.
#[test]
fn the_last_note_played_is_the_one_before_fine() {
    let (piece, found) =
        asked("key:0 metre:2/4 C5/q D5/q | E5/q \"Fine\" C5/q || G4/q A4/q | B4/q \"D.C._al_Fine\" G4/q |.");
    let context = Context::new(&piece, 0).expect("a part");
    let last = last_of_line(&context, &found.unfolding).expect("a last note");
    assert_eq!(last.pitch.to_string(), "C5");
    assert_eq!(
        (found.bars_played, found.quarters_played),
        (6, notation::Quarters::whole(12))
    );
    assert!(found.means.contains("Play bars 1–4, 1–2."), "{}", found.means);
    assert!(found.means.contains("stands in bar 2"), "{}", found.means);
    let labels: Vec<&str> = found
        .play_order
        .iter()
        .map(|played| played.label.as_str())
        .collect();
    assert_eq!(labels, ["1", "2", "3", "4", "1", "2"]);
}

#[test]
fn a_page_without_signs_is_read_straight_through() {
    let (_, found) = asked("key:0 metre:2/4 C5/q D5/q | E5/q C5/q |.");
    assert_eq!(
        found.means,
        "Read straight through: 2 bars, no repeats, no jumps."
    );
    assert!(found.traps.is_empty() && found.repeats_after_jump.is_empty());
    assert_eq!(found.double_bars.len(), 1);
}

#[test]
fn an_end_repeat_without_a_start_is_a_trap() {
    let (_, found) = asked("metre:1/4 C5/q | D5/q :| E5/q | F5/q :|");
    let traps: Vec<(TrapKind, u32)> = found
        .traps
        .iter()
        .map(|trap| (trap.kind, trap.place.bar.0))
        .collect();
    assert_eq!(traps, [(TrapKind::NoStart, 1), (TrapKind::NoStart, 3)]);
    assert!(
        found.traps[1].says.contains("back to bar 3"),
        "{}",
        found.traps[1].says
    );
}

#[test]
fn a_long_way_back_is_a_trap() {
    let bars = "C5/q | ".repeat(40);
    let (_, found) = asked(&format!("metre:1/4 |: {bars} C5/q :|"));
    assert_eq!(kinds(&found), [TrapKind::FarBack]);
    let (_, near) = asked(&format!("metre:1/4 |: {} C5/q :|", "C5/q | ".repeat(8)));
    assert!(near.traps.is_empty(), "{:?}", near.traps);
}

#[test]
fn a_page_turn_on_the_way_back_is_a_trap() {
    let mut piece = sketch("metre:1/4 |: C5/q | D5/q | E5/q :|").expect("a sketch");
    piece.bars[1].new_page = true;
    let context = Context::new(&piece, 0).expect("a part");
    let found = answer(&context, &RoadOptions::default());
    assert_eq!(kinds(&found), [TrapKind::FarBack]);
    assert!(found.traps[0].says.contains("page turn"));
}

#[test]
fn a_fermata_before_a_new_section_and_one_inside() {
    let (_, found) = asked("metre:2/4 C5/q D5/q | E5/h!fermata || G5/q!fermata A5/q | r/q!fermata C5/q |.");
    let held: Vec<(HeldOn, bool)> = found
        .fermatas
        .iter()
        .map(|hold| (hold.on, hold.before_section))
        .collect();
    assert_eq!(
        held,
        [(HeldOn::Note, true), (HeldOn::Note, false), (HeldOn::Rest, false)]
    );
    assert_eq!(kinds(&found), [TrapKind::HoldBeforeSection]);
}

#[test]
fn breath_marks_and_caesuras_are_listed() {
    let (_, found) = asked("metre:2/4 C5/q!breath D5/q!caesura |.");
    assert_eq!(found.breaks.len(), 2);
}

#[test]
fn another_key_signature_on_the_way_back_is_a_trap() {
    let (_, found) = asked("key:-1 metre:1/4 |: C5/q | key:2 D5/q | E5/q :|");
    assert_eq!(kinds(&found), [TrapKind::OtherSigns]);
    assert!(found.traps[0].says.contains("key signature"));
}

#[test]
fn repeats_left_out_after_the_jump_are_said_with_the_default() {
    let (_, found) =
        asked("metre:1/4 |: C5/q | D5/q :| |: E5/q | F5/q \"Fine\" :| G5/q | A5/q \"D.C._al_Fine\" |.");
    assert!(kinds(&found).contains(&TrapKind::SkippedRepeat));
    assert!(
        found.repeats_after_jump.contains("the default"),
        "{}",
        found.repeats_after_jump
    );
    assert!(found.means.contains("1–2, 1–4, 3–6, 1–4"), "{}", found.means);
}

#[test]
fn the_coda_is_reached_by_a_leap() {
    let (_, found) = asked(
        "metre:1/4 segno C5/q | \"To_Coda\" D5/q | E5/q | \"D.S._al_Coda\" F5/q || \"Coda\" G5/q | C5/q |.",
    );
    assert!(kinds(&found).contains(&TrapKind::CodaSkip), "{:?}", found.traps);
    assert!(found.means.contains("1–4, 1–2, 5–6"), "{}", found.means);
}

const TOKENS: [&str; 26] = [
    "C5/q",
    "D5/h!fermata",
    "r/q",
    "E5/q!caesura",
    "|",
    "|",
    "|",
    "||",
    "|.",
    "|:",
    ":|",
    ":|:",
    "[1",
    "]1",
    "[2",
    "]2",
    "segno",
    "coda",
    "\"Fine\"",
    "\"D.C._al_Fine\"",
    "\"D.S._al_Coda\"",
    "\"To_Coda\"",
    "\"Trio\"",
    "reh:A",
    "key:2",
    "metre:3/8",
];

proptest! {
    /// Whatever stands on the page: an answer, never a panic, and the last note played is among the bars played.
    #[test]
    fn any_page_gets_an_answer(tokens in proptest::collection::vec(0..TOKENS.len(), 0..80)) {
        let text: Vec<&str> = tokens.iter().map(|index| TOKENS[*index]).collect();
        let piece = sketch(&text.join(" ")).expect("a sketch");
        let context = Context::new(&piece, 0).expect("a part");
        let found = answer(&context, &RoadOptions::default());
        prop_assert_eq!(found.play_order.len(), found.bars_played);
        if let Some(event) = found.last_note {
            let bar = context.part.events[event].place.bar;
            prop_assert!(found.unfolding.played.iter().any(|played| played.bar == bar));
        }
    }
}

//! Splits, joins, exchanges, new and ended spines; records that do not fit their columns.

use crate::{clean, events, kinds, read};
use notation::Severity;

#[test]
fn nested_splits_are_voices_that_keep_their_identity() {
    let piece = clean("spines/nested-splits");
    let part = &piece.parts[0];
    assert_eq!(part.voices, ["1", "2", "3"]);
    let said: Vec<(String, u16)> = events(part)
        .into_iter()
        .zip(part.events.iter().map(|e| e.voice))
        .collect();
    let expected = [
        ("0@0 C5 half =2", 0),
        ("0@0 E4 quarter =1", 1),
        ("0@1 F4 quarter =1", 1),
        ("0@2 D5 half =2", 0),
        ("0@2 G4 half =2", 1),
        ("0@2 E4 quarter =1", 2),
        ("0@3 F4 quarter =1", 2),
        ("1@0 C5 whole =4", 0),
    ];
    let expected: Vec<(String, u16)> = expected.iter().map(|(s, v)| ((*s).to_owned(), *v)).collect();
    assert_eq!(said, expected);
}

#[test]
fn spines_are_exchanged_added_and_ended() {
    let (piece, findings) = read("spines/exchange-add-and-end");
    assert_eq!(kinds(&findings), Vec::<String>::new());
    assert_eq!(piece.parts.len(), 2);
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 C4 half =2",
            "1@0 D4 quarter =1",
            "1@1 E4 quarter =1",
            "2@0 C4 half =2",
            "3@0 D4 half =2"
        ]
    );
    let words: Vec<&str> = piece.parts[1]
        .events
        .iter()
        .flat_map(|e| &e.lyrics)
        .map(|l| l.text.as_str())
        .collect();
    assert_eq!(words, ["deep", "low"]);
    assert_eq!(crate::directions(&piece.parts[0]), ["3@0 Dynamic(\"p\")"]);
}

#[test]
fn a_voice_that_splits_off_under_a_long_note_starts_when_the_others_do() {
    let piece = clean("spines/split-under-a-long-note");
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 C4 half =2",
            "0@2 E4 half =2",
            "0@2 G4 quarter =1",
            "0@3 A4 quarter =1"
        ]
    );
}

#[test]
fn wrong_columns_are_problems_and_the_rest_is_read() {
    let (piece, findings) = read("spines/wrong-columns");
    assert_eq!(
        kinds(&findings),
        ["columns-wrong 2", "columns-wrong 3", "not-ended 3"]
    );
    assert_eq!(findings[0].severity, Severity::Problem);
    assert!(findings[0].what.contains("line 6"), "{}", findings[0].what);
    assert_eq!(
        events(&piece.parts[0]),
        ["0@0 C4 half =2", "1@0 D4 half =2", "2@0 E4 half =2"]
    );
}

#[test]
fn columns_that_do_not_come_out_together_are_told_and_the_next_bar_is_right() {
    let (piece, findings) = read("spines/uneven");
    assert_eq!(kinds(&findings), ["columns-uneven 1"]);
    assert_eq!(piece.bars[0].length.to_string(), "4");
    assert_eq!(events(&piece.parts[0])[4], "1@0 C4 whole =4");
}

#[test]
fn a_note_may_be_held_over_a_bar_line() {
    let (piece, findings) = read("spines/held-over-the-bar-line");
    assert_eq!(kinds(&findings), ["held-over-bar 2"]);
    let lengths: Vec<String> = piece.bars.iter().map(|bar| bar.length.to_string()).collect();
    assert_eq!(lengths, ["4", "4"]);
    assert_eq!(
        events(&piece.parts[1]),
        ["0@0 C3 half =2", "0@2 D3 whole =4", "1@2 E3 half =2"]
    );
}

#[test]
fn of_several_pieces_the_first_is_read() {
    let (piece, findings) = read("spines/two-movements");
    assert_eq!(kinds(&findings), ["several-pieces 1"]);
    assert_eq!(events(&piece.parts[0]), ["0@0 C4 quarter =1"]);
}

//! Bar lines, repeats, endings, pickups and the numbers of bars, the order of parts.

use crate::{barlines, bars, clean, directions, kinds, labels, read, read_text};

/// Source: ABC 2.1, 4.8; the styles by the names of MusicXML 4.0, bar-style.
#[test]
fn bar_lines_of_every_style() {
    let piece = clean("bars/bar-lines");
    assert_eq!(
        barlines(&piece),
        [
            "0 left heavy-light",
            "1 right light-light",
            "2 right heavy-light",
            "3 right light-heavy",
            "4 right none",
            "5 right dotted",
            "6 right light-heavy"
        ]
    );
    let piece = clean("bars/dotted-line-inside");
    assert_eq!(barlines(&piece), ["0 middle dotted", "1 right light-heavy"]);
    assert_eq!(piece.barlines[0].place.offset, notation::Quarters::whole(2));
}

/// Source: ABC 2.1, 4.8: `::`, `:|:` and `:||:` are all the same.
#[test]
fn repeats_and_how_often() {
    let piece = clean("bars/repeats");
    assert_eq!(
        barlines(&piece),
        [
            "0 right light-heavy :|",
            "1 right light-heavy :|",
            "2 left heavy-light |:",
            "2 right light-heavy :|",
            "3 left heavy-light |:",
            "3 right light-heavy :|",
            "4 left heavy-light |:",
            "4 right light-heavy :|x3",
            "6 left heavy-light |:",
            "6 right light-heavy :|"
        ]
    );
    let piece = clean("bars/three-times");
    assert_eq!(
        barlines(&piece),
        [
            "0 left heavy-light |:",
            "1 right light-heavy :|x3",
            "2 right light-heavy"
        ]
    );
}

/// Common practice against the letter of ABC 2.1, 4.9, by which the second ending would last to the last `:|`: a player
/// reads a second ending as long as the first, and a strain of its own after it.
#[test]
fn a_last_ending_swallows_no_strain() {
    let (piece, findings) = read("bars/last-ending-not-closed");
    assert!(
        findings.iter().any(|f| f.kind == "ending-not-closed"),
        "{findings:?}"
    );
    let ends: Vec<(u32, notation::EndingKind)> = piece
        .barlines
        .iter()
        .filter_map(|line| Some((line.place.bar.0, line.ending.as_ref()?.kind)))
        .collect();
    use notation::EndingKind::{Discontinue, Start, Stop};
    assert_eq!(ends, [(2, Start), (2, Stop), (3, Start), (3, Discontinue)]);
    let repeats: Vec<u32> = piece
        .barlines
        .iter()
        .filter(|line| line.repeat.as_ref().is_some_and(|repeat| !repeat.forward))
        .map(|line| line.place.bar.0)
        .collect();
    assert_eq!(repeats, [2, 5]);
}

/// Source: ABC 2.1, 4.9 and 4.10: an ending ends with `||`, `:|`, `|]`, `[|` or the next one.
#[test]
fn endings_by_number_list_and_text() {
    let piece = clean("bars/endings");
    assert_eq!(
        barlines(&piece),
        [
            "0 left heavy-light |:",
            "2 left - [1 Start",
            "2 right light-heavy :| [1 Stop",
            "3 left - [2 Start",
            "4 right light-light [2 Discontinue",
            "6 left - [1,3 Start",
            "6 right light-heavy :| [1,3 Stop",
            "7 left - [2,3,42-4 Start",
            "7 right light-heavy :| [2,3,4 Stop",
            "8 left - [last time Start",
            "8 right light-heavy [ Stop"
        ]
    );
    let piece = clean("bars/ending-inside-a-bar");
    assert_eq!(labels(&piece), ["1", "2", "(X1)", "3"]);
    assert_eq!(
        bars(&piece.parts[0])[1..],
        [
            "G4/quarter G4/quarter",
            "A4/quarter A4/quarter",
            "B4/quarter B4/quarter"
        ]
    );
}

/// A pickup is bar 0 and not counted; nor is the second half of a bar that a repeat cuts: common practice, and what
/// MusicXML calls implicit.
#[test]
fn pickups_and_split_bars_are_not_counted() {
    let piece = clean("bars/pickups");
    assert_eq!(
        labels(&piece),
        ["(0)", "1", "2", "(X1)", "3", "4", "5", "6", "(X2)", "7", "8"]
    );
}

#[test]
fn a_line_that_ends_with_a_full_bar_ends_the_bar() {
    let (piece, findings) = read("bars/line-ends-without-bar-line");
    assert_eq!(
        bars(&piece.parts[0]),
        [
            "C4/quarter D4/quarter",
            "E4/quarter F4/quarter",
            "G4/quarter A4/quarter",
            "B4/quarter C5/quarter",
            "D5/half"
        ]
    );
    assert_eq!(kinds(&findings), ["bar-line-implied 2"]);
    let systems: Vec<bool> = piece.bars.iter().map(|bar| bar.new_system).collect();
    assert_eq!(systems, [false, false, true, false, false]);
}

#[test]
fn a_fermata_may_stand_over_a_bar_line() {
    let piece = clean("bars/fermata-over-a-bar-line");
    assert_eq!(barlines(&piece), ["0 right - fermata", "1 right light-heavy"]);
}

/// Source: ABC 2.1, 3.1.9.
#[test]
fn the_heading_orders_the_parts() {
    let piece = clean("bars/order-of-parts");
    let orders = &piece.section_orders;
    let list = orders.followed().expect("a list to follow");
    let names: Vec<&str> = orders
        .sections_of(list)
        .map(|section| section.name.as_str())
        .collect();
    assert_eq!(names.concat(), "AABABC");
    assert!(!list.written_out);
    assert_eq!(orders.sections[1].start.bar.0, 1);
    assert_eq!(orders.sections[2].end.bar.0, 3);
    assert_eq!(directions(&piece.parts[0]), ["0@0 ^[A]", "1@0 ^[B]", "2@0 ^[C]"]);
    // Named twice and repeated by signs: the list writes the repeats out.
    let (piece, findings) = read("bars/order-of-parts-with-repeats");
    assert!(
        piece
            .section_orders
            .followed()
            .is_some_and(|list| list.written_out)
    );
    assert_eq!(kinds(&findings), ["section-order-and-repeats"]);
    let (piece, findings) = read("bars/order-of-parts-unclear");
    assert!(piece.section_orders.followed().is_none());
    assert_eq!(kinds(&findings), ["section-order-unclear"]);
}

/// The words and signs that send the player about, as MusicXML gives them.
#[test]
fn the_road_map_is_words_and_signs() {
    let piece = clean("bars/road-map");
    assert_eq!(
        directions(&piece.parts[0]),
        ["1@0 segno", "2@0 “Fine”", "3@2 “D.S. al Fine”"]
    );
    let piece = clean("bars/road-map-in-words");
    assert_eq!(
        directions(&piece.parts[0]),
        ["1@1 ^“Fine”", "3@0 ^“D.C. al Fine”"]
    );
    let (piece, _) = read_text("X:1\nM:2/4\nL:1/4\nK:C\nA S|C D OE|\n");
    assert_eq!(
        directions(&piece.parts[0])[0],
        "1@0 segno",
        "a sign at the bar line stands for the bar after it"
    );
    let (piece, _) = read_text("X:1\nM:2/4\nL:1/4\nK:C\nSC D|OE F|!dacoda!G A|!D.C.alcoda!B c||!coda!c2|]\n");
    assert_eq!(
        directions(&piece.parts[0]),
        [
            "0@0 segno",
            "1@0 coda",
            "2@0 “To Coda”",
            "3@0 “D.C. al Coda”",
            "4@0 coda"
        ]
    );
}

/// Source: ABC 2.1, 4.9: "in many abc files the |: may not be present"; the ending's own end is left out as well.
#[test]
fn an_ending_that_no_sign_closes_is_as_long_as_the_first() {
    let head = "X:1\nM:2/4\nL:1/4\nK:C\n";
    let (piece, findings) = read_text(&format!("{head}|:C D|[1E F:|[2 G A|\nB c|d e:|\n"));
    assert_eq!(
        barlines(&piece),
        [
            "0 left heavy-light |:",
            "1 left - [1 Start",
            "1 right light-heavy :| [1 Stop",
            "2 left - [2 Start",
            "2 right - [2 Discontinue",
            "4 right light-heavy :|"
        ]
    );
    assert_eq!(kinds(&findings), ["ending-not-closed 5"]);
    // A further ending follows: then it is the long one's own repeat.
    let (piece, _) = read_text(&format!("{head}|:C D|[1E F:|[2 G A|B c:|[3 d e|]\n"));
    assert!(barlines(&piece).contains(&"3 right light-heavy :| [2 Stop".to_owned()));
}

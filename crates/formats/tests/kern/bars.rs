//! Labels, bar lines, repeats, pickups, rests that fill a bar.

use crate::{bar_lines, events, kinds, read};
use notation::{BarSide, Piece};

fn labels(piece: &Piece) -> Vec<String> {
    let say = |bar: &notation::Bar| {
        if bar.implicit {
            format!("({})", bar.label)
        } else {
            bar.label.clone()
        }
    };
    piece.bars.iter().map(say).collect()
}

#[test]
fn a_pickup_and_a_bar_split_by_a_repeat() {
    let (piece, findings) = read("bars/pickup-and-repeats");
    assert_eq!(labels(&piece), ["(0)", "1", "2", "3", "(X1)", "4"]);
    assert_eq!(kinds(&findings), ["pickup 0", "split-bar 3"]);
    assert_eq!(
        bar_lines(&piece),
        [
            "0 1 Right light-heavy :|",
            "0 2 Left heavy-light |:",
            "0 3 Right light-heavy :|",
            "0 5 Right light-heavy fermata"
        ]
    );
}

/// Source: Humdrum reference, barlines; names of the styles: MusicXML 4.0, bar-style.
#[test]
fn bar_lines_of_every_style() {
    let (piece, findings) = read("bars/styles");
    assert_eq!(
        bar_lines(&piece),
        [
            "0 0 Right light-light",
            "0 1 Right none",
            "0 2 Right short",
            "0 3 Right tick",
            "0 5 Left heavy-light |:",
            "0 5 Right light-heavy :|",
            "0 6 Left heavy-light |:",
            "0 8 Right light-heavy :|"
        ]
    );
    assert_eq!(labels(&piece)[7], "8b");
    assert_eq!(kinds(&findings), ["not-read 9"]);
    let left = piece
        .barlines
        .iter()
        .filter(|line| line.side == BarSide::Left)
        .count();
    assert_eq!(left, 2);
}

#[test]
fn bars_without_numbers_are_counted() {
    let (piece, _) = read("bars/unnumbered");
    assert_eq!(labels(&piece), ["(0)", "1", "2", "(X1)", "3"]);
}

#[test]
fn rests_that_fill_the_bar() {
    let (piece, _) = read("notes/rests");
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 bar-rest =3",
            "1@0 bar-rest =3",
            "2@0 rest quarter =1",
            "2@1 rest quarter =1",
            "2@2 rest quarter =1 hidden",
            "3@0 C4 quarter =1",
            "3@1 rest half =2"
        ]
    );
}

//! Bar lines, repeats, endings, breaks, and what stands over several bars.

use crate::{clean, events, spans};
use notation::{BarGroupKind, BarSide, Barline, EndingKind};

/// A bar line as `bar side style repeat ending`.
fn line(line: &Barline) -> String {
    let side = match line.side {
        BarSide::Left => "left",
        BarSide::Middle => "middle",
        BarSide::Right => "right",
    };
    let mut said = format!(
        "{} {side} {}",
        line.place.bar,
        line.style.as_deref().unwrap_or("-")
    );
    match &line.repeat {
        Some(repeat) if repeat.forward => said += " |:",
        Some(_) => said += " :|",
        None => {}
    }
    if let Some(ending) = &line.ending {
        let kind = match ending.kind {
            EndingKind::Start => "[",
            EndingKind::Stop => "]",
            EndingKind::Discontinue => ")",
        };
        said += &format!(" {}{kind}", ending.number);
    }
    said
}

#[test]
fn repeats_endings_breaks_and_a_pickup() {
    let piece = clean_but("bars/repeats-and-endings", &["pickup 0"]);
    let lines: Vec<String> = piece.barlines.iter().map(line).collect();
    assert_eq!(
        lines,
        [
            "1 left heavy-light |:",
            "2 left - 1[",
            "2 right light-heavy :| 1]",
            "3 left - 2[",
            "3 middle dashed",
            "4 right light-heavy :| 2)",
            "5 left heavy-light |:",
            "5 right light-heavy :|",
        ]
    );
    let flags: Vec<(bool, bool, bool)> = piece
        .bars
        .iter()
        .map(|bar| (bar.implicit, bar.new_system, bar.new_page))
        .collect();
    assert_eq!(flags[0], (true, false, false));
    assert_eq!(flags[2], (false, true, false));
    assert_eq!(flags[3], (false, false, true));
}

/// Reads a fixture whose findings are these.
fn clean_but(name: &str, expected: &[&str]) -> notation::Piece {
    let (piece, findings) = crate::read(name);
    assert_eq!(crate::kinds(&findings), expected);
    piece
}

#[test]
fn one_measure_of_the_file_may_be_several_bars() {
    let piece = clean("bars/multi-rest");
    let labels: Vec<&str> = piece.bars.iter().map(|bar| bar.label.as_str()).collect();
    assert_eq!(labels, ["1", "2", "3", "4", "5", "6", "7"]);
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 C5 whole =4",
            "1@0 bar-rest =4",
            "2@0 bar-rest =4",
            "3@0 bar-rest =4",
            "4@0 C5 half =2",
            "4@2 D5 half =2",
            // Under the sign the bar before is played again.
            "5@0 C5 half =2",
            "5@2 D5 half =2",
            "6@0 C5 half =2",
            "6@2 D5 half =2"
        ]
    );
    // Beats of later measures are counted in the bars that these really are.
    assert_eq!(
        spans(&piece.parts[0]),
        ["Slur 4@0 → 4@2", "Slur 5@0 → 5@2", "Slur 6@0 → 6@2"]
    );
    let groups: Vec<(u32, u32, &BarGroupKind)> = piece.parts[0]
        .bar_groups
        .iter()
        .map(|group| (group.start.0, group.bars, &group.kind))
        .collect();
    assert_eq!(
        groups,
        [
            (1, 3, &BarGroupKind::MultiRest),
            (5, 2, &BarGroupKind::MeasureRepeat { pattern: 1 })
        ]
    );
}

#[test]
fn sections_and_the_orders_in_which_they_are_played() {
    let piece = clean("bars/expansion");
    let orders = &piece.section_orders;
    let sections: Vec<(&str, u32, u32)> = orders
        .sections
        .iter()
        .map(|section| (section.name.as_str(), section.start.bar.0, section.end.bar.0))
        .collect();
    assert_eq!(sections, [("A", 0, 1), ("A1", 1, 2), ("A2", 2, 3)]);
    let lists: Vec<(&str, &[u32], bool, bool)> = orders
        .lists
        .iter()
        .map(|list| {
            (
                list.name.as_str(),
                list.order.as_slice(),
                list.followed,
                list.written_out,
            )
        })
        .collect();
    assert_eq!(
        lists,
        [
            ("default", &[0, 1, 0, 2][..], true, true),
            ("short", &[0, 2][..], false, true)
        ]
    );
    let ending = piece
        .barlines
        .iter()
        .filter_map(|line| line.ending.as_ref())
        .nth(2)
        .expect("an ending");
    assert_eq!((ending.number.as_str(), ending.text.as_str()), ("2,3", "2-3"));
}

#[test]
fn bars_without_numbers_are_not_counted() {
    let piece = clean_but("bars/numbers", &["pickup 0", "split-bar 2"]);
    let bars: Vec<(&str, bool)> = piece
        .bars
        .iter()
        .map(|bar| (bar.label.as_str(), bar.implicit))
        .collect();
    assert_eq!(
        bars,
        [
            ("0", true),
            ("1", false),
            ("2", false),
            ("X1", true),
            ("3", false),
            ("4b", false)
        ]
    );
}

#[test]
fn bar_lines_of_every_form() {
    let piece = clean_but("bars/lines", &["bar-line-unclear 13"]);
    let lines: Vec<String> = piece.barlines.iter().map(line).collect();
    assert_eq!(
        lines,
        [
            "1 right dashed",
            "2 right dotted",
            "3 right light-light",
            "4 right dbldashed",
            "5 right heavy-heavy",
            "6 right heavy",
            "7 right light-heavy",
            "8 right none",
            "10 left heavy-light |:",
            "10 right -",
            "11 right light-light",
        ]
    );
    assert!(piece.barlines[9].segno.is_some() && piece.barlines[10].segno.is_some());
}

#[test]
fn beats_half_bars_and_two_bars_played_again() {
    let piece = clean_but("bars/beat-repeats", &["multi-rest-contradicts 5"]);
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 C5 quarter =1",
            "0@1 space =1",
            "0@2 space =2",
            "1@0 C5 whole =4",
            // Two bars played again.
            "2@0 C5 quarter =1",
            "2@1 space =1",
            "2@2 space =2",
            "3@0 C5 whole =4",
            // The first of four played again.
            "4@0 C5 quarter =1",
            "4@1 space =1",
            "4@2 space =2"
        ]
    );
    let groups: Vec<(u32, u32, &BarGroupKind)> = piece.parts[0]
        .bar_groups
        .iter()
        .map(|group| (group.start.0, group.bars, &group.kind))
        .collect();
    assert_eq!(
        groups,
        [
            (0, 1, &BarGroupKind::Other("beat-repeat".to_owned())),
            (2, 2, &BarGroupKind::MeasureRepeat { pattern: 2 }),
            (4, 1, &BarGroupKind::MeasureRepeat { pattern: 4 })
        ]
    );
}

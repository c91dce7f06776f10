//! Labels, lengths, bar lines, and what is drawn over several bars.

use crate::{clean, kinds, read};
use notation::{BarGroupKind, BarSide, EndingKind, Severity};

#[test]
fn a_pickup_and_a_split_bar_are_notes_not_cautions() {
    let (piece, findings) = read("bars/pickup-and-split");
    assert_eq!(kinds(&findings), ["pickup 0", "split-bar 2", "last-bar-short 4"]);
    assert!(findings.iter().all(|finding| finding.severity == Severity::Note));
    let lengths: Vec<String> = piece.bars.iter().map(|bar| bar.length.to_string()).collect();
    assert_eq!(lengths, ["1", "4", "3", "1", "4", "3"]);
    assert!(piece.bars[0].implicit && piece.bars[3].implicit && !piece.bars[1].implicit);
}

#[test]
fn labels_are_text() {
    let (piece, findings) = read("bars/labels");
    let labels: Vec<&str> = piece.bars.iter().map(|bar| bar.label.as_str()).collect();
    assert_eq!(labels, ["4a", "B5", "4a", "4"]);
    assert_eq!(kinds(&findings), ["bar-label-twice 4a"]);
}

#[test]
fn bars_that_do_not_add_up() {
    let (piece, findings) = read("bars/long-and-short");
    assert_eq!(
        kinds(&findings),
        ["bar-long 2", "bar-short 3", "part-bar-short 4"]
    );
    assert_eq!(findings[0].part.as_deref(), Some("Flute"));
    assert_eq!(findings[1].part, None);
    assert_eq!(findings[2].part.as_deref(), Some("Oboe"));
    assert_eq!(piece.bars[1].length.to_string(), "5");
}

#[test]
fn bar_lines_with_all_that_is_attached() {
    let (piece, findings) = read("bars/repeats-and-endings");
    assert_eq!(kinds(&findings), ["repeat-unclear 4", "ending-unclear 4"]);
    let lines = &piece.barlines;
    assert_eq!(lines.len(), 6);
    assert_eq!(
        (lines[0].side, lines[0].segno.as_deref()),
        (BarSide::Left, Some("s1"))
    );
    assert!(lines[0].repeat.as_ref().is_some_and(|repeat| repeat.forward));
    let first = lines[1].ending.as_ref().expect("an ending");
    assert_eq!(
        (first.number.as_str(), first.text.as_str(), first.kind),
        ("1, 2", "1.–2.", EndingKind::Start)
    );
    let back = lines[2].repeat.as_ref().expect("a repeat");
    assert_eq!(
        (back.forward, back.times, back.after_jump),
        (false, Some(3), Some(true))
    );
    assert_eq!(
        (lines[2].place.bar.0, lines[2].place.offset.to_string()),
        (1, "2".to_owned())
    );
    assert_eq!(
        (lines[4].side, lines[4].place.offset.to_string()),
        (BarSide::Middle, "1".to_owned())
    );
    assert_eq!(lines[4].style.as_deref(), Some("dashed"));
    assert_eq!(lines[5].coda.as_deref(), Some("c1"));
    assert_eq!(
        lines[5].ending.as_ref().map(|ending| ending.kind),
        Some(EndingKind::Discontinue)
    );
    let fermatas: Vec<(&str, bool)> = lines[5]
        .fermatas
        .iter()
        .map(|f| (f.shape.as_str(), f.inverted))
        .collect();
    assert_eq!(fermatas, [("square", false), ("", true)]);
}

#[test]
fn what_is_drawn_over_several_bars_covers_real_bars() {
    let (piece, findings) = read("bars/drawn-over-bars");
    assert_eq!(kinds(&findings), ["bar-sign-open 7"]);
    let groups: Vec<(u32, u32, &BarGroupKind)> = piece.parts[0]
        .bar_groups
        .iter()
        .map(|group| (group.start.0, group.bars, &group.kind))
        .collect();
    assert_eq!(
        groups,
        [
            (0, 3, &BarGroupKind::MultiRest),
            (4, 2, &BarGroupKind::MeasureRepeat { pattern: 1 }),
            (6, 2, &BarGroupKind::Other("slash".to_owned()))
        ]
    );
    assert_eq!(piece.bars.len(), 8);
}

/// The player reads the bar before once more: its notes and slurs, not its syllables nor a tie out of it.
#[test]
fn a_repeated_bar_that_is_left_empty_holds_the_bar_before() {
    let (piece, _) = read("bars/repeated-bar-left-empty");
    let part = &piece.parts[0];
    let read = |bar: u32| -> Vec<String> {
        let events = part.bar_events(notation::BarIndex(bar)).iter();
        events
            .map(|e| format!("{} {}", e.place.offset, e.pitches().next().unwrap()))
            .collect()
    };
    assert_eq!(read(1), ["0 C5", "1/2 D5", "1 E5"]);
    assert_eq!((read(0), read(2)), (read(1), read(1)));
    let second = part.bar_events(notation::BarIndex(2));
    assert!(second.iter().all(|event| event.lyrics.is_empty()));
    assert!(!second[2].heads()[0].tie_start);
    let slurs: Vec<u32> = part
        .spans
        .iter()
        .filter_map(|s| Some(s.start?.place.bar.0))
        .collect();
    assert_eq!(slurs, [0, 1, 2]);
    let origin = piece.provenance.origins.get(&second[0].id).unwrap();
    assert_eq!(origin.how, notation::How::Implied);
    assert_eq!(piece.bars[2].length, notation::Quarters::whole(2));
}

#[test]
fn system_and_page_breaks() {
    let piece = clean("bars/breaks");
    let breaks: Vec<(bool, bool)> = piece
        .bars
        .iter()
        .map(|bar| (bar.new_system, bar.new_page))
        .collect();
    assert_eq!(breaks, [(false, false), (true, false), (false, true)]);
}

#[test]
fn parts_with_different_numbers_of_bars() {
    let (piece, findings) = read("bars/parts-differ");
    assert_eq!(kinds(&findings), ["parts-differ"]);
    assert_eq!(piece.bars.len(), 2);
    assert!(piece.parts[1].bar_events(notation::BarIndex(1)).is_empty());
}

#[test]
fn multi_bar_rests_that_the_bars_contradict() {
    let (piece, findings) = read("bars/multi-rest-wrong");
    assert_eq!(
        kinds(&findings),
        ["multi-rest-contradicts 1", "multi-rest-contradicts 3"]
    );
    let groups: Vec<(u32, u32)> = piece.parts[0]
        .bar_groups
        .iter()
        .map(|g| (g.start.0, g.bars))
        .collect();
    assert_eq!(groups, [(0, 2), (2, 1)], "no group reaches past the last bar");
}

//! Pitch, length, chords, rests, grace notes, broken rhythm, tuplets, ties, slurs, beams, overlays.

use crate::{bars, clean, kinds, labels, marks, read, read_text, spans};
use notation::Beam;

/// Source: ABC 2.1, 4.1 (pitch) and 4.3 (note lengths).
#[test]
fn lengths_and_octaves() {
    let piece = clean("notes/lengths");
    assert_eq!(
        bars(&piece.parts[0]),
        [
            "C4/eighth D4/quarter E4/quarter. F4/16th G4/16th A4/eighth",
            "A4/32nd B4/32nd A4/32nd G4/32nd C5/half r/eighth. r/16th D5/eighth",
            "C2/quarter C7/quarter C5/quarter C4/quarter",
            "C4/whole"
        ]
    );
}

/// An accidental holds in its octave to the end of the bar: staff notation. A tie carries it over the bar line.
#[test]
fn accidentals_hold_to_the_end_of_the_bar() {
    let (piece, findings) = read("notes/accidentals");
    assert_eq!(
        bars(&piece.parts[0]),
        [
            "F#4/quarter (sharp)F#5/quarter F#4/quarter F#5/quarter",
            "(natural)F4/quarter F4/quarter (double-sharp)C##5/quarter (flat-flat)Bbb4/quarter",
            "r/half. (sharp)C#5~/quarter",
            "C#5^/quarter C5/quarter C4/half"
        ]
    );
    assert_eq!(kinds(&findings), Vec::<String>::new());
    let (piece, findings) = read_text("X:1\nM:2/4\nL:1/4\nK:C\n^c C|\n");
    assert_eq!(bars(&piece.parts[0]), ["(sharp)C#5/quarter C4/quarter"]);
    assert_eq!(kinds(&findings), ["accidental-other-octave 1"]);
}

/// Source: ABC 2.1, 11.3 (propagate-accidentals).
#[test]
fn how_far_accidentals_reach_can_be_said() {
    let piece = clean("notes/accidentals-in-every-octave");
    assert_eq!(
        bars(&piece.parts[0]),
        [
            "(sharp)C#5/quarter C#4/quarter C#5/quarter (natural)C4/quarter",
            "C4/quarter C5/half C5/quarter"
        ]
    );
    let piece = clean("notes/accidentals-for-one-note");
    assert_eq!(
        bars(&piece.parts[0]),
        ["(sharp)C#5/quarter C5/quarter (flat)Bb4/quarter B4/quarter"]
    );
}

#[test]
fn microtones_are_exact() {
    let piece = clean("notes/microtones");
    let alters: Vec<String> = piece.parts[0]
        .events
        .iter()
        .filter_map(|e| e.top_pitch())
        .map(|p| p.alter.to_string())
        .collect();
    assert_eq!(alters, ["1/2", "-1/2", "3/2", "-3/2"]);
    assert!(bars(&piece.parts[0])[0].starts_with("(quarter-sharp)C(1/2)5/quarter (quarter-flat)"));
}

/// Source: ABC 2.1, 4.17: inner and outer lengths multiply, the first note's counts; a unison has two heads.
#[test]
fn chords() {
    let piece = clean("notes/chords");
    assert_eq!(
        bars(&piece.parts[0]),
        [
            "C4+E4+G4/quarter C4+E4/half C4+E4~/eighth D4+E4^/eighth",
            "D4+D4/whole",
            "C4+E4/half C4+E4/quarter D4+F4/quarter"
        ]
    );
    assert_eq!(
        marks(&piece.parts[0])[5..],
        ["fingering 1, fingering 3", "staccato", ""]
    );
    assert_eq!(spans(&piece.parts[0]), ["Slur 2@2 → 2@3"]);
}

/// Source: ABC 2.1, 4.5: `z`, the invisible `x`, rests of whole bars; a spacer takes no time.
#[test]
fn rests() {
    let piece = clean("notes/rests");
    let part = &piece.parts[0];
    assert_eq!(
        bars(part),
        [
            "C4/quarter r/quarter r/quarter?",
            "r/half.",
            "R=3",
            "R=3",
            "R=3",
            "R=3",
            "R=3?",
            "R=3?",
            "r/quarter r/half"
        ]
    );
    let groups: Vec<(u32, u32)> = part
        .bar_groups
        .iter()
        .map(|group| (group.start.0, group.bars))
        .collect();
    assert_eq!(groups, [(3, 3), (6, 2)]);
    assert_eq!(piece.bars.len(), 9);
}

/// Source: ABC 2.1, 4.12; a group before a bar line belongs to the note before it.
#[test]
fn grace_notes_take_no_time() {
    let piece = clean("notes/graces");
    assert_eq!(
        bars(&piece.parts[0]),
        [
            "gD5/eighth C5/quarter g/D5/eighth C5/quarter gC5/16th gD5/16th gE5/16th C5/quarter gC5+E5/quarter C5/quarter",
            "C5/half. D5/quarter afterC5/16th afterD5/16th",
            "gE5/eighth F5/whole"
        ]
    );
    let marked = marks(&piece.parts[0]);
    assert_eq!(
        marked.last().map(String::as_str),
        Some("trill"),
        "the trill belongs to the main note"
    );
}

/// Source: ABC 2.1, 4.4 and 4.12 (grace notes are transparent to broken rhythm).
#[test]
fn broken_rhythm() {
    let piece = clean("notes/broken-rhythm");
    assert_eq!(
        bars(&piece.parts[0]),
        [
            "A4/eighth. B4/16th C5/16th D5/eighth. E5/eighth.. F5/32nd G5/32nd A5/eighth..",
            "A4/quarter. B4/eighth A4/16th gG5/eighth A4/eighth. A4/eighth. gB5/eighth B4/16th",
            "A4/eighth... B4/64th r/half."
        ]
    );
    let (_, findings) = read_text("X:1\nM:C\nL:1/4\nK:C\n>c d e f>|c4|\n");
    assert_eq!(
        kinds(&findings),
        ["broken-rhythm-unclear 1", "broken-rhythm-unclear 1", "bar-long 1"]
    );
}

/// Source: ABC 2.1, 4.13, the table of tuplets, in simple and in compound time.
#[test]
fn tuplets_of_every_form() {
    let piece = clean("notes/tuplets");
    let said = bars(&piece.parts[0]);
    assert_eq!(
        said[0],
        "A4/eighth:3:2 B4/eighth:3:2 C5/eighth:3:2 A4/quarter:3:2 B4/quarter:3:2 C5/quarter:3:2 A4/quarter:3:2 C5/eighth:3:2"
    );
    let ratios = |bar: usize| -> Vec<&str> {
        let mut all: Vec<&str> = said[bar]
            .split(' ')
            .filter_map(|note| note.split_once(':'))
            .map(|(_, ratio)| ratio)
            .collect();
        all.dedup();
        all
    };
    assert_eq!(ratios(1), ["2:3", "4:3"]);
    assert_eq!(ratios(2), ["5:2", "6:2", "3:2"]);
    assert_eq!(ratios(3), ["2:3", "4:3"]);
    assert_eq!(ratios(4), ["5:3", "7:3"]);
    let spans = spans(&piece.parts[0]);
    assert_eq!(spans.len(), 12);
    assert_eq!(
        spans[2],
        "Tuplet { actual: 3, normal: 2, bracket: true } 0@3 → 0@11/3"
    );
    let (_, findings) = read("notes/tuplets-unfinished");
    assert_eq!(kinds(&findings), ["tuplet-unfinished 2", "bar-short 2"]);
}

/// Source: ABC 2.1, 4.11.
#[test]
fn ties_find_the_same_pitch() {
    let (piece, findings) = read("notes/ties");
    assert_eq!(
        bars(&piece.parts[0]),
        [
            "C5~/quarter C5^/quarter",
            "C5/quarter (sharp)C#5~/quarter",
            "C#5^/quarter D5/quarter",
            "C5~+E5~/quarter C5^+E5^/quarter",
            "C5~+E5/quarter C5^+F5/quarter",
            "D5~/half",
            "D5^/quarter E5~/quarter",
            "F5/quarter G5/quarter"
        ]
    );
    assert_eq!(kinds(&findings), ["unpaired-tie 7"]);
    // Over a repeat the other end may lie elsewhere.
    let (_, findings) = read_text("X:1\nM:2/4\nL:1/4\nK:C\n|:c d-:|e f|\n");
    assert_eq!(findings[0].severity, notation::Severity::Note);
}

/// Source: ABC 2.1, 4.11: nested slurs, slurs that meet on one note, dotted ones.
#[test]
fn slurs_nest_and_meet() {
    let piece = clean("notes/slurs");
    assert_eq!(
        spans(&piece.parts[0]),
        [
            "Slur 0@0 → 0@3",
            "Slur 0@1 → 0@2",
            "Slur 1@0 → 1@2",
            "Slur 1@2 → 1@3",
            "Slur 2@0 → 2@1",
            "Slur 2@2 → 2@3",
            "Slur 3@0 → 3@0"
        ]
    );
    let (piece, findings) = read("notes/slurs-unpaired");
    assert_eq!(spans(&piece.parts[0]), ["Slur ? → 0@1", "Slur 1@0 → ?"]);
    assert_eq!(kinds(&findings), ["unpaired-slur 1", "unpaired-slur 2"]);
}

/// Source: ABC 2.1, 4.7: notes without a space between them are beamed; back quotes mean nothing.
#[test]
fn beams_follow_the_spaces() {
    let piece = clean("notes/beams");
    let said: Vec<String> = piece.parts[0]
        .events
        .iter()
        .map(|event| {
            let letter = |beam: &Beam| match beam {
                Beam::Begin => "b",
                Beam::Continue => "c",
                Beam::End => "e",
                Beam::ForwardHook => "f",
                Beam::BackwardHook => "h",
            };
            event.beams.iter().map(letter).collect()
        })
        .collect();
    assert_eq!(
        said,
        [
            "b", "e", "b", "e", "bb", "ce", "e", "", // AB cd e/f/g a2
            "b", "e", "", "b", "e", "", // ABc2de z
            "b", "e", "b", "eh", "bb", "cc", "ee", "", "", "" // A`B A>B A/B/c/z/ Az
        ]
    );
}

/// Source: ABC 2.1, 7.4.
#[test]
fn an_overlay_is_a_further_voice_of_the_bar() {
    let piece = clean("notes/overlay");
    assert_eq!(piece.parts[0].voices, ["1", "1 overlay 1", "1 overlay 2"]);
    assert_eq!(
        bars(&piece.parts[0]),
        [
            "C5/half 1:C4/whole D5/half",
            "C5/whole 1:E4/quarter 2:C4/whole 1:F4/quarter 1:G4/quarter 1:A4/quarter",
            "C5/whole"
        ]
    );
    assert_eq!(labels(&piece), ["1", "2", "3"]);
}

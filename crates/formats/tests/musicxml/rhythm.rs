//! Durations, tuplets, grace notes, rests that fill the bar.

use crate::{clean, events, kinds, read, spans};

#[test]
fn grace_notes_take_no_time_and_keep_their_order() {
    let piece = clean("rhythm/grace-notes");
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 B4 16th grace0",
            "0@0 D5 16th grace1",
            "0@0 C5 half =2",
            "0@2 F5+A5 eighth grace0/",
            "0@2 E5 half =2",
            "0@4 D5 16th grace0 after",
            "0@4 E5 16th grace1 after",
            "1@0 F5 whole =4"
        ]
    );
}

/// Source: MusicXML 4.0, `<time-modification>`: the product of all levels; `<tuplet>`: each level's own numbers.
#[test]
fn nested_tuplets_are_told_outermost_first() {
    let piece = clean("rhythm/tuplets-nested");
    let part = &piece.parts[0];
    let said = events(part);
    assert_eq!(said[0], "0@0 C5 quarter 3:2 =2/3");
    assert_eq!(said[1], "0@2/3 D5 16th 3:2 5:4 =2/15");
    assert_eq!(said[6], "0@4/3 C5 quarter 3:2 =2/3");
    assert_eq!(said[7], "0@2 B4 eighth 3:2 =1/3");
    for event in &part.events {
        let written = event.written.as_ref().expect("a value");
        assert_eq!(
            written.quarters(),
            event.duration,
            "the chain multiplies to the duration"
        );
    }
    assert_eq!(
        spans(part),
        [
            "Tuplet { actual: 3, normal: 2, bracket: true } 0@0 → 0@4/3",
            "Tuplet { actual: 5, normal: 4, bracket: true } 0@2/3 → 0@6/5",
            "Tuplet { actual: 3, normal: 2, bracket: true } 0@2 → 0@8/3"
        ]
    );
}

#[test]
fn rounded_divisions_are_made_exact() {
    let piece = clean("rhythm/rounded-divisions");
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 C5 eighth 3:2 =1/3",
            "0@0 G4 quarter =1",
            "0@1/3 D5 eighth 3:2 =1/3",
            "0@2/3 E5 eighth 3:2 =1/3",
            "0@1 C5 quarter =1",
            "0@1 F4 quarter =1"
        ]
    );
    assert_eq!(piece.bars[0].length.to_string(), "2");
}

#[test]
fn divisions_change_within_a_bar() {
    let piece = clean("rhythm/divisions");
    assert_eq!(
        events(&piece.parts[0]),
        ["0@0 C4 quarter =1", "0@1 D4 quarter =1", "0@2 E4 half =2"]
    );
}

#[test]
fn without_divisions_the_print_is_believed_and_it_is_said() {
    let (piece, findings) = read("rhythm/no-divisions");
    assert_eq!(kinds(&findings), ["divisions-missing 1"]);
    assert_eq!(
        events(&piece.parts[0]),
        ["0@0 C2 eighth =1/2", "0@1/2 D2 eighth =1/2", "0@1 E2 quarter =1"]
    );
}

#[test]
fn unusable_durations_are_findings_not_failures() {
    let (piece, findings) = read("rhythm/durations-wrong");
    assert_eq!(
        kinds(&findings),
        [
            "duration-contradicts 1",
            "duration-missing 1",
            "duration-unusable 1",
            "duration-unusable 1",
            "duration-unusable 1",
            "duration-contradicts 2",
            "note-value-unknown 2",
            "bar-long 1",
            "bar-short 2"
        ]
    );
    let durations: Vec<String> = piece.parts[0]
        .events
        .iter()
        .map(|e| e.duration.to_string())
        .collect();
    assert_eq!(durations, ["1", "1", "1", "1", "1", "0", "1", "2"]);
}

#[test]
fn cues_by_element_and_by_size() {
    let piece = clean("rhythm/cues");
    let cues: Vec<bool> = piece.parts[0].events.iter().map(|event| event.cue).collect();
    assert_eq!(cues, [true, true, false, false]);
}

#[test]
fn a_whole_bar_rest_takes_the_bar() {
    let (piece, findings) = read("rhythm/whole-bar-rests");
    assert_eq!(kinds(&findings), ["whole-bar-rest 1"]);
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 bar-rest =3",
            "1@0 bar-rest whole =3",
            "3@0 rest half =2",
            "3@2 rest quarter =1"
        ]
    );
    assert!(
        piece.bars.iter().all(|bar| bar.length.to_string() == "3"),
        "the empty bar too"
    );
}

#[test]
fn faulty_chords_are_kept_and_said() {
    let (piece, findings) = read("rhythm/chord-faults");
    assert_eq!(kinds(&findings), ["chord-alone 1", "chord-uneven 1"]);
    assert_eq!(
        events(&piece.parts[0]),
        ["0@0 C5 quarter =1", "0@1 C5+E5 quarter =1"]
    );
}

#[test]
fn beams_by_level() {
    let piece = clean("rhythm/beams");
    use notation::Beam::{BackwardHook, Begin, End};
    let beams: Vec<&[notation::Beam]> = piece.parts[0]
        .events
        .iter()
        .map(|event| event.beams.as_slice())
        .collect();
    assert_eq!(beams, [[Begin].as_slice(), [End, BackwardHook].as_slice()]);
}

#[test]
fn brackets_over_plain_notes_are_said() {
    let (piece, findings) = read("rhythm/brackets-without-tuplets");
    assert_eq!(kinds(&findings), ["tuplet-unclear 1"]);
    assert!(piece.parts[0].spans.is_empty());
}

#[test]
fn a_second_voice_that_leaves_out_its_rests_is_said_once() {
    let (piece, findings) = read("rhythm/voice-incomplete");
    assert_eq!(kinds(&findings), ["voice-incomplete 1"]);
    assert!(findings[0].what.contains("voice 2") && findings[0].what.contains("2 bars"));
    assert!(piece.bars.iter().all(|bar| bar.length.to_string() == "2"));
}

//! What becomes of notes that were played and not typed? Onsets near the beat, gaps of the touch, overlaps of legato.

use crate::file::{Track, one, track};
use crate::{kinds, page, read, said};
use notation::Severity;

/// A line played by hand: ticks off the beat and lengths, both made up but plausible.
fn by_hand() -> Track {
    track()
        .metre(0, 4, 2)
        .tempo(0, 96)
        .key(0, 0, false)
        .note(7, 440, 60)
        .note(492, 210, 62)
        .note(731, 215, 64)
        .note(951, 470, 65)
        .note(1449, 400, 67)
        .note(1931, 205, 69)
        .note(2149, 260, 67)
        .note(2391, 1460, 65)
}

#[test]
fn played_onsets_are_written_on_the_beat_and_the_error_is_said() {
    let (piece, findings) = read(&one(by_hand()));
    assert_eq!(
        page(&piece, 0),
        "C4/quarter D4/eighth E4/eighth F4/quarter G4/quarter | A4/eighth G4/eighth F4/half."
    );
    let quantised = findings
        .iter()
        .find(|finding| finding.kind == "midi-quantised")
        .expect("a finding");
    assert_eq!(quantised.severity, Severity::Caution);
    // The furthest is 12 ticks from the beat: 12/480 of 625 ms.
    assert!(
        quantised.what.ends_with("at most by 12 ticks (16 ms, bar 1)"),
        "{}",
        quantised.what
    );
    assert!(said(&findings, "midi-lengths").contains("notes end a little before the next one starts"));
}

#[test]
fn a_bar_whose_notes_were_moved_far_is_named() {
    let notes = by_hand().note(3840 + 27, 420, 60).note(3840 + 480, 400, 60);
    let (_, findings) = read(&one(notes));
    let moved: Vec<_> = findings
        .iter()
        .filter(|finding| finding.kind == "midi-bar-moved")
        .collect();
    assert_eq!(moved.len(), 1, "{findings:#?}");
    assert_eq!(moved[0].bar_label.as_deref(), Some("3"));
}

#[test]
fn a_gap_of_the_touch_is_no_rest_and_no_staccato() {
    // Each note sounds for 90 % of its time, as many programs write; the last rest is one.
    let (piece, findings) = read(&one(track()
        .metre(0, 4, 2)
        .note(0, 432, 60)
        .note(480, 432, 62)
        .note(960, 216, 64)
        .note(1440, 432, 65)));
    assert_eq!(
        page(&piece, 0),
        "C4/quarter D4/quarter E4/eighth r/eighth F4/quarter"
    );
    assert!(said(&findings, "midi-lengths").starts_with("2 notes end a little before"));
    assert!(
        piece.parts[0]
            .events
            .iter()
            .all(|event| event.articulations.is_empty())
    );
}

#[test]
fn an_overlap_of_legato_is_cut() {
    let (piece, findings) = read(&one(track()
        .metre(0, 4, 2)
        .note(0, 500, 60)
        .note(480, 503, 62)
        .note(960, 490, 64)
        .note(1440, 470, 65)));
    assert_eq!(page(&piece, 0), "C4/quarter D4/quarter E4/quarter F4/quarter");
    assert!(said(&findings, "midi-lengths").contains("3 that run into the next"));
}

#[test]
fn written_rests_stay_rests() {
    let (piece, findings) = read(&one(track().metre(0, 4, 2).line(
        0,
        &[
            (360, 60),
            (120, 0),
            (420, 62),
            (60, 0),
            (480, 64),
            (480, 65),
            (1920, 67),
        ],
    )));
    assert_eq!(
        page(&piece, 0),
        "C4/eighth. r/16th D4/eighth.. r/32nd E4/quarter F4/quarter | G4/whole"
    );
    assert_eq!(kinds(&findings), ["midi-key-guessed"]);
}

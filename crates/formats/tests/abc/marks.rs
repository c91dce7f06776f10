//! Decorations, dynamics, lines, annotations, chord symbols.

use crate::{bars, clean, directions, kinds, marks, read, spans};

/// Source: ABC 2.1, 4.14.
#[test]
fn decorations_become_marks() {
    let piece = clean("marks/decorations");
    assert_eq!(
        marks(&piece.parts[0]),
        [
            "staccato",
            "accent",
            "tenuto",
            "marcato",
            "staccatissimo",
            "scoop",
            "breath mark",
            "down-bow",
            "up-bow",
            "snap-pizzicato",
            "open-string",
            "thumb-position",
            "trill",
            "mordent",
            "inverted mordent",
            "roll",
            "turn",
            "inverted turn",
            "arpeggio",
            "stopped",
            "fermata",
            "fermata below",
            "fingering 4",
            "tremolo"
        ]
    );
}

/// Source: ABC 2.1, 4.14; `8va(` is common practice: notes are drawn an octave below where they sound.
#[test]
fn dynamics_and_lines() {
    let (piece, findings) = read("marks/dynamics-and-lines");
    let part = &piece.parts[0];
    assert_eq!(directions(part), ["0@0 p", "1@0 f", "2@3 sfz"]);
    assert_eq!(
        spans(part),
        [
            "Crescendo { niente: false } 0@1 → 0@3",
            "Diminuendo { niente: false } 1@1 → 1@4",
            "TrillLine 2@0 → 2@2",
            "Ottava { octaves: 1 } 3@0 → 3@2",
            "Crescendo { niente: false } 4@0 → ?"
        ]
    );
    assert_eq!(bars(part)[3], "C5/quarter C5/quarter C5/quarter C4/quarter");
    assert_eq!(marks(part)[8], "trill");
    assert_eq!(kinds(&findings), ["unpaired-hairpin 5"]);
}

/// Source: ABC 2.1, 4.18 and 4.19.
#[test]
fn annotations_and_chord_symbols() {
    let piece = clean("marks/annotations");
    assert_eq!(
        directions(&piece.parts[0]),
        [
            "0@0 ^“above”",
            "0@1 _“below”",
            "0@1 harmony:Am7",
            "0@2 “left”",
            "0@3 “free”",
            "1@0 harmony:Bb/D",
            "1@1 ^“dolce”",
            "1@2 harmony:G(Em)",
            "1@3 harmony:N.C."
        ]
    );
}

#[test]
fn what_is_not_known_is_said() {
    let (piece, findings) = read("marks/unknown");
    assert_eq!(
        bars(&piece.parts[0]),
        ["C4/quarter C4/quarter C4/quarter C4/quarter"; 2]
    );
    let said: Vec<&str> = findings.iter().map(|finding| finding.what.as_str()).collect();
    for what in ["!wobble!", "letter h", "“#”", "“]”", "“swing” in the K: field"] {
        assert!(said.iter().any(|said| said.contains(what)), "{what}: {said:#?}");
    }
    assert_eq!(said.len(), 5);
}

#[test]
fn an_ottava_that_nobody_ends_lasts_to_the_end_of_its_section() {
    let (piece, findings) = crate::read_text("X:1\nM:2/4\nL:1/4\nK:C\n!8va(!C D|E F||C D|\n");
    assert_eq!(
        bars(&piece.parts[0]),
        [
            "C5/quarter D5/quarter",
            "E5/quarter F5/quarter",
            "C4/quarter D4/quarter"
        ]
    );
    assert_eq!(kinds(&findings), ["unpaired-ottava 2"]);
}

//! What reaches from note to note or place to place.

use crate::{clean, events, kinds, read, spans};

#[test]
fn slurs_and_ties_by_names_beats_and_attributes() {
    let (piece, findings) = read("spans/slurs-and-ties");
    assert_eq!(
        kinds(&findings),
        ["sign-unplaced 4", "unpaired-slur 1", "unpaired-tie 4"]
    );
    let part = &piece.parts[0];
    assert_eq!(
        spans(part),
        [
            "Slur 0@0 → 0@2",
            "Slur 0@0 → 0@3",
            "Other(\"phrase\") 0@0 → 1@2",
            "Slur 0@0 → ?",
            "Slur 0@1 → 1@0",
            "Slur 0@2 → 1@0",
        ]
    );
    assert_eq!(part.spans[1].side, Some(notation::Side::Above));
    assert_eq!(
        &events(part)[4..],
        [
            "1@0 C5~)+E5~ half =2",
            "1@2 C5+E5^ half =2",
            "2@0 G4~ half =2",
            "2@2 G4^~ quarter =1",
            "2@3 G4^ quarter =1",
            "3@0 C5~ half =2",
            "3@2 D5 half =2",
        ]
    );
}

#[test]
fn hairpins_octaves_pedals_and_lines() {
    let piece = clean("spans/hairpins-and-lines");
    let part = &piece.parts[0];
    assert_eq!(
        spans(part),
        [
            "Crescendo { niente: false } 0@0 → 1@0",
            "Pedal 0@0 → 1@0",
            "Ottava { octaves: 1 } 0@2 → 1@0",
            "Diminuendo { niente: true } 1@0 → 1@2",
            "Ottava { octaves: -1 } 1@0 → 1@2",
            "Pedal 1@0 → 1@2",
            "Glissando 2@0 → 2@2",
            "Bracket 2@0 → 2@2",
            "Dashes 2@0 → 2@7/2",
        ]
    );
    // Written where they are drawn, the notes are kept where they sound: up under 8va, down over 8vb.
    let pitches: Vec<String> = part
        .events
        .iter()
        .flat_map(notation::Event::pitches)
        .map(|p| p.to_string())
        .collect();
    assert_eq!(pitches, ["C5", "D5", "E6", "F6", "C4", "D4", "C5", "G5"]);
}

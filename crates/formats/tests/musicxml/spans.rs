//! What reaches from one note to another, both ends found, or said.

use crate::{clean, events, kinds, read, spans};

#[test]
fn ties_find_the_same_pitch() {
    let (piece, findings) = read("spans/ties");
    assert_eq!(kinds(&findings), ["unpaired-tie 3", "tie-end-implied 2"]);
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 C3 half =2",
            "0@2 G2~+D3 half =2",
            "1@0 G2^~+D3 quarter =1",
            "1@1 G2^ quarter =1",
            "1@2 A2~ quarter =1",
            "1@3 A2^ quarter =1",
            "2@0 E3~) half =2",
            "2@2 F3~ half =2",
            "3@0 G3 whole =4"
        ]
    );
    assert!(findings[0].element.is_some(), "the finding names the head");
}

#[test]
fn slurs_cross_bars_voices_and_each_other() {
    let (piece, findings) = read("spans/slurs");
    assert_eq!(kinds(&findings), ["unpaired-slur 4", "unpaired-slur 3"]);
    assert_eq!(
        spans(&piece.parts[0]),
        [
            "Slur 0@0 → 0@2",
            "Slur 0@1 → 0@3",
            "Slur 0@3 → 1@0",
            "Slur 1@0 → 1@2",
            "Slur 2@0 → 2@0",
            "Slur 2@2 → ?",
            "Slur ? → 3@0"
        ]
    );
    let grace_slur = &piece.parts[0].spans[4];
    assert_ne!(
        grace_slur.start.and_then(|a| a.element),
        grace_slur.end.and_then(|a| a.element)
    );
}

/// Source: MusicXML 4.0, octave-shift: 8va is a shift *down* from the pitch data of the notes.
#[test]
fn hairpins_ottavas_pedals_and_lines() {
    let piece = clean("spans/hairpins-and-lines");
    let part = &piece.parts[0];
    assert_eq!(
        spans(part),
        [
            "Crescendo { niente: true } 0@0 → 0@2",
            "Diminuendo { niente: true } 0@2 → 0@4",
            "Ottava { octaves: 1 } 1@0 → 1@2",
            "Ottava { octaves: -2 } 1@2 → 1@4",
            "Pedal 2@0 → 2@2",
            "Pedal 2@2 → 2@4",
            "Dashes 3@0 → 3@4",
            "Bracket 3@0 → 3@4",
            "Glissando 3@0 → 3@2"
        ]
    );
    assert!(format!("{:?}", part.directions[0].kind).contains("gliss."));
}

#[test]
fn ends_without_starts_and_starts_without_ends() {
    let (piece, findings) = read("spans/unpaired");
    let mut said = kinds(&findings);
    said.sort();
    assert_eq!(
        said,
        [
            "unpaired-dashes 1",
            "unpaired-hairpin 1",
            "unpaired-hairpin 2",
            "unpaired-ottava 1",
            "unpaired-ottava 2",
            "unpaired-pedal 2",
            "unpaired-tuplet 1"
        ]
    );
    assert_eq!(
        spans(&piece.parts[0]),
        [
            "Dashes 0@0 → ?",
            "Crescendo { niente: false } 1@0 → ?",
            "Ottava { octaves: 1 } 1@0 → ?",
            "Pedal ? → 1@0"
        ]
    );
}

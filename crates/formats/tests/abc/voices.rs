//! Several voices: parts, staves, what is in force for each.

use crate::{bars, clean, kinds, read};

/// Source: ABC 2.1, 7.
#[test]
fn each_voice_is_a_part() {
    let piece = clean("voices/two-voices");
    let names: Vec<(&str, &str)> = piece
        .parts
        .iter()
        .map(|p| (p.name.as_str(), p.abbreviation.as_str()))
        .collect();
    assert_eq!(names, [("Flute", "Fl."), ("Clarinet", "")]);
    assert_eq!(
        bars(&piece.parts[0])[2],
        "F#4/quarter G4/quarter A4/quarter B4/quarter"
    );
    assert_eq!(
        bars(&piece.parts[1])[2],
        "F4/quarter G4/quarter A4/quarter B4/quarter",
        "the key changed for one voice"
    );
    assert_eq!(piece.parts[1].transpositions[0].value.chromatic.num(), -2);
    assert_eq!(piece.bars.len(), 3);
}

/// Source: ABC 2.1, 11.1.
#[test]
fn the_score_directive_groups_voices() {
    let (piece, findings) = read("voices/score");
    let voices: Vec<String> = piece
        .parts
        .iter()
        .map(|part| format!("{} on {}", part.voices.join("+"), part.staves))
        .collect();
    assert_eq!(voices, ["S+A on 1", "R+L on 2", "X on 1"]);
    assert_eq!(
        bars(&piece.parts[1])[0],
        "G5/quarter 1:C3/quarter A5/quarter 1:D3/quarter"
    );
    let clefs: Vec<(Option<u8>, String)> = piece.parts[1]
        .clefs
        .iter()
        .map(|c| (c.staff, c.value.name()))
        .collect();
    assert_eq!(
        clefs,
        [(Some(1), "treble".to_owned()), (Some(2), "bass".to_owned())]
    );
    assert!(
        piece.parts[1]
            .events
            .iter()
            .all(|event| event.staff == u8::try_from(event.voice + 1).expect("few"))
    );
    assert_eq!(kinds(&findings), ["voice-not-in-score"]);
}

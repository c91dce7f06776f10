//! Keys, metres, clefs and transpositions.

use crate::{clean, kinds, read};
use notation::{BarIndex, MetreSymbol, Pitch, Place, Rational};

#[test]
fn keys_plain_listed_and_by_staff() {
    let (piece, findings) = read("changes/keys");
    assert_eq!(kinds(&findings), ["key-unclear 4"]);
    let keys = &piece.parts[0].keys;
    assert_eq!(keys.len(), 4);
    assert_eq!(
        (keys[0].value.fifths, keys[0].value.declared_mode.as_deref()),
        (Some(-3), Some("minor"))
    );
    assert_eq!(keys[1].value.name(), "F♯ B♭ (non-traditional)");
    assert_eq!(
        (keys[2].staff, keys[2].value.fifths, keys[2].printed),
        (Some(1), Some(1), true)
    );
    assert_eq!(
        (keys[3].staff, keys[3].value.fifths, keys[3].printed),
        (Some(2), Some(-1), false)
    );
}

#[test]
fn metres_of_every_kind() {
    let (piece, findings) = read("changes/metres");
    assert_eq!(kinds(&findings), ["metre-unclear 10"]);
    let metres = &piece.parts[0].metres;
    let names: Vec<String> = metres.iter().map(|change| change.value.name()).collect();
    assert_eq!(
        names,
        [
            "C",
            "¢",
            "3+2/8",
            "2/4+3/8",
            "3/4",
            "6/8",
            "1/4",
            "senza misura",
            "3/4"
        ]
    );
    assert_eq!(metres[4].value.symbol, MetreSymbol::SingleNumber);
    assert_eq!(metres[5].value.symbol, MetreSymbol::Note);
    assert!(!metres[6].printed);
    let shown_too = &piece.parts[0].directions;
    assert_eq!(shown_too.len(), 1);
    assert!(format!("{:?}", shown_too[0].kind).contains("6/8"));
}

#[test]
fn clefs_of_every_sign() {
    let (piece, findings) = read("changes/clefs");
    assert_eq!(kinds(&findings), ["clef-unclear 6"]);
    let clefs = &piece.parts[0].clefs;
    let codes: Vec<String> = clefs.iter().map(|change| change.value.code()).collect();
    assert_eq!(codes, ["F4", "G28vb", "C3", "percussion", "TAB", "none"]);
    assert_eq!(
        clefs[1].place,
        Place {
            bar: BarIndex(0),
            offset: Rational::ONE
        }
    );
}

/// Source: MusicXML 4.0, `<transpose>`: what is added to written to get sounding.
#[test]
fn transpositions() {
    let (piece, findings) = read("changes/transpositions");
    assert_eq!(
        kinds(&findings),
        ["transposition-guessed 3", "transposition-contradicts 4"]
    );
    let part = &piece.parts[0];
    let written = Pitch::parse("D5").expect("a pitch");
    let sounding: Vec<String> = part
        .transpositions
        .iter()
        .map(|change| change.value.sounding(written).to_string())
        .collect();
    assert_eq!(sounding, ["C5", "G3", "B4", "C5", "D5"]);
    assert!(part.transpositions[4].value.doubled);
}

#[test]
fn a_score_at_concert_pitch_says_so() {
    let (piece, findings) = read("changes/concert-score");
    assert!(piece.concert_pitch);
    assert!(kinds(&findings).is_empty());
    let written_for = piece.parts[0].for_player.expect("what the player's part will be");
    assert_eq!(
        written_for.sounding(Pitch::parse("D5").unwrap()),
        Pitch::parse("C5").unwrap()
    );
    assert!(!clean("basics/two-parts").concert_pitch);
}

#[test]
fn staff_lines_capo_and_tuning() {
    let piece = clean("changes/staff-details");
    let part = &piece.parts[0];
    assert_eq!(part.staff_lines, [(1, 1)]);
    let signs: Vec<String> = part.directions.iter().map(|d| format!("{:?}", d.kind)).collect();
    assert_eq!(signs[0], r#"Sign { name: "staff-tuning", text: "1: Eb2" }"#);
    assert_eq!(signs[1], r#"Sign { name: "capo", text: "2" }"#);
    assert!(!part.directions[0].printed && part.directions[1].printed);
}

#[test]
fn a_directive_is_words() {
    let piece = clean("changes/staff-details");
    let last = piece.parts[0].directions.last().expect("a direction");
    assert_eq!(last.kind, notation::DirectionKind::Words("Andante".to_owned()));
}

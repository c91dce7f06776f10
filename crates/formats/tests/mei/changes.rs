//! Clefs, keys, metres, transpositions: at the start, between measures, within a bar.

use crate::{kinds, read};
use notation::{Change, MetreSymbol};

/// Changes as `bar@offset value`.
fn dated<T>(changes: &[Change<T>], say: impl Fn(&T) -> String) -> Vec<String> {
    changes
        .iter()
        .map(|change| {
            format!(
                "{}@{} {}",
                change.place.bar,
                change.place.offset,
                say(&change.value)
            )
        })
        .collect()
}

#[test]
fn changes_of_every_kind() {
    let (piece, findings) = read("changes/changes");
    assert_eq!(kinds(&findings), Vec::<String>::new());
    let part = &piece.parts[0];
    assert_eq!(
        dated(&part.clefs, |clef| clef.code()),
        ["0@0 G2", "2@0 C4", "2@2 G28vb"]
    );
    assert_eq!(
        dated(&part.keys, notation::KeySignature::name),
        [
            "0@0 no sharps or flats",
            "1@0 2 sharps",
            "2@0 3 flats",
            "2@2 no sharps or flats",
            "3@0 F♯ E♭ (non-traditional)",
            "5@0 6 flats"
        ]
    );
    assert_eq!(part.keys[1].value.declared_mode.as_deref(), Some("major"));
    assert_eq!(
        dated(&part.metres, notation::Metre::fraction),
        [
            "0@0 4/4",
            "1@0 3/8",
            "2@0 2/2",
            "3@0 3+2/8",
            "4@0 2/4+3/8",
            "5@0 senza misura"
        ]
    );
    assert_eq!(part.metres[2].value.symbol, MetreSymbol::Cut);
    assert_eq!(
        dated(&part.transpositions, |t| format!(
            "{}/{}",
            t.diatonic, t.chromatic
        )),
        ["2@0 -1/-2"]
    );
}

#[test]
fn transpositions_say_how_the_written_note_sounds() {
    let (piece, findings) = read("changes/transpositions");
    assert_eq!(kinds(&findings), ["transposition-guessed"]);
    let said: Vec<(i32, String, i32)> = piece
        .parts
        .iter()
        .map(|part| {
            let value = part.transpositions[0].value;
            (value.diatonic, value.chromatic.to_string(), value.octaves)
        })
        .collect();
    let of = |diatonic, chromatic: &str, octaves| (diatonic, chromatic.to_owned(), octaves);
    assert_eq!(
        said,
        [of(-1, "-2", 0), of(-1, "-2", 0), of(-1, "-2", -1), of(0, "0", 1)]
    );
}

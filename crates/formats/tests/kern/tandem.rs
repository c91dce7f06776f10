//! Clefs, keys, metres, tempos, transpositions, ottavas, pedals, cues, instruments.

use crate::{clean, directions, events, kinds, read, spans};
use notation::{Change, Clef, Part, Rational, Transposition};

fn keys(part: &Part) -> Vec<String> {
    let say = |change: &Change<notation::KeySignature>| {
        let mode = change.value.declared_mode.as_deref().unwrap_or("-");
        format!(
            "{}@{} {} {mode}",
            change.place.bar,
            change.place.offset,
            change.value.name()
        )
    };
    part.keys.iter().map(say).collect()
}

fn metres(part: &Part) -> Vec<String> {
    let say = |change: &Change<notation::Metre>| {
        format!(
            "{}@{} {}",
            change.place.bar,
            change.place.offset,
            change.value.name()
        )
    };
    part.metres.iter().map(say).collect()
}

#[test]
fn clefs_of_every_sign_and_octave() {
    let (piece, findings) = read("tandem/clefs");
    let part = &piece.parts[0];
    let say = |change: &Change<Clef>| {
        format!(
            "{}@{} {}",
            change.place.bar,
            change.place.offset,
            change.value.code()
        )
    };
    let said: Vec<String> = part.clefs.iter().map(say).collect();
    assert_eq!(said, ["0@0 G28vb", "0@1 C3", "1@1 F48va", "2@1 percussion"]);
    // The percussion clef gives no pitches.
    assert_eq!(events(part)[2..4], ["2@0 C4 quarter =1", "3@0 x(C4) quarter =1"]);
    assert_eq!(kinds(&findings), ["clef-unclear 4"]);
}

#[test]
fn keys_with_the_mode_that_stands_beside_them() {
    let (piece, findings) = read("tandem/keys");
    let part = &piece.parts[0];
    assert_eq!(
        keys(part),
        [
            "0@0 2 sharps major",
            "1@1 1 flat dorian",
            "2@1 F♯ B♭ (non-traditional) -",
            "4@0 no sharps or flats -"
        ]
    );
    // A designation alone is analysis; beside another signature than its own it declares no mode.
    assert_eq!(
        directions(part),
        [
            "1@0 Sign { name: \"key\", text: \"A minor\" } hidden",
            "4@0 Sign { name: \"key\", text: \"D minor\" } hidden"
        ]
    );
    assert_eq!(kinds(&findings), ["key-unclear 4", "accidentals-implied"]);
}

#[test]
fn a_key_without_a_signature_implies_the_usual_one() {
    let (piece, findings) = read("tandem/key-without-signature");
    assert_eq!(keys(&piece.parts[0]), ["0@0 3 flats major"]);
    assert_eq!(kinds(&findings), ["signature-guessed 1"]);
    let id = piece.parts[0].keys[0].id;
    assert_eq!(
        piece.provenance.origins.get(&id).map(|o| o.how),
        Some(notation::How::Guessed)
    );
}

#[test]
fn metres_with_their_symbols() {
    let (piece, findings) = read("tandem/metres");
    assert_eq!(
        metres(&piece.parts[0]),
        ["0@0 C", "0@4 ¢", "1@4 3+2/8", "2@5/2 senza misura"]
    );
    assert_eq!(piece.parts[0].metres[1].value.fraction(), "2/2");
    assert_eq!(kinds(&findings), ["metre-unclear 4"]);
}

#[test]
fn tempos_are_hints_and_their_words_are_words() {
    let (piece, findings) = read("tandem/tempo");
    assert_eq!(piece.sound_hints.len(), 1);
    assert_eq!(piece.sound_hints[0].get("tempo"), Some("72"));
    assert_eq!(
        directions(&piece.parts[0]),
        [
            "0@0 Words(\"Andante\") Above",
            "0@2 Words(\"Meno mosso\") Above",
            "1@2 Words(\"Vivace\") Above"
        ]
    );
    assert_eq!(kinds(&findings), ["tempo-unclear 2"]);
}

/// Source: Humdrum reference, `**kern`: "Transposing instruments are represented at concert pitch".
#[test]
fn a_transposing_part_is_read_as_it_is_written() {
    let (piece, _) = read("tandem/transposing");
    let clarinet = &piece.parts[0];
    assert_eq!(
        events(clarinet),
        ["0@0 C5 quarter =1", "0@1 Bb4 quarter =1", "1@0 G#4 half =2"]
    );
    assert_eq!(keys(clarinet), ["0@0 no sharps or flats -"]);
    let down = Transposition {
        diatonic: -1,
        chromatic: Rational::whole(-2),
        octaves: 0,
        doubled: false,
    };
    assert_eq!(clarinet.transpositions[0].value, down);
    let sounding = |part: &Part, nth: usize| {
        let event = &part.events[nth];
        let transposition = part.transposition_at(event.place);
        event
            .pitches()
            .map(|pitch| transposition.sounding(pitch).to_string())
            .collect::<Vec<_>>()
    };
    for nth in 0..3 {
        assert_eq!(sounding(clarinet, nth), sounding(&piece.parts[1], nth));
    }
}

#[test]
fn octaves_of_a_transposition_stand_apart() {
    let piece = clean("tandem/octave-transposition");
    let said: Vec<(i32, Rational, i32)> = piece
        .parts
        .iter()
        .map(|part| part.transpositions[0].value)
        .map(|t| (t.diatonic, t.chromatic, t.octaves))
        .collect();
    assert_eq!(said, [(-1, Rational::whole(-2), -1), (0, Rational::ZERO, -1)]);
    let tops: Vec<String> = piece.parts.iter().map(|part| events(part)[0].clone()).collect();
    assert_eq!(tops, ["0@0 D4 quarter =1", "0@0 C3 quarter =1"]);
}

#[test]
fn ottavas_pedals_and_cues() {
    let (piece, findings) = read("tandem/ottava-pedal-cue");
    let part = &piece.parts[0];
    assert_eq!(
        spans(part),
        ["Ottava { octaves: 1 } 0@0 → 0@2", "Pedal 0@0 → 0@2"]
    );
    assert_eq!(part.ottava_at(1, part.events[1].place), 1);
    assert_eq!(part.ottava_at(1, part.events[2].place), 0);
    assert_eq!(events(part)[2..], ["1@0 G4 quarter =1 cue", "1@1 A4 quarter =1"]);
    assert_eq!(kinds(&findings), ["not-read 2"]);
    assert!(findings[0].what.contains("*odd"), "{}", findings[0].what);
}

/// Source: Humdrum user's guide, appendix II (instrumentation codes).
#[test]
fn instruments_by_code_and_their_changes() {
    let piece = clean("tandem/instruments");
    let part = &piece.parts[0];
    assert_eq!(part.instrument_sound.as_deref(), Some("wind.reed.clarinet"));
    assert_eq!(
        directions(part),
        ["0@1 Sign { name: \"instrument-change\", text: \"Bass clarinet\" }"]
    );
}

#[test]
fn an_interpretation_says_that_the_music_was_transposed() {
    let text = b"**kern\n*Trd1c2\n*M1/4\n4d\n*-\n";
    let (piece, findings) = formats::read(text, "moved").expect("a piece");
    assert_eq!(kinds(&findings), ["transposed-source 1"]);
    assert_eq!(events(&piece.parts[0]), ["0@0 D4 quarter =1"]);
}

use super::{Reader, rewritten};
use notation::{Change, Clef, IdKind, Piece, Place, Rational, Transposition, sketch};

fn pitches(piece: &Piece) -> Vec<String> {
    piece.parts[0]
        .events
        .iter()
        .flat_map(|event| event.pitches())
        .map(|pitch| pitch.to_string())
        .collect()
}

/// What sounds, in semitones.
fn sounding(piece: &Piece) -> Vec<Rational> {
    let part = &piece.parts[0];
    let of = |event: &notation::Event| {
        let by = part.transposition_at(event.place);
        event
            .pitches()
            .map(move |pitch| by.sounding(pitch).semitones())
            .collect::<Vec<_>>()
    };
    part.events.iter().flat_map(of).collect()
}

fn clarinet_in_b_flat(line: &str) -> Piece {
    let mut piece = sketch(line).unwrap();
    let id = piece.ids.give(IdKind::Change);
    piece.parts[0].transpositions = vec![Change {
        id,
        place: Place::default(),
        staff: None,
        value: Transposition {
            diatonic: -1,
            chromatic: Rational::whole(-2),
            octaves: 0,
            doubled: false,
        },
        printed: true,
    }];
    piece
}

/// Source: any orchestration table (common practice): a B-flat clarinet's written D major sounds C major.
#[test]
fn concert_pitch_is_what_sounds() {
    let piece = clarinet_in_b_flat("key:2 D5/q E5/q F#5/h |");
    let done = rewritten(&piece, Reader::Concert);
    assert_eq!(pitches(&done.piece), ["C5", "D5", "E5"]);
    assert_eq!(done.piece.parts[0].keys[0].value.fifths, Some(0));
    assert_eq!(sounding(&done.piece), sounding(&piece));
    assert!(done.piece.parts[0].transpositions.is_empty());
    assert_eq!(done.findings, []);
}

#[test]
fn another_instrument_sounds_the_same_and_ids_stay() {
    let piece = sketch("key:-1 F4/q A4/q C5/h | Bb4/w |").unwrap();
    let horn = instruments::by_id("horn-f")
        .or_else(|| instruments::by_id("horn"))
        .unwrap();
    let done = rewritten(&piece, Reader::Instrument(horn));
    assert_eq!(pitches(&done.piece), ["C5", "E5", "G5", "F5"]);
    assert_eq!(sounding(&done.piece), sounding(&piece));
    let ids = |piece: &Piece| {
        piece.parts[0]
            .events
            .iter()
            .map(|event| event.id)
            .collect::<Vec<_>>()
    };
    assert_eq!(ids(&done.piece), ids(&piece));
    assert_eq!(done.piece.parts[0].name, horn.name);
}

#[test]
fn a_part_far_below_the_instrument_is_moved_and_told() {
    let piece = sketch("clef:F4 C3/q D3/q E3/h |").unwrap();
    let flute = instruments::by_id("flute").unwrap();
    let done = rewritten(&piece, Reader::Instrument(flute));
    assert_eq!(pitches(&done.piece), ["C4", "D4", "E4"]);
    assert_eq!(
        done.piece.parts[0].clef_at(1, Place::default()),
        Some(Clef::TREBLE)
    );
    assert!(done.findings.iter().any(|finding| finding.kind == "octave-moved"));
}

#[test]
fn each_note_out_of_range_is_named_with_its_bar() {
    let piece = sketch("C4/w | B3/q A3/q C6/h | D5/w |").unwrap();
    let flute = instruments::by_id("flute").unwrap();
    let done = rewritten(&piece, Reader::Instrument(flute));
    let out: Vec<_> = done
        .findings
        .iter()
        .filter(|finding| finding.kind == "out-of-range")
        .collect();
    assert_eq!(out.len(), 1, "{:?}", done.findings);
    assert_eq!(out[0].bar.map(|bar| bar.0), Some(1));
    assert!(out[0].what.contains("A3"), "{}", out[0].what);
}

#[test]
fn seven_sharps_and_more_are_spelled_the_other_way() {
    // B major for a B-flat instrument would be C-sharp major: it becomes D-flat major.
    let piece = sketch("key:5 B4/q C#5/q D#5/h |").unwrap();
    let clarinet = instruments::by_id("clarinet-bb").unwrap();
    let done = rewritten(&piece, Reader::Instrument(clarinet));
    assert_eq!(done.piece.parts[0].keys[0].value.fifths, Some(-5));
    assert_eq!(pitches(&done.piece), ["Db5", "Eb5", "F5"]);
    assert_eq!(sounding(&done.piece), sounding(&piece));
}

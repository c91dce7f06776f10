//! Ornaments as the handbooks write them out. Pieces are sketched in a line; each test names its publication.

use super::{LocalKey, OrnamentNotes, Reason, Surroundings, neighbour, realise};
use notation::{KeySignature, Ornament, OrnamentKind, Piece, Pitch, Side, Step, sketch};
use proptest::prelude::*;

fn pitch(name: &str) -> Pitch {
    Pitch::parse(name).expect(name)
}

fn names(notes: &[Pitch]) -> String {
    notes
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join(" ")
}

fn key(tonic: &str, mode: &str, certainty: f64) -> Option<LocalKey> {
    let pitch = pitch(&format!("{tonic}4"));
    Some(LocalKey {
        tonic: (pitch.step, pitch.whole_alter().expect("whole")),
        mode: mode.to_owned(),
        certainty,
    })
}

/// The first ornament of a sketch.
fn first(piece: &Piece, local: Option<LocalKey>) -> OrnamentNotes {
    let part = &piece.parts[0];
    let event = part
        .events
        .iter()
        .find(|event| !event.ornaments.is_empty())
        .expect("an ornament");
    let around = Surroundings::at(part, event, local);
    realise(&event.ornaments[0], event.top_pitch().expect("a pitch"), &around)
}

#[track_caller]
fn check(text: &str, local: Option<LocalKey>, expected: &str) -> OrnamentNotes {
    let found = first(&sketch(text).expect("a sketch"), local);
    assert_eq!(names(&found.notes), expected, "{text}: {}", found.why);
    found
}

/// Source: Grove's Dictionary, vol. 3, Ex. 19-20: d trills with e; b, in C, with c.
#[test]
fn grove_shakes() {
    check("key:0 D5/h!trill D5/h |", None, "D5 E5");
    check("key:0 C5/e B4/e!trill |", None, "B4 C5");
}

/// Source: Grove's Dictionary (1900), vol. 4, p. 437: the upper note is the next degree of the scale in force, and "an
/// accidental over the sign changes it".
#[test]
fn the_upper_note_follows_the_key_and_the_sign() {
    check("key:-3 D5/h!trill |", None, "D5 Eb5");
    check("key:2 B4/h!trill |", None, "B4 C#5");
    check("key:2 B4/h!trill^natural |", None, "B4 C5");
    check("key:0 A4/h!trill^flat |", None, "A4 Bb4");
}

/// Source: common practice for accidentals: in their own bar and octave, a tie for the tied note alone.
#[test]
fn a_live_accidental_counts_in_its_own_octave_and_bar() {
    assert_eq!(
        check("key:0 Bb4/q A4/h!trill |", None, "A4 Bb4")
            .upper
            .expect("upper")
            .reason,
        Reason::Accidental
    );
    check("key:0 Bb5/q A4/h!trill |", None, "A4 B4");
    check("key:0 Bb4/w | A4/h!trill |", None, "A4 B4");
    // Tied over the bar line: the flat holds for the tied note, and no longer.
    check("key:0 Bb4/w~ | Bb4/h A4/h!trill |", None, "A4 B4");
    // A natural that cancels the signature, and a grace note's accidental, are live too.
    check("key:-1 B4/q A4/h!trill |", None, "A4 B4");
    check("key:0 a:Bb4/e A4/h!trill |", None, "A4 Bb4");
}

/// Source: Grove (1900), p. 437: the key in force, "after a modulation too".
#[test]
fn a_certain_local_key_comes_before_the_signature_and_both_are_shown() {
    let found = check("key:0 E5/h!trill |", key("G", "major", 0.9), "E5 F#5");
    assert_eq!(
        found.upper.as_ref().map(|upper| upper.reason),
        Some(Reason::LocalKey)
    );
    assert_eq!(found.alternatives.len(), 1);
    assert_eq!(names(&found.alternatives[0].notes), "E5 F5");
    // An uncertain one is only shown.
    let found = check("key:0 E5/h!trill |", key("G", "major", 0.5), "E5 F5");
    assert_eq!(names(&found.alternatives[0].notes), "E5 F#5");
    // Where they agree there is nothing to choose; a live accidental ends the question.
    assert!(
        check("key:1 E5/h!trill |", key("G", "major", 0.9), "E5 F#5")
            .alternatives
            .is_empty()
    );
    assert!(
        check("key:0 F#5/q E5/h!trill |", key("C", "major", 0.9), "E5 F#5")
            .alternatives
            .is_empty()
    );
}

/// Source: common practice (melodic minor): no augmented second between the sixth and seventh degrees.
#[test]
fn never_an_augmented_second() {
    // A minor: on F the seventh is G, on F sharp it is G sharp.
    check("key:0 F5/h!trill |", key("A", "minor", 0.9), "F5 G5");
    check("key:0 F#5/h!trill |", key("A", "minor", 0.9), "F#5 G#5");
    // G sharp live in the bar, but F to G sharp would be an augmented second.
    check("key:0 G#5/q F5/h!trill |", key("A", "minor", 0.9), "F5 G5");
    check("key:0 G#5/q F5/h!trill |", None, "F5 G5");
    // The leading note trills with the tonic.
    check("key:0 G#4/h!trill |", key("A", "minor", 0.9), "G#4 A4");
    // A sign is obeyed even so.
    check("key:0 F5/h!trill^sharp |", None, "F5 G#5");
    // Altered main notes: the letter above, a second away.
    check("key:0 Eb5/h!trill |", None, "Eb5 F5");
    check("key:0 Ab4/h!trill |", None, "Ab4 Bb4");
    check("key:0 E#5/h!trill |", None, "E#5 F##5");
}

/// Source: Gehrkens, Music Notation and Terminology, §69: upper, main, lower, main; Bach's table of 1720 (from memory)
/// for the mordent: main, lower, main; Gehrkens §68 for the sign without stroke: main, upper, main.
#[test]
fn turns_and_mordents() {
    check("key:0 C5/q!turn |", None, "D5 C5 B4 C5");
    check("key:0 C5/q!inverted-turn |", None, "B4 C5 D5 C5");
    check("key:0 A4/q!mordent |", None, "A4 G4 A4");
    check("key:0 A4/q!inverted-mordent |", None, "A4 B4 A4");
    check("key:0 A4/q!mordent^sharp |", None, "A4 G#4 A4");
    // In A minor the note below the tonic is the leading note.
    check("key:0 A4/q!mordent |", key("A", "minor", 0.9), "A4 G#4 A4");
}

/// Source: Gehrkens §70: a turn after the note: the main note first, then the four notes.
#[test]
fn a_turn_between_two_notes() {
    check("key:0 C5/h!delayed-turn D5/h |", None, "C5 D5 C5 B4 C5");
}

/// Source: Grove's Dictionary, vol. 4 (turn): an accidental above the sign alters the upper note, below it the lower.
#[test]
fn signs_above_and_below_a_turn() {
    let sign = |name: &str, side| (name.to_owned(), side);
    let turn = Ornament {
        kind: OrnamentKind::Turn,
        side: None,
        accidentals: vec![sign("flat", Side::Above), sign("sharp", Side::Below)],
    };
    let found = realise(&turn, pitch("G4"), &Surroundings::default());
    assert_eq!(names(&found.notes), "Ab4 G4 F#4 G4");
    let below = Ornament {
        accidentals: vec![sign("sharp", Side::Below)],
        ..turn
    };
    assert_eq!(
        names(&realise(&below, pitch("G4"), &Surroundings::default()).notes),
        "A4 G4 F#4 G4"
    );
}

/// Source: W. Palmer on Bach (trill from above, four notes at least); Grove, vol. 3 (later from the main note).
#[test]
fn customs_of_beginning_a_trill() {
    let found = check("key:0 D5/h!trill |", None, "D5 E5");
    let starts: Vec<String> = found.starts.iter().map(|start| names(&start.notes)).collect();
    assert_eq!(starts, ["E5 D5 E5 D5", "D5 E5 D5 E5"]);
    let short = check("key:0 D5/q!inverted-mordent |", None, "D5 E5 D5");
    assert_eq!(names(&short.starts[0].notes), "E5 D5 E5 D5");
}

/// Source: common practice: the slide comes from a third below.
#[test]
fn a_slide_and_a_tremolo() {
    let slide = Ornament {
        kind: OrnamentKind::Schleifer,
        side: None,
        accidentals: vec![],
    };
    assert_eq!(
        names(&realise(&slide, pitch("E5"), &Surroundings::default()).notes),
        "C5 D5 E5"
    );
    let tremolo = Ornament {
        kind: OrnamentKind::Tremolo {
            strokes: 3,
            between: false,
        },
        side: None,
        accidentals: vec![],
    };
    assert_eq!(
        names(&realise(&tremolo, pitch("E5"), &Surroundings::default()).notes),
        "E5"
    );
}

/// Source: Grove, "Appoggiatura": lower auxiliary one semitone below, upper by the scale.
#[test]
fn a_semitone_below_is_offered() {
    let found = check("key:0 G4/q!mordent |", None, "G4 F4 G4");
    assert_eq!(names(&found.alternatives[0].notes), "G4 F#4 G4");
}

proptest! {
    /// Without a sign the neighbour is always a minor or major second, on the next letter.
    #[test]
    fn a_neighbour_is_a_second(
        step in 0i32..7, alter in -2i8..=2, upward: bool, fifths in -7i8..=7,
        tonic in 0i32..7, minor: bool, certainty in 0.0f64..1.0, live in proptest::option::of(-2i8..=2),
    ) {
        let main = Pitch::new(Step::from_index(step), alter, 4);
        let mode = if minor { "minor" } else { "major" };
        let mut around = Surroundings {
            signature: KeySignature::of_fifths(fifths),
            local: Some(LocalKey { tonic: (Step::from_index(tonic), 0), mode: mode.to_owned(), certainty }),
            ..Surroundings::default()
        };
        let beside = main.transposed(if upward { 1 } else { -1 }, notation::Rational::ZERO);
        if let Some(live) = live {
            around.live.insert((beside.octave, beside.step), notation::Rational::whole(i64::from(live)));
        }
        let found = neighbour(main, upward, None, &around);
        prop_assert_eq!((found.pitch.step, found.pitch.octave), (beside.step, beside.octave));
        for pitch in [found.pitch].into_iter().chain(found.others.iter().map(|(pitch, _)| *pitch)) {
            let apart = pitch.key_number() - main.key_number();
            prop_assert!((1..=2).contains(&apart.abs()) && (apart > 0) == upward, "{main} {pitch}");
        }
    }
}

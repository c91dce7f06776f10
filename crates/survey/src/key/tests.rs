//! Does the question of key answer as a teacher would? Short pieces of our own for each kind of difficulty.

use super::*;
use notation::{Part, sketch};
use proptest::prelude::*;

fn asked(text: &str) -> KeyAnswer {
    let piece = sketch(text).expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    answer(&ctx, None)
}

fn said(answer: &KeyAnswer) -> String {
    let (step, alter) = answer.tonic;
    format!(
        "{}{} {}",
        step.letter(),
        notation::alter_ascii(notation::Rational::whole(i64::from(alter))),
        answer.mode
    )
}

/// What the proof says, in one text.
fn words(answer: &KeyAnswer) -> String {
    let clauses: Vec<&str> = answer
        .evidence
        .iter()
        .map(|evidence| evidence.says.as_str())
        .collect();
    clauses.join(" | ")
}

const B_FLAT_MAJOR: &str = "key:-2 metre:4/4 F4/q | Bb4/q Bb4/q A4/q Bb4/q | C5/q D5/q C5/q F4/q | \
    G4/q A4/q Bb4/q G4/q | F4/h. F4/q | Bb4/q D5/q F5/q Eb5/q | D5/q C5/q Bb4/q G4/q | F4/q Bb4/q C5/q A4/q | Bb4/h. |.";

#[test]
fn a_plain_major_tune() {
    let key = asked(B_FLAT_MAJOR);
    assert_eq!(said(&key), "Bb major");
    assert_eq!((key.scale, key.concert.tonic), ("major", (Step::B, -1)));
    assert!(key.certainty > 0.95, "{}", key.certainty);
    assert!(
        words(&key).contains("the last note played, B♭, is the tonic"),
        "{}",
        words(&key)
    );
    assert!(
        words(&key).contains("the close is A–B♭, leading note to tonic"),
        "{}",
        words(&key)
    );
    let second = key.runner_up.expect("a runner-up");
    assert!(second.certainty < key.certainty && !second.why_not.is_empty());
    assert_eq!(key.scales_first[0].name, "B♭ major scale");
}

const G_MINOR: &str = "key:-2 metre:4/4 D5/q | G4/q A4/q Bb4/q G4/q | D5/q Eb5/q D5/q C5/q | Bb4/q A4/q G4/q F#4/q | \
    G4/h. D5/q | Eb5/q D5/q C5/q Bb4/q | A4/q Bb4/q C5/q A4/q | G4/q Bb4/q A4/q F#4/q |";

#[test]
fn a_minor_tune_and_its_harmonic_scale() {
    let key = asked(&format!("{G_MINOR} G4/h. |."));
    assert_eq!(said(&key), "G minor");
    assert!(
        words(&key).contains("F♯, the raised seventh, in bars 3 and 7"),
        "{}",
        words(&key)
    );
    assert_eq!(key.scales_first[0].name, "G harmonic minor scale");
    assert_eq!(
        key.runner_up.map(|second| (second.tonic, second.mode)),
        Some(((Step::B, -1), "major"))
    );
}

#[test]
fn a_minor_tune_may_close_on_a_major_third() {
    let key = asked(&format!("{G_MINOR} G4/q A4/q B4/h |."));
    assert_eq!(said(&key), "G minor");
    assert!(words(&key).contains("the last note played, B, is the major third, as a minor piece may close"));
}

#[test]
fn raised_sixths_beside_raised_sevenths_ask_for_the_melodic_form() {
    let key = asked(
        "key:0 metre:4/4 A4/q B4/q C5/q A4/q | E5/q F5/q E5/q D5/q | C5/q B4/q A4/q E4/q | E4/q F#4/q G#4/q A4/q | \
         B4/q G#4/q E4/h | A4/q C5/q E5/q C5/q | D5/q B4/q G#4/q B4/q | A4/w |.",
    );
    assert_eq!(said(&key), "A minor");
    assert_eq!(key.scales_first[0].name, "A melodic minor scale");
    assert!(
        words(&key).contains("F♯, the raised sixth, in bar 4"),
        "{}",
        words(&key)
    );
}

#[test]
fn an_upper_part_may_end_on_the_third() {
    let key = asked(
        "key:1 metre:3/4 D5/q B4/q G4/q | A4/q D4/q F#4/q | G4/q B4/q D5/q | E5/q D5/q C5/q | B4/q G4/q B4/q | \
         A4/h D4/q | G4/q A4/q B4/q | C5/q A4/q F#4/q | G4/q B4/q D5/q | C5/q A4/q F#4/q | G4/q A4/q C5/q | B4/h. |.",
    );
    assert_eq!(said(&key), "G major");
    assert!(words(&key).contains("the last note played, B, is the third"));
}

#[test]
fn a_tune_in_dorian_with_its_signature_is_named() {
    let key = asked(
        "key:0 metre:6/8 D4/q E4/e F4/q G4/e | A4/q D5/e C5/q A4/e | B4/q A4/e G4/q E4/e | F4/q D4/e C4/q E4/e | \
         D4/q D5/e C5/q B4/e | A4/q F4/e G4/q A4/e | B4/q G4/e C5/q A4/e | D4/q. D4/q. |.",
    );
    assert_eq!((said(&key).as_str(), key.scale), ("D minor", "dorian"));
    assert!(words(&key).contains("dorian: its sixth is B"), "{}", words(&key));
    assert!(words(&key).contains("no sharps or flats where D minor usually has 1 flat, as in dorian"));
    assert_eq!(key.scales_first[0].name, "D dorian scale");
}

#[test]
fn a_fiddle_tune_in_mixolydian() {
    let key = asked(
        "key:2 metre:4/4 A4/e C#5/e E5/e C#5/e A4/q E5/q | G4/e B4/e D5/e B4/e G4/q D5/q | A4/e C#5/e E5/e A5/e G5/q E5/q | \
         E5/e C#5/e B4/e C#5/e A4/h | A4/e B4/e C#5/e A4/e E5/q A5/q | G5/e E5/e D5/e B4/e G4/q B4/q | \
         A4/e C#5/e E5/e C#5/e D5/e B4/e G4/e B4/e | A4/h A4/h |.",
    );
    assert_eq!((said(&key).as_str(), key.scale), ("A major", "mixolydian"));
}

#[test]
fn the_middle_section_is_a_region_of_its_own() {
    let c = "C5/q E5/q G5/q E5/q | D5/q B4/q G4/q B4/q | C5/q D5/q E5/q F5/q | G5/q F5/q D5/q B4/q | C5/w |";
    let g = "B4/q D5/q G5/q D5/q | C5/q A4/q F#4/q D4/q | G4/q A4/q B4/q C5/q | D5/q C5/q A4/q F#4/q | \
             G4/q B4/q D5/q G5/q | F#5/q D5/q A4/q F#4/q | G4/w |";
    let key = asked(&format!("key:0 metre:4/4 {c} {g} {c} {c}."));
    assert_eq!(said(&key), "C major");
    let names: Vec<(Step, &str)> = key
        .regions
        .iter()
        .map(|region| (region.tonic.0, region.mode.as_str()))
        .collect();
    assert_eq!(
        names,
        [(Step::C, "major"), (Step::G, "major"), (Step::C, "major")],
        "{:?}",
        key.regions
    );
    assert!((3..=6).contains(&key.regions[1].from.0), "{:?}", key.regions);
    assert!(
        key.scales_first.iter().any(|scale| scale.name == "G major scale"),
        "{:?}",
        key.scales_first
    );
}

#[test]
fn the_last_note_played_is_the_fine() {
    let text = "key:0 metre:4/4 C5/q E5/q G5/q E5/q | F5/q D5/q B4/q G4/q | C5/q E5/q D5/q B4/q | C5/w || \
        A4/q C5/q E5/q C5/q | B4/q G#4/q E4/q G#4/q | A4/q B4/q C5/q D5/q | E5/q D5/q B4/q G#4/q | A4/w |.";
    let piece = sketch(text).expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let order: Vec<BarIndex> = (0..9).chain(0..4).map(BarIndex).collect();
    let key = answer(&ctx, Some(&order));
    assert_eq!(said(&key), "C major");
    assert!(words(&key).contains("the last note played, C, is the tonic"));
    assert!(key.certainty > answer(&ctx, None).certainty || said(&answer(&ctx, None)) != "C major");
}

/// Source: common practice of natural horns, written without signature.
#[test]
fn a_horn_part_without_signature_is_judged_by_its_notes() {
    let text = "key:0 metre:4/4 trans:-4,-7 G4/q | D5/q B4/q D5/q G5/q | F#5/q D5/q A4/q D5/q | B4/q G4/q A4/q F#4/q | G4/h. D5/q | \
        E5/q D5/q C5/q B4/q | A4/q C5/q F#4/q A4/q | G4/q B4/q A4/q F#4/q | G4/h. |.";
    let mut piece = sketch(text).expect("a sketch");
    piece.parts[0].name = "Horn in F".to_owned();
    let ctx = Context::new(&piece, 0).expect("a part");
    let key = answer(&ctx, None);
    assert_eq!(said(&key), "G major");
    assert!(!key.signature_believed);
    assert_eq!((key.concert.tonic, key.concert.mode), ((Step::C, 0), "major"));
    assert!(
        words(&key).contains("no signature, as parts like this are written by custom"),
        "{}",
        words(&key)
    );
}

#[test]
fn a_horn_part_borrows_the_signature_of_the_score() {
    let mut score =
        sketch("key:1 metre:4/4 G4/q B4/q D5/q B4/q | C5/q A4/q F#4/q D4/q | G4/w |.").expect("a sketch");
    let horn = sketch("key:0 metre:4/4 trans:-4,-7 D5/q F#5/q A5/q F#5/q | D5/q E5/q A4/q A4/q | D4/w |.")
        .expect("a sketch");
    let mut part: Part = horn.parts.into_iter().next().expect("a part");
    part.name = "Corno in F".to_owned();
    score.parts.push(part);
    let ctx = Context::new(&score, 1).expect("a part");
    let key = answer(&ctx, None);
    assert_eq!(said(&key), "D major", "{}", words(&key));
    assert_eq!(key.concert.tonic, (Step::G, 0));
    assert!(
        words(&key).contains("the other parts' would be 2 sharps as it is written"),
        "{}",
        words(&key)
    );
    assert!(
        words(&key).contains("the score's last bass note, D as this part reads, is the tonic"),
        "{}",
        words(&key)
    );
}

#[test]
fn a_fragment_is_less_certain_than_the_piece() {
    let fragment = asked("key:-2 metre:4/4 F4/q | Bb4/q Bb4/q A4/q Bb4/q | C5/q D5/q |");
    assert!(fragment.certainty < asked(B_FLAT_MAJOR).certainty);
}

#[test]
fn a_chromatic_passage_keeps_the_key_and_asks_for_the_scale() {
    let key = asked(
        "key:-1 metre:4/4 F4/q A4/q C5/q A4/q | Bb4/q G4/q E4/q C4/q | F4/q A4/q C5/q F5/q | C5/s C#5/s D5/s D#5/s E5/q F5/h | \
         D5/q Bb4/q G4/q Bb4/q | C5/q A4/q F4/q A4/q | G4/q C5/q E4/q G4/q | F4/w |.",
    );
    assert_eq!(said(&key), "F major");
    let chromatic = key
        .scales_first
        .iter()
        .find(|scale| scale.name == "chromatic scale")
        .expect("asked for");
    assert!(chromatic.why.contains("bar 4"), "{}", chromatic.why);
}

#[test]
fn an_empty_part_says_so() {
    let key = asked("key:3 metre:4/4 R | R | R |.");
    assert_eq!(key.certainty, 0.0);
    assert_eq!(
        words(&key),
        "no notes of definite pitch: the signature alone allows A major or F♯ minor"
    );
    assert!(key.runner_up.is_none() && key.regions.is_empty() && key.scales_first.is_empty());
}

/// A row of our own: every pitch class once in each group of three bars.
#[test]
fn a_twelve_tone_line_is_not_called_clear() {
    let row = "C4/q F#4/q B4/q F4/q | Bb4/q E4/q A4/q Eb4/q | Ab4/q D4/q G4/q C#4/q |";
    let back = "C#5/q G4/q D5/q Ab4/q | Eb5/q A4/q E5/q Bb4/q | F5/q B4/q F#5/q C5/q |";
    let key = asked(&format!("key:0 metre:4/4 {row} {back} {row} {back}."));
    assert!(key.certainty < 0.3, "{} {}", said(&key), key.certainty);
    assert!(words(&key).contains("no key is clear from these notes"));
}

#[test]
fn altered_letters_are_counted_as_played_by_the_signature() {
    let key = asked("key:2 metre:4/4 F#4/q F4/q D4/q C#5/q~ | C#5/h D5/h |.");
    let told: Vec<(char, u32, u32, Option<u32>)> = key
        .altered_letters
        .iter()
        .map(|l| (l.letter.letter(), l.count, l.otherwise, l.first.map(|p| p.bar.0)))
        .collect();
    assert_eq!(told, [('F', 1, 1, Some(0)), ('C', 1, 0, Some(0))]);
}

#[test]
fn what_the_file_declares_is_shown_and_never_used() {
    let mut piece = sketch(B_FLAT_MAJOR).expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let before = answer(&ctx, None);
    piece.parts[0].keys[0].value.declared_mode = Some("minor".to_owned());
    let ctx = Context::new(&piece, 0).expect("a part");
    let after = answer(&ctx, None);
    assert_eq!(
        (before.tonic, before.mode, before.certainty),
        (after.tonic, after.mode, after.certainty)
    );
    assert_eq!(after.declared[0].tonic, Some((Step::G, 0)));
    assert_eq!(after.declared[0].mode, "minor");
}

#[test]
fn a_clarinet_part_names_both_keys() {
    let piece = sketch("key:1 metre:4/4 trans:-1,-2 G4/q B4/q D5/q B4/q | C5/q A4/q F#4/q D4/q | G4/w |.")
        .expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let key = answer(&ctx, None);
    assert_eq!(
        (said(&key).as_str(), key.concert.tonic),
        ("G major", (Step::F, 0))
    );
}

fn transposed(text: &str, fifths: i8) -> Piece {
    let (diatonic, chromatic) = (i32::from(fifths) * 4, i64::from(fifths) * 7);
    let octaves = i32::from(fifths) * 4 / 7;
    let mut piece = sketch(text).expect("a sketch");
    for change in &mut piece.parts[0].keys {
        change.value.fifths = change.value.fifths.map(|count| count + fifths);
    }
    for event in &mut piece.parts[0].events {
        if let notation::EventKind::Chord(heads) = &mut event.kind {
            for head in heads {
                if let notation::HeadNote::Pitch(pitch) = head.note {
                    let moved = pitch.transposed(
                        diatonic - 7 * octaves,
                        notation::Rational::whole(chromatic - 12 * i64::from(octaves)),
                    );
                    head.note = notation::HeadNote::Pitch(moved);
                }
            }
        }
    }
    piece
}

use notation::Piece;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn a_transposed_piece_has_the_transposed_key(fifths in -5i8..=5) {
        let key = asked(B_FLAT_MAJOR);
        let piece = transposed(B_FLAT_MAJOR, fifths);
        let ctx = Context::new(&piece, 0).expect("a part");
        let moved = answer(&ctx, None);
        let here = Tonality::major(-2 + i32::from(fifths));
        prop_assert_eq!(moved.tonic, here.tonic());
        prop_assert!((moved.certainty - key.certainty).abs() < 1e-9);
    }

    #[test]
    fn any_notes_at_all_get_an_answer_with_a_probability(
        notes in prop::collection::vec((0i32..7, -2i8..=2, 2i8..6, 0usize..5), 0..60), count in -7i32..=7,
    ) {
        let mut text = format!("key:{count} metre:4/4");
        for (i, (step, alter, octave, value)) in notes.iter().enumerate() {
            let pitch = notation::Pitch::new(Step::from_index(*step), *alter, *octave);
            text.push_str(&format!(" {pitch}/{}", ["w", "h", "q", "e", "s"][*value]));
            if i % 4 == 3 { text.push_str(" |"); }
        }
        let piece = sketch(&text).expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        let key = answer(&ctx, None);
        prop_assert!((0.0..=1.0).contains(&key.certainty));
        let covered: u32 = key.regions.iter().map(|region| region.to.0 - region.from.0 + 1).sum();
        prop_assert!(key.regions.is_empty() || covered as usize == piece.bars.len());
    }
}

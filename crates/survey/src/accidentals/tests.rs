//! Does the reading follow the rules of accidentals, and are the courtesies where a teacher would pencil them?

use super::*;
use notation::{Rational, sketch};
use proptest::prelude::*;

fn ask(text: &str) -> AccidentalsAnswer {
    ask_with(text, &AccidentalHints::default())
}

fn ask_with(text: &str, hints: &AccidentalHints) -> AccidentalsAnswer {
    let piece = sketch(text).expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    answer(&ctx, None, hints)
}

fn reasons(answer: &AccidentalsAnswer) -> Vec<(u32, String, &'static str)> {
    answer
        .courtesy_suggested
        .iter()
        .map(|c| {
            (
                c.place.bar.0,
                c.written.to_string(),
                c.reason.map_or("", CourtesyReason::word),
            )
        })
        .collect()
}

#[test]
fn printed_then_carried_silently() {
    let answer = ask("metre:4/4 F#4/q G4/q F#4/q A4/q |");
    let ledger: Vec<(String, bool, bool)> = answer
        .ledger
        .iter()
        .map(|e| (e.written.to_string(), e.printed, e.carried))
        .collect();
    assert_eq!(ledger, [("F#4".into(), true, false), ("F#4".into(), false, true)]);
    assert_eq!(answer.altered_notes, 2);
    assert_eq!(answer.signs.printed, 1);
}

#[test]
fn the_next_bar_reverts_and_deserves_a_courtesy() {
    let answer = ask("metre:4/4 F#4/q G4/q A4/h | F4/q G4/q A4/h | F4/w |");
    assert_eq!(reasons(&answer), [(1, "F4".into(), "next-bar")]);
    assert_eq!(
        answer.courtesy_suggested[0].says(),
        "F♮ again: the bar line cancelled F♯"
    );
}

#[test]
fn no_courtesy_where_one_is_printed_or_the_note_was_cancelled() {
    let answer = ask("metre:4/4 F#4/q G4/q A4/h | F4/q? G4/q A4/h |");
    assert_eq!(reasons(&answer), []);
    assert_eq!(answer.courtesy_printed.len(), 1);
    assert_eq!(answer.courtesy_printed[0].reason, Some(CourtesyReason::NextBar));
    assert_eq!(answer.signs.courtesy, 1);
    assert_eq!(reasons(&ask("metre:4/4 F#4/q F4/q A4/h | F4/w |")), []);
}

/// The courtesy most needed: a tie carries the sharp over for the tied note alone.
#[test]
fn after_a_tie_over_the_bar_line_the_note_reverts() {
    let answer = ask("metre:4/4 A4/h F#4/h~ | F#4/q G4/q F4/h |");
    assert_eq!(reasons(&answer), [(1, "F4".into(), "after-tie")]);
    let tied = &answer.ledger[1];
    assert_eq!((tied.how, tied.printed, tied.carried), (How::Tie, false, true));
    assert_eq!(answer.altered_notes, 2);
}

#[test]
fn after_a_tie_a_silent_sharp_is_a_finding() {
    let mut piece = sketch("metre:4/4 A4/h F#4/h~ | F#4/q G4/q F#4/h |").expect("a sketch");
    let last = piece.parts[0].events.last_mut().expect("an event");
    if let notation::EventKind::Chord(heads) = &mut last.kind {
        assert!(heads[0].accidental.is_some(), "the rule asks for a sign");
        heads[0].accidental = None;
    }
    let ctx = Context::new(&piece, 0).expect("a part");
    let answer = answer(&ctx, None, &AccidentalHints::default());
    assert_eq!(answer.findings.len(), 1);
    assert_eq!(answer.findings[0].kind, "accidental-missing");
    assert!(
        answer.findings[0].what.contains("after a tie"),
        "{}",
        answer.findings[0].what
    );
}

#[test]
fn other_octave_in_the_bar_and_in_the_next() {
    assert_eq!(
        reasons(&ask("metre:4/4 F#4/q G4/q F5/h |")),
        [(0, "F5".into(), "other-octave")]
    );
    let answer = ask("metre:4/4 F#4/q G4/q A4/h | A4/q F5/q E5/h |");
    assert_eq!(reasons(&answer), [(1, "F5".into(), "next-bar-other-octave")]);
    assert_eq!(CourtesyReason::NextBarOtherOctave.strength(), Strength::Gentle);
}

#[test]
fn a_signature_note_after_its_natural_is_asked_for_as_well() {
    let answer = ask("key:2 metre:4/4 F4/q G4/q A4/h | F#4/w |");
    assert_eq!(reasons(&answer), [(1, "F#4".into(), "next-bar")]);
}

#[test]
fn after_a_change_of_key() {
    let answer = ask("key:3 metre:4/4 G#4/q A4/q B4/h | key:-1 G4/q A4/q Bb4/h | G4/w |");
    assert_eq!(
        reasons(&answer),
        [(1, "G4".into(), "key-change"), (1, "Bb4".into(), "key-change")]
    );
}

#[test]
fn carried_over_a_change_of_clef() {
    let answer = ask("clef:F4 metre:4/4 C#4/q D4/q clef:G2 C#4/q E4/q |");
    assert_eq!(reasons(&answer), [(0, "C#4".into(), "clef-change")]);
}

#[test]
fn on_a_repeat_back() {
    let text = "metre:4/4 |: F4/q G4/h. | E4/h F4/h | G4/h F#4/h :| C5/w |";
    assert_eq!(reasons(&ask(text)), []);
    let order: Vec<BarIndex> = [0, 1, 2, 0, 1, 2, 3].into_iter().map(BarIndex).collect();
    let hints = AccidentalHints {
        play_order: &order,
        ..AccidentalHints::default()
    };
    assert_eq!(
        reasons(&ask_with(text, &hints)),
        [(0, "F4".into(), "repeat-back")]
    );
}

#[test]
fn natural_then_sharp_is_a_double_inflection() {
    let answer = ask("metre:4/4 F4/q F#4/q G4/h | G4/q F4/q E4/q F#5/q |");
    assert_eq!(answer.double_inflections.len(), 1);
    let double = answer.double_inflections[0];
    assert_eq!(
        (double.first.to_string(), double.second.to_string()),
        ("F4".into(), "F#4".into())
    );
    let two: Vec<Vec<String>> = answer
        .two_forms
        .iter()
        .map(|t| t.forms.iter().map(Pitch::to_string).collect())
        .collect();
    assert_eq!(two, [["F#4", "F4", "F#5"]]);
}

#[test]
fn enharmonic_spellings_and_a_respelling() {
    let answer = ask("key:6 metre:4/4 E#4/q F#4/q C##5/q D#5/q | F#4/h Gb4/h |");
    let found: Vec<(String, String, bool)> = answer
        .enharmonic
        .iter()
        .map(|e| (e.written.to_string(), e.sounds_as.to_string(), e.in_signature))
        .collect();
    assert_eq!(
        found,
        [
            ("E#4".into(), "F4".into(), true),
            ("C##5".into(), "D5".into(), false)
        ]
    );
    assert_eq!(answer.enharmonic[0].says(), "E♯4 sounds and is fingered like F4");
    assert_eq!(answer.respelled.len(), 1);
    assert_eq!(answer.respelled[0].second.to_string(), "Gb4");
}

/// A horn part without signature in D major: its F sharps and C sharps are in the key, a G sharp is a surprise.
#[test]
fn without_a_signature_not_every_sharp_is_a_surprise() {
    let text = "metre:4/4 D4/q F#4/q C#5/q D5/q | F#4/q G#4/q A4/q G#4/q |";
    let hints = AccidentalHints {
        tonic_signature: Some(2),
        ..AccidentalHints::default()
    };
    let answer = ask_with(text, &hints);
    let expected: Vec<bool> = answer.ledger.iter().map(|e| e.expected).collect();
    assert_eq!(expected, [true, true, true, false, false]);
    assert_eq!(answer.densest.iter().map(|d| d.bar.0).collect::<Vec<_>>(), [1]);
    assert_eq!(ask(text).densest.len(), 2);
}

#[test]
fn the_densest_bars_come_first() {
    let answer = ask("metre:4/4 F#4/q G4/q A4/h | F#4/q G#4/q A#4/q G#4/q | C#5/q D5/q C#5/h |");
    let bars: Vec<(u32, usize, usize)> = answer
        .densest
        .iter()
        .map(|d| (d.bar.0, d.printed, d.carried))
        .collect();
    assert_eq!(bars, [(1, 3, 1), (2, 1, 1)]);
    assert!(
        answer.means.contains("Read bars 2, 3 slowly first"),
        "{}",
        answer.means
    );
}

#[test]
fn a_sign_that_contradicts_its_pitch_is_a_problem() {
    let mut piece = sketch("F#4/q").expect("a sketch");
    if let notation::EventKind::Chord(heads) = &mut piece.parts[0].events[0].kind {
        heads[0].accidental.as_mut().expect("a sign").alter = Some(Rational::whole(-1));
    }
    let ctx = Context::new(&piece, 0).expect("a part");
    let answer = answer(&ctx, None, &AccidentalHints::default());
    assert_eq!(answer.findings[0].kind, "accidental-contradicts-pitch");
}

#[test]
fn a_file_that_prints_none_is_worked_out() {
    let mut piece = sketch("metre:4/4 F#4/q G4/q F#4/q F4/q | F#4/w |").expect("a sketch");
    for event in &mut piece.parts[0].events {
        if let notation::EventKind::Chord(heads) = &mut event.kind {
            heads[0].accidental = None;
        }
    }
    let ctx = Context::new(&piece, 0).expect("a part");
    let answer = answer(&ctx, None, &AccidentalHints::default());
    assert!(answer.signs.worked_out);
    assert_eq!(answer.signs.printed, 3);
    assert_eq!(
        answer.findings.iter().map(|f| f.kind).collect::<Vec<_>>(),
        ["accidentals-worked-out"]
    );
}

/// The slow plain twin: what a reader makes of each note by looking back through the bar every time.
fn slow_reading(part: &notation::Part) -> Vec<Alter> {
    let mut read = Vec::new();
    for (index, event) in part.events.iter().enumerate() {
        for head in event.heads() {
            let pitch = head.pitch().expect("a pitch");
            let before = part.events[..index]
                .iter()
                .rev()
                .take_while(|e| e.place.bar == event.place.bar);
            let sign = before.flat_map(|e| e.heads()).find(|h| {
                h.accidental.is_some() && h.pitch().is_some_and(|p| p.diatonic() == pitch.diatonic())
            });
            let signature = part
                .key_at(1, event.place)
                .map_or(Rational::ZERO, |key| key.alter_of(pitch.step));
            let tied_from = part.events[..index]
                .last()
                .and_then(|e| e.heads().first())
                .and_then(notation::Head::pitch);
            read.push(match (&head.accidental, head.tie_stop) {
                (Some(own), _) => own.alter.expect("a usual sign"),
                (None, true) => tied_from.expect("a note before").alter,
                (None, false) => sign.map_or(signature, |h| h.pitch().expect("a pitch").alter),
            });
        }
    }
    read
}

proptest! {
    #[test]
    fn the_reading_agrees_with_looking_back_every_time(
        key in -7i8..=7,
        notes in prop::collection::vec((0i32..7, -2i8..=2, 3i8..6, prop::bool::ANY, 0u8..8), 1..60),
    ) {
        let mut text = format!("key:{key} metre:4/4 ");
        for (index, (step, alter, octave, tie, bar)) in notes.iter().enumerate() {
            let pitch = Pitch::new(notation::Step::from_index(*step), *alter, *octave);
            // A tie goes on to a repetition of the note, so that it is a real one.
            if *tie {
                text.push_str(&format!("{pitch}/q~ {} {pitch}/q ", if *bar == 0 { "|" } else { "" }));
            } else {
                text.push_str(&format!("{pitch}/q "));
            }
            if *bar == 1 && index + 1 < notes.len() {
                text.push_str("| ");
            }
        }
        let piece = sketch(&text).expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        let page = read(&ctx);
        prop_assume!(!page.worked_out);
        let slow = slow_reading(ctx.part);
        prop_assert_eq!(page.notes.len(), slow.len());
        for (note, alter) in page.notes.iter().zip(&slow) {
            // The sketch prints by the rule, so a reader arrives at the pitch, and nothing is unmarked.
            prop_assert_eq!(note.pitch.alter, *alter, "{}", &text);
            prop_assert!(note.how != How::Unmarked, "{}", &text);
        }
        let answer = answer(&ctx, None, &AccidentalHints::default());
        let altered = ctx.part.events.iter().flat_map(|e| e.heads()).filter_map(notation::Head::pitch)
            .filter(|p| p.alter != notation::KeySignature::of_fifths(key).alter_of(p.step)).count();
        prop_assert_eq!(answer.altered_notes, altered);
        prop_assert_eq!(answer.signs.printed, answer.signs.altering + answer.signs.restoring);
        prop_assert!(answer.findings.is_empty());
        for entry in &answer.ledger {
            prop_assert!(entry.printed != entry.carried);
        }
        for courtesy in &answer.courtesy_suggested {
            prop_assert!(courtesy.reason.is_some());
            prop_assert!(courtesy.other.is_some_and(|(other, _)| other.step == courtesy.written.step && other.alter != courtesy.written.alter
                || courtesy.reason == Some(CourtesyReason::ClefChange)));
        }
    }
}

/// Source: the finger rule for strings (the letter decides the finger), from memory.
#[test]
fn on_a_string_the_letter_decides_the_finger() {
    let piece = sketch("E#5/q").expect("a sketch");
    let ctx = Context::new(&piece, 0).expect("a part");
    let violin = instruments::identify_name("Violin");
    let answer = answer(&ctx, violin.as_ref(), &AccidentalHints::default());
    assert_eq!(answer.enharmonic[0].says(), "E♯5 sounds like F5");
}

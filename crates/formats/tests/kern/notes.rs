//! Pitches, durations, tuplets, chords, ties, grace notes, appoggiaturas, accidentals.

use crate::{accidentals, clean, events, kinds, read, spans};
use notation::{Beam, How};

/// Source: Humdrum reference, `**recip`.
#[test]
fn durations_from_the_long_to_quintuplets() {
    let piece = clean("notes/durations");
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 C4 breve =8",
            "0@8 rest long =16",
            "0@24 C4 breve =8",
            "1@0 C4 quarter. =3/2",
            "1@3/2 D4 eighth.. =7/8",
            "1@19/8 D4 32nd =1/8",
            "1@5/2 E4 eighth 3:2 =1/3",
            "1@17/6 F4 eighth 3:2 =1/3",
            "1@19/6 G4 eighth 3:2 =1/3",
            "1@7/2 C4 whole 3:2 =8/3",
            "1@37/6 C4 eighth 5:4 =2/5",
            "1@197/30 D4 eighth 5:4 =2/5",
            "1@209/30 E4 eighth 5:4 =2/5",
            "1@221/30 F4 eighth 5:4 =2/5",
            "1@233/30 G4 eighth 5:4 =2/5",
            "1@49/6 rest 32nd =1/8"
        ]
    );
}

#[test]
fn tuplets_end_where_they_fill_their_time() {
    let piece = clean("notes/tuplets-mixed");
    assert_eq!(
        spans(&piece.parts[0]),
        [
            "Tuplet { actual: 3, normal: 2, bracket: true } 0@0 → 0@2/3",
            "Tuplet { actual: 3, normal: 2, bracket: true } 0@1 → 0@5/3",
            "Tuplet { actual: 3, normal: 2, bracket: false } 0@2 → 0@8/3"
        ]
    );
}

#[test]
fn chords_have_one_duration_and_their_marks_once() {
    let (piece, findings) = read("notes/chords");
    let part = &piece.parts[0];
    assert_eq!(
        events(part),
        [
            "0@0 C4+E4+G4 quarter =1",
            "0@1 C4+Eb4+G4 quarter =1",
            "1@0 C4+E4 quarter =1",
            "1@1 C4+E4+G4 quarter =1"
        ]
    );
    assert_eq!(
        (part.events[3].fermatas.len(), part.events[3].articulations.len()),
        (1, 1)
    );
    assert_eq!(kinds(&findings), ["chord-uneven 2", "accidentals-implied"]);
}

#[test]
fn ties_belong_to_their_head_and_need_their_pitch() {
    let (piece, findings) = read("notes/ties");
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 C4~+E4~ half =2",
            "1@0 C4^~+E4^ half =2",
            "2@0 C4^ half =2",
            "3@0 D4~ half =2",
            "4@0 E4^ half =2"
        ]
    );
    assert_eq!(kinds(&findings), ["unpaired-tie 4", "unpaired-tie 5"]);
}

#[test]
fn slurs_nest_overlap_and_phrases_are_apart() {
    let (piece, findings) = read("notes/slurs-and-phrases");
    assert_eq!(
        spans(&piece.parts[0]),
        [
            "Other(\"phrase\") 0@0 → 1@3",
            "Slur 0@0 → 0@3",
            "Slur 0@1 → 0@2",
            "Slur 1@0 → 1@2",
            "Slur 1@1 → 1@3",
            "Slur 2@0 → 2@0",
            "Slur ? → 2@1",
            "Slur 2@2 → ?"
        ]
    );
    assert_eq!(kinds(&findings), ["unpaired-slur 3", "unpaired-slur 3"]);
}

/// Source: Humdrum reference, `**kern`: the example of a doubly dotted sixteenth beamed to a shorter note.
#[test]
fn beams_by_level_with_their_hooks() {
    use Beam::{BackwardHook, Begin, Continue, End, ForwardHook};
    let piece = clean("notes/beams");
    let said: Vec<Vec<Beam>> = piece.parts[0]
        .events
        .iter()
        .map(|event| event.beams.clone())
        .collect();
    assert_eq!(
        said,
        [
            vec![Begin],
            vec![Continue, Begin],
            vec![End, End],
            vec![Begin],
            vec![End, BackwardHook],
            vec![Begin, Begin],
            vec![End, End, BackwardHook, BackwardHook],
            vec![ForwardHook],
            vec![]
        ]
    );
}

#[test]
fn grace_notes_with_and_without_a_stroke_and_after_the_last_note() {
    let piece = clean("notes/graces");
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 D5 eighth grace0/",
            "0@0 C4 quarter =1",
            "0@1 E4 16th grace0",
            "0@1 F4 16th grace1",
            "0@1 D4 quarter =1",
            "1@0 C4 16th grace0",
            "1@0 E4 quarter =1",
            "1@1 F4 quarter =1",
            "1@2 G4 eighth grace0/ after"
        ]
    );
}

/// Source: Humdrum reference, `**kern`: appoggiaturas are "encoded as performed"; the page shows the small note and the sum.
#[test]
fn an_appoggiatura_written_out_is_put_back() {
    let (piece, findings) = read("notes/appoggiatura");
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 D5 eighth grace0",
            "0@0 C5 quarter =1",
            "0@1 C4 quarter =1",
            "1@0 C4 eighth =1/2",
            "1@1/2 D4 quarter =1",
            "1@3/2 E4 eighth =1/2"
        ]
    );
    assert_eq!(kinds(&findings), ["appoggiatura-as-written 1"]);
}

/// Source: common practice: an accidental holds for its line or space to the end of the bar.
#[test]
fn accidentals_are_printed_where_the_rule_asks_for_them() {
    let (piece, findings) = read("notes/accidentals");
    let part = &piece.parts[0];
    assert_eq!(
        accidentals(part),
        [
            // One flat: a natural once, though the file writes it again; the flat comes back.
            "-",
            "natural",
            "-",
            "flat", //
            // Only at its own octave.
            "sharp",
            "-",
            "sharp",
            "natural", //
            // An editor's where it is needed, a courtesy where not, none where hidden.
            "sharp!",
            "sharp?",
            "-",
            "-", //
            // A tie carries it, but not to the next note.
            "sharp",
            "-",
            "sharp", //
            "double-sharp",
            "natural",
            "flat-flat",
            "natural"
        ]
    );
    assert_eq!(kinds(&findings), ["editorial 3", "accidentals-implied"]);
    let how = |nth: usize| {
        let head = &part.events[nth].heads()[0];
        piece.provenance.origins.get(&head.id).map(|origin| origin.how)
    };
    assert_eq!(how(4), Some(How::Implied));
    assert_eq!(how(5), None);
}

#[test]
fn what_is_no_note_is_told() {
    let (piece, findings) = read("notes/odd");
    assert_eq!(
        events(&piece.parts[0])[..4],
        [
            "0@0 space =1",
            "0@1 C4 quarter =1",
            "0@2 x quarter =1",
            "0@3 D4 quarter =1"
        ]
    );
    let told: Vec<String> = kinds(&findings).into_iter().take(5).collect();
    assert_eq!(
        told,
        [
            "note-empty 1",
            "duration-missing 1",
            "pitch-unclear 1",
            "duration-unusable 1",
            "not-read 2"
        ]
    );
}

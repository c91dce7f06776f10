//! Durations, tuplets, grace notes.

use crate::{events, kinds, read, spans};

#[test]
fn tuplets_around_beside_and_in_the_notes() {
    let (piece, findings) = read("rhythm/tuplets");
    assert_eq!(kinds(&findings), ["tuplet-unclear 4"]);
    let part = &piece.parts[0];
    let said = events(part);
    assert_eq!(
        &said[..5],
        [
            "0@0 C5 eighth 3:2 =1/3",
            "0@1/3 D5 eighth 3:2 =1/3",
            "0@2/3 E5 eighth 3:2 =1/3",
            "0@1 F5 quarter =1",
            "0@2 G5 half =2"
        ]
    );
    assert_eq!(
        &said[5..11],
        [
            "1@0 C5 quarter 3:2 =2/3",
            "1@2/3 D5 eighth 3:2 3:2 =2/9",
            "1@8/9 E5 eighth 3:2 3:2 =2/9",
            "1@10/9 F5 eighth 3:2 3:2 =2/9",
            "1@4/3 G5 quarter 3:2 =2/3",
            "1@2 A4 half =2"
        ]
    );
    assert_eq!(said[11], "2@0 C5 eighth 3:2 =1/3");
    assert_eq!(said[14], "2@1 F5 16th 5:4 =1/5");
    assert_eq!(said[19], "2@2 A4 half =2");
    assert_eq!(said[20], "3@0 C5 quarter 3:2 =2/3");
    assert_eq!(
        spans(part),
        [
            "Tuplet { actual: 3, normal: 2, bracket: true } 0@0 → 0@2/3",
            "Tuplet { actual: 3, normal: 2, bracket: true } 1@0 → 1@4/3",
            "Tuplet { actual: 3, normal: 2, bracket: false } 1@2/3 → 1@10/9",
            "Tuplet { actual: 3, normal: 2, bracket: true } 2@0 → 2@2/3",
            "Tuplet { actual: 3, normal: 2, bracket: true } 3@0 → 3@4/3",
        ]
    );
}

#[test]
fn values_stated_inherited_and_counted_in_ticks() {
    let (piece, findings) = read("rhythm/values");
    assert_eq!(kinds(&findings), ["bar-long 5"]);
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 C5 quarter. =3/2",
            "0@3/2 C5+E5 eighth =1/2",
            "0@2 G4 eighth grace0/",
            "0@2 A4 quarter. =3/2",
            "0@7/2 space eighth =1/2",
            "1@0 C5 quarter =1",
            "1@1 D5 =2",
            "1@3 E5 16th grace0",
            "1@3 F5 16th grace1",
            "1@3 G5 eighth =1/2",
            "1@7/2 rest eighth =1/2",
            "2@0 space =4",
            "3@0 bar-rest =4",
            "4@0 C5 breve =8",
        ]
    );
    let cues: Vec<bool> = piece.parts[0].events.iter().map(|event| event.cue).collect();
    assert_eq!(cues.iter().filter(|cue| **cue).count(), 1);
    assert!(cues[9]);
}

#[test]
fn what_is_said_twice_counts_once() {
    let (piece, findings) = read("rhythm/markers-in-elements");
    assert_eq!(kinds(&findings), Vec::<String>::new());
    let part = &piece.parts[0];
    assert_eq!(
        events(part),
        [
            "0@0 C5 eighth 3:2 =1/3",
            "0@0 C4 whole =4",
            "0@1/3 D5 eighth 3:2 =1/3",
            "0@2/3 E5 eighth 3:2 =1/3",
            "0@1 F5 half. =3",
        ]
    );
    assert_eq!(spans(part).len(), 1);
    // Two layers with one number are two voices all the same.
    assert_eq!(part.voices, ["1", "2"]);
}

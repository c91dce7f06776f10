//! Parts, voices, staves, headings: the frame in which all music stands.

use crate::{clean, events, kinds, read, spans};
use notation::{Clef, How, Place};

#[test]
fn two_parts_share_one_grid_of_bars() {
    let piece = clean("basics/two-parts");
    assert_eq!(piece.credits.title.as_deref(), Some("Two Bars"));
    assert_eq!(
        piece
            .bars
            .iter()
            .map(|bar| bar.label.as_str())
            .collect::<Vec<_>>(),
        ["1", "2"]
    );
    assert_eq!(piece.bars[0].length.to_string(), "3");
    let [oboe, bassoon] = piece.parts.as_slice() else {
        panic!("two parts")
    };
    assert_eq!((oboe.name.as_str(), bassoon.name.as_str()), ("Oboe", "Bassoon"));
    assert_eq!(
        events(oboe),
        [
            "0@0 D5 quarter =1",
            "0@1 E5 eighth =1/2",
            "0@3/2 F#5 eighth =1/2",
            "0@2 G5~ quarter =1",
            "1@0 G5^ half =2",
            "1@2 rest quarter =1"
        ]
    );
    assert_eq!(
        events(bassoon),
        ["0@0 G2 half. =3", "1@0 G2+B2+D3 quarter =1", "1@1 G2 half =2"]
    );
    assert_eq!(spans(oboe), ["Slur 0@0 → 0@3/2"]);
    assert_eq!(oboe.clef_at(1, Place::default()), Some(Clef::TREBLE));
    assert_eq!(
        oboe.key_at(1, Place::default()).and_then(|key| key.fifths),
        Some(1)
    );
    assert_eq!(piece.barlines.len(), 2);
    assert_eq!(piece.barlines[0].place.offset.to_string(), "3");
}

/// Source: MusicXML 4.0, `<score-timewise>`: the same content with measures outside and parts inside.
#[test]
fn bar_by_bar_is_the_same_piece_as_part_by_part() {
    assert_eq!(clean("basics/two-parts-timewise"), clean("basics/two-parts"));
}

#[test]
fn voices_start_late_and_chords_cross_the_staves() {
    let piece = clean("basics/voices-and-staves");
    let piano = &piece.parts[0];
    assert_eq!(
        (piano.staves, piano.voices.as_slice()),
        (2, ["1", "2", "5"].map(str::to_owned).as_slice())
    );
    assert_eq!(
        events(piano),
        [
            "0@0 E5 half =2",
            "0@0 space =2",
            "0@0 C3+E4 whole =4",
            "0@2 D5 half =2",
            "0@2 G4 half =2"
        ]
    );
    let chord = &piano.events[2];
    assert_eq!(
        chord.heads().iter().map(|head| head.staff).collect::<Vec<_>>(),
        [2, 1]
    );
    assert_eq!(piano.clef_at(1, Place::default()), Some(Clef::TREBLE));
    assert_eq!(piano.clef_at(2, Place::default()), Some(Clef::BASS));
}

#[test]
fn the_heading_and_the_list_of_parts() {
    let piece = clean("basics/heading");
    let credits = &piece.credits;
    assert_eq!(credits.name().as_deref(), Some("Six Walks: By the Weir"));
    assert_eq!(credits.numbers, ["op. 1", "3"]);
    assert_eq!(credits.people, [("composer".to_owned(), "A. Nobody".to_owned())]);
    assert_eq!(credits.rights, ["free to copy"]);
    assert_eq!(credits.page_words, ["for Ana"]);
    assert_eq!(
        piece.provenance.encoding,
        ["a text editor", "2026-01-01", "source: manuscript"]
    );
    let part = &piece.parts[0];
    assert_eq!(
        (part.name.as_str(), part.abbreviation.as_str()),
        ("Clarinet in B flat", "Cl.")
    );
    assert_eq!(part.instrument_name.as_deref(), Some("B flat clarinet"));
    assert_eq!(part.instrument_sound.as_deref(), Some("wind.reed.clarinet.bflat"));
    assert_eq!(part.midi_program, Some(72));
}

#[test]
fn a_change_of_instrument_is_kept_where_it_happens() {
    let piece = clean("basics/instrument-change");
    let part = &piece.parts[0];
    assert_eq!(part.directions.len(), 1);
    assert_eq!(part.directions[0].place.offset.to_string(), "1");
    assert!(format!("{:?}", part.directions[0].kind).contains("Piccolo"));
}

#[test]
fn every_bar_event_and_direction_knows_where_it_stood() {
    let (piece, _) = read("basics/two-parts");
    let text = String::from_utf8(crate::bytes("basics/two-parts")).expect("UTF-8");
    let origin = |id| piece.provenance.origins.get(&id).expect("an origin");
    let slice = |id| {
        let (from, to) = origin(id).range.expect("a range");
        &text[from as usize..to as usize]
    };
    assert!(slice(piece.bars[1].id).starts_with("<measure number=\"2\">"));
    assert!(slice(piece.bars[1].id).ends_with("</measure>"));
    let oboe = &piece.parts[0];
    assert!(slice(oboe.events[0].id).starts_with("<note><pitch><step>D"));
    assert!(slice(oboe.directions[0].id).starts_with("<dynamics>"));
    // A chord reaches to its last note.
    assert_eq!(slice(piece.parts[1].events[1].id).matches("<note>").count(), 3);
    assert_eq!(origin(oboe.id).foreign_id.as_deref(), Some("P1"));
    assert_eq!(origin(oboe.events[0].id).how, How::Printed);
    assert_eq!(piece.provenance.sha256.len(), 64);
    assert_eq!(piece.provenance.source, "basics/two-parts");
}

#[test]
fn a_staff_that_notes_use_exists() {
    let (piece, findings) = read("basics/staves-missing");
    assert_eq!(kinds(&findings), ["staves-missing"]);
    assert_eq!(piece.parts[0].staves, 2);
}

//! Parts, staves, voices; the heading; the same page as in another standard.

use crate::{clean, events, kinds, path, read, spans};

/// A MusicXML fixture.
fn musicxml(name: &str) -> notation::Piece {
    let root = std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/musicxml");
    let bytes = std::fs::read(root.join(format!("{name}.musicxml"))).expect("a fixture");
    formats::read(&bytes, name).expect("a piece").0
}

#[test]
fn the_same_music_is_the_same_page_as_in_musicxml() {
    let piece = clean("basics/two-parts");
    assert!(path("basics/two-parts").exists());
    assert_eq!(
        events(&piece.parts[0]),
        [
            "0@0 D5 quarter =1",
            "0@1 E5 eighth =1/2",
            "0@3/2 F#5 eighth =1/2",
            "0@2 G5~ quarter =1",
            "1@0 G5^ half =2",
            "1@2 rest quarter =1",
        ]
    );
    assert_eq!(spans(&piece.parts[0]), ["Slur 0@0 → 0@3/2"]);
    if let Err(difference) = piece.same_page(&musicxml("basics/two-parts")) {
        panic!("{difference}");
    }
}

#[test]
fn the_heading_and_the_list_of_staves() {
    let (piece, findings) = read("basics/heading");
    assert_eq!(kinds(&findings), ["several-movements"]);
    assert!(findings[0].what.contains("Gigue"), "{}", findings[0].what);
    let credits = &piece.credits;
    assert_eq!(credits.title.as_deref(), Some("Morning Songs"));
    assert_eq!(credits.movement.as_deref(), Some("Book One"));
    let people: Vec<(&str, &str)> = credits
        .people
        .iter()
        .map(|(role, name)| (role.as_str(), name.as_str()))
        .collect();
    assert_eq!(people, [("composer", "Ana Vale"), ("arranger", "Ivo Tam")]);
    assert_eq!(credits.rights, ["Free for lessons"]);
    assert_eq!(credits.numbers, ["op. 3"]);
    assert_eq!(credits.page_words, ["Morning Songs\nfor oboe"]);
    assert_eq!(piece.provenance.encoding, ["by hand 2"]);
    assert_eq!(piece.provenance.standard, "MEI");
    let part = &piece.parts[0];
    assert_eq!(
        (part.name.as_str(), part.abbreviation.as_str()),
        ("Oboe d’amore", "Ob. d’am.")
    );
    assert_eq!(
        (part.instrument_name.as_deref(), part.midi_program),
        (Some("Oboe"), Some(69))
    );
}

#[test]
fn two_staves_of_one_player_are_one_part() {
    let piece = clean("basics/voices-and-staves");
    let part = &piece.parts[0];
    assert_eq!(
        (piece.parts.len(), part.name.as_str(), part.staves),
        (1, "Piano", 2)
    );
    assert_eq!(part.voices, ["1", "2", "5"]);
    let heads: Vec<(String, u8, u16)> = part
        .events
        .iter()
        .flat_map(|event| event.heads().iter().map(|head| (head.staff, event.voice)))
        .zip(part.events.iter().flat_map(notation::Event::pitches))
        .map(|((staff, voice), pitch)| (pitch.to_string(), staff, voice))
        .collect();
    assert_eq!(
        heads,
        [
            ("C5".to_owned(), 1, 0),
            ("G4".to_owned(), 1, 1),
            ("C3".to_owned(), 2, 2),
            ("C4".to_owned(), 1, 2),
            ("E4".to_owned(), 2, 0),
        ]
    );
    let clefs: Vec<(String, Option<u8>, String)> = part
        .clefs
        .iter()
        .map(|clef| (clef.value.code(), clef.staff, clef.place.offset.to_string()))
        .collect();
    let clef = |code: &str, staff, at: &str| (code.to_owned(), Some(staff), at.to_owned());
    assert_eq!(
        clefs,
        [clef("G2", 1, "0"), clef("F4", 2, "0"), clef("G2", 2, "2")]
    );
    // One key for both staves, one metre.
    assert_eq!(
        (part.keys.len(), part.keys[0].staff, part.metres.len()),
        (1, None, 1)
    );
}

#[test]
fn a_brace_over_several_players_makes_no_part_of_them() {
    let piece = clean("basics/groups");
    let names: Vec<(&str, u8)> = piece
        .parts
        .iter()
        .map(|part| (part.name.as_str(), part.staves))
        .collect();
    assert_eq!(names, [("I", 1), ("II", 1), ("", 1), ("", 1)]);
}

#[test]
fn part_by_part_shares_one_grid_of_bars() {
    let piece = clean("basics/part-by-part");
    assert_eq!((piece.bars.len(), piece.parts.len()), (2, 2));
    assert_eq!(events(&piece.parts[0]), ["0@0 A5 half =2", "1@0 B5 half =2"]);
    assert_eq!(events(&piece.parts[1]), ["0@0 C4 half =2", "1@0 G4 half =2"]);
    assert_eq!(piece.parts[1].events[1].fermatas.len(), 1);
    assert_eq!(
        piece.parts[1].transpositions[0].value.semitones(),
        notation::Rational::whole(-7)
    );
    assert_eq!(
        piece
            .barlines
            .iter()
            .filter(|line| line.style.as_deref() == Some("light-heavy"))
            .count(),
        2
    );
}

#[test]
fn of_a_corpus_the_first_piece_is_read() {
    let (piece, findings) = read("basics/corpus");
    assert_eq!(kinds(&findings), ["several-movements"]);
    assert_eq!(piece.credits.title.as_deref(), Some("Two Tunes"));
    assert_eq!(events(&piece.parts[0]), ["0@0 C4 half =2"]);
}

#[test]
fn what_is_not_known_is_said() {
    let (piece, findings) = read("basics/unknown");
    let said: Vec<String> = findings.iter().map(|f| f.to_string()).collect();
    let has = |kind: &str, text: &str| {
        findings
            .iter()
            .zip(&said)
            .any(|(finding, said)| finding.kind == kind && said.contains(text))
    };
    assert!(has("part-not-listed", "staff 9"), "{said:#?}");
    assert!(has("not-read", "<swirl> in <layer>"), "{said:#?}");
    assert!(has("not-read", "<whirl> in <measure>"), "{said:#?}");
    assert!(has("duration-missing", "no duration"), "{said:#?}");
    assert!(has("note-value-unknown", "“5”"), "{said:#?}");
    assert!(has("copy-not-read", "#m1"), "{said:#?}");
    assert_eq!(piece.parts.len(), 2);
}

#[test]
fn utf_16_is_the_same_piece() {
    let plain = String::from_utf8(crate::bytes("basics/two-parts")).expect("UTF-8");
    let wide: Vec<u8> = std::iter::once(0xfeff)
        .chain(plain.replace("UTF-8", "UTF-16").encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect();
    let (piece, findings) = formats::read(&wide, "wide").expect("a piece");
    assert_eq!(kinds(&findings), Vec::<String>::new());
    assert_eq!(piece.same_page(&clean("basics/two-parts")), Ok(()));
}

#[test]
fn older_headings_title_parts_and_people_by_every_role() {
    let (piece, findings) = read("basics/older-heading");
    assert_eq!(kinds(&findings), ["not-read"]);
    assert!(findings[0].what.contains("<front>"), "{}", findings[0].what);
    let credits = &piece.credits;
    assert_eq!(
        (credits.title.as_deref(), credits.movement.as_deref()),
        (Some("Small Suite"), Some("for Friends"))
    );
    let people: Vec<String> = credits
        .people
        .iter()
        .map(|(role, name)| format!("{role}: {name}"))
        .collect();
    assert_eq!(
        people,
        [
            "lyricist: Lea Orn",
            "librettist: Max Ild",
            "arranger: Ivo Tam",
            "author: Uma Ray",
            "editor: Oto Lind",
            "contributor: Pia Sol",
            "creator: Old Band",
            "composer: Ana Vale",
        ]
    );
    assert_eq!(credits.rights, ["ask first", "share alike"]);
    assert_eq!(credits.page_words, ["For Ana", "page one", "the end"]);
    let part = &piece.parts[0];
    assert_eq!((part.name.as_str(), part.abbreviation.as_str()), ("Oboe", "Ob."));
    assert_eq!(part.keys[0].value.fifths, Some(-1));
}

/// Source: MEI Guidelines 5.0, element `mdiv`: "contains a subdivision of the body of a musical text"; `meiCorpus` holds several documents.
#[test]
fn each_movement_of_several_is_read_by_its_place() {
    let bytes = crate::bytes("basics/corpus");
    let source = formats::Source::open(&bytes, "corpus.mei").expect("MEI");
    let numbers: Vec<&str> = source.tunes().iter().map(|tune| tune.number.as_str()).collect();
    assert_eq!(numbers, ["1", "2"]);
    for (asked, note) in [
        ("1", "0@0 C4 half =2"),
        ("2", "0@0 D4 half =2"),
        ("#2", "0@0 D4 half =2"),
    ] {
        let (piece, findings) = source.read(Some(asked)).expect("a movement");
        assert_eq!(events(&piece.parts[0]), [note], "{asked}");
        assert_eq!(
            kinds(&findings),
            Vec::<String>::new(),
            "who asks for one knows of the others"
        );
    }
    assert!(source.read(Some("3")).is_err() && source.read(Some("#3")).is_err());
    let one = crate::bytes("basics/two-parts");
    assert!(
        formats::Source::open(&one, "one.mei")
            .expect("MEI")
            .tunes()
            .is_empty()
    );
}

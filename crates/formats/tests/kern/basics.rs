//! Parts, staves, names, credits: who plays what, and what the piece is called.

use crate::{bytes, clean, events, kinds, path, read};
use notation::Place;

/// Source: Humdrum user's guide, chapter 2: the lowest part is the leftmost spine; the top of the score comes first here.
#[test]
fn spines_are_parts_from_top_to_bottom() {
    let piece = clean("basics/two-spines");
    let names: Vec<&str> = piece.parts.iter().map(|part| part.name.as_str()).collect();
    assert_eq!(names, ["Flute", "Cello"]);
    assert_eq!(piece.parts[0].abbreviation, "Fl.");
    assert_eq!(piece.parts[1].instrument_sound.as_deref(), Some("strings.cello"));
    assert_eq!(
        events(&piece.parts[0])[..5],
        [
            "0@0 A4 quarter =1",
            "0@1 C5 quarter =1",
            "0@2 Bb4 eighth =1/2",
            "0@5/2 A4 eighth =1/2",
            "1@0 G4 half =2"
        ]
    );
    assert_eq!(events(&piece.parts[1])[1], "1@0 C3 quarter =1");
}

#[test]
fn reference_records_are_credits() {
    let piece = clean("basics/two-spines");
    assert_eq!(piece.credits.title.as_deref(), Some("Evening Walk"));
    let composer = ("composer".to_owned(), "Anna Lindqvist".to_owned());
    assert_eq!(piece.credits.people, [composer]);
    assert_eq!(piece.credits.numbers, ["Op. 3"]);
    assert_eq!(piece.credits.rights, ["(c) 2025 Anna Lindqvist"]);
    assert_eq!(
        piece.provenance.encoding,
        ["ENC: A. Lindqvist", "comment: for two friends"]
    );
}

#[test]
fn a_parent_work_stands_above_the_title() {
    let piece = clean("basics/credits");
    assert_eq!(piece.credits.title.as_deref(), Some("Three Walks"));
    assert_eq!(piece.credits.movement.as_deref(), Some("Abendgang"));
    assert_eq!(piece.credits.page_words, ["to my sister", "Evening Walk"]);
    let roles: Vec<&str> = piece
        .credits
        .people
        .iter()
        .map(|(role, _)| role.as_str())
        .collect();
    assert_eq!(roles, ["composer", "lyricist", "arranger"]);
}

#[test]
fn the_first_bar_line_names_the_first_bar() {
    let piece = clean("basics/two-spines");
    let labels: Vec<&str> = piece.bars.iter().map(|bar| bar.label.as_str()).collect();
    assert_eq!(labels, ["1", "2", "3"]);
    // What stands before it comes into force with the first note.
    let part = &piece.parts[0];
    for place in [part.keys[0].place, part.metres[0].place, part.clefs[0].place] {
        assert_eq!(place, Place::default());
    }
}

#[test]
fn two_spines_of_a_keyboard_are_one_part() {
    let piece = clean("basics/keyboard");
    assert_eq!(piece.parts.len(), 1);
    let part = &piece.parts[0];
    assert_eq!((part.name.as_str(), part.staves), ("Piano", 2));
    let staves: Vec<u8> = part
        .bar_events(notation::BarIndex(0))
        .iter()
        .map(|e| e.staff)
        .collect();
    assert_eq!(staves, [1, 2, 1, 2]);
    // What both staves say is said once for both; clefs are each staff's own.
    assert_eq!((part.keys.len(), part.keys[0].staff), (1, None));
    assert_eq!((part.metres.len(), part.clefs.len()), (1, 2));
    assert_eq!(part.clef_at(2, Place::default()), Some(notation::Clef::BASS));
    assert_eq!(part.directions[0].staff, None);
}

#[test]
fn spines_of_one_part_number_are_its_staves() {
    let piece = clean("basics/parts-and-staves");
    let said: Vec<(&str, u8)> = piece.parts.iter().map(|p| (p.name.as_str(), p.staves)).collect();
    assert_eq!(said, [("Harp", 2), ("Piano", 2)]);
    let staves: Vec<u8> = piece.parts[1].events.iter().map(|event| event.staff).collect();
    assert_eq!(staves, [1, 2]);
}

#[test]
fn spines_of_one_staff_are_its_voices() {
    let piece = clean("basics/two-voices-on-a-staff");
    let said: Vec<(&str, u8, usize)> = piece
        .parts
        .iter()
        .map(|p| (p.name.as_str(), p.staves, p.voices.len()))
        .collect();
    assert_eq!(said, [("Upper", 1, 2), ("Bass", 1, 1)]);
}

#[test]
fn older_files_in_latin_1_are_read() {
    let mut text = b"!!!COM: Faur\xe9\n".to_vec();
    text.extend(bytes("basics/two-spines"));
    let (piece, findings) = formats::read(&text, "latin").expect("a piece");
    assert_eq!(kinds(&findings), ["encoding-guessed"]);
    assert_eq!(piece.credits.people[0].1, "Fauré");
}

#[test]
fn windows_line_ends_and_a_byte_order_mark_change_nothing() {
    let plain = String::from_utf8(bytes("basics/keyboard")).expect("UTF-8");
    let (expected, _) = formats::read(plain.as_bytes(), "plain").expect("a piece");
    let windows = format!("\u{feff}{}", plain.replace('\n', "\r\n"));
    let (piece, findings) = formats::read(windows.as_bytes(), "windows").expect("a piece");
    assert_eq!((piece == expected, findings.len()), (true, 0));
}

#[test]
fn the_content_decides_what_is_kern() {
    let source =
        formats::Source::open(b"!! note\n\n**dynam\t**kern\n.\t4c\n*-\t*-\n", "x.txt").expect("kern");
    assert_eq!(source.standard(), formats::Standard::Kern);
    assert!(formats::read(b"**dynam\np\n*-\n", "x.krn").is_err());
    assert!(formats::read(b"dear **kern\n", "x.krn").is_err());
    let silent = formats::read(b"**kern\n*clefG2\n*-\n", "x").expect_err("no notes");
    assert!(silent.to_string().contains("hold no notes"), "{silent}");
}

#[test]
fn every_event_knows_where_it_stood_in_the_text() {
    let text = String::from_utf8(bytes("basics/two-spines")).expect("UTF-8");
    let (piece, _) = read("basics/two-spines");
    let event = &piece.parts[0].events[2];
    let range = piece
        .provenance
        .origins
        .get(&event.id)
        .and_then(|origin| origin.range);
    let (from, to) = range.expect("a range");
    assert_eq!(&text[from as usize..to as usize], "8b-L");
    assert!(path("basics/two-spines").exists());
}

//! Parts, staves, voices; the heading; the same page as in another standard.

use crate::{clean, events, path, spans};

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

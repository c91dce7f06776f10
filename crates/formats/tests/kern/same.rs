//! Is the same music the same page whether it comes as kern or as MusicXML?

use crate::{bytes, read};
use notation::{How, Piece};

fn musicxml(name: &str) -> Piece {
    let root = std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/kern");
    let text = std::fs::read(root.join(format!("{name}.musicxml"))).expect("the fixture");
    formats::read(&text, name).expect("a piece").0
}

/// Source: MusicXML 4.0 and the Humdrum reference, each for its own half.
#[test]
fn a_flute_line_is_the_same_page() {
    let (kern, _) = read("same/flute");
    let other = musicxml("same/flute");
    if let Err(difference) = kern.same_page(&other) {
        panic!("{difference}");
    }
    // What kern does not say is marked as worked out.
    let implied = kern
        .provenance
        .origins
        .iter()
        .filter(|(_, origin)| origin.how == How::Implied);
    assert_eq!(implied.count(), 2);
    assert!(bytes("same/flute").starts_with(b"!!!"));
}

#[test]
fn a_transposing_part_and_a_piano_are_the_same_page() {
    let (kern, _) = read("same/clarinet-and-piano");
    let other = musicxml("same/clarinet-and-piano");
    if let Err(difference) = kern.same_page(&other) {
        panic!("{difference}");
    }
}

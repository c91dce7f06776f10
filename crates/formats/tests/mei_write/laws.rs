//! Laws of writing MEI: any rich piece comes back as the same page; the same piece gives the same bytes; ids are ours.

use formats::MeiOptions;
use notation::Piece;
use notation::testing::{Palette, piece};
use proptest::prelude::*;
use std::collections::BTreeSet;

fn written(piece: &Piece) -> String {
    formats::write_mei(piece, &MeiOptions::default()).0
}

/// All `xml:id`s of a text, in order.
fn ids(text: &str) -> Vec<&str> {
    text.split("xml:id=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    /// read(write(p)) is the page p.
    #[test]
    fn a_rich_piece_comes_back_as_the_same_page(bytes in proptest::collection::vec(any::<u8>(), 0..1500)) {
        let piece = piece(&bytes, &Palette::default());
        let text = written(&piece);
        let (back, _) = formats::read(text.as_bytes(), "again").expect("our own file");
        if let Err(difference) = piece.same_page(&back) {
            return Err(TestCaseError::fail(format!("{difference}\n{text}")));
        }
    }

    /// Every id stands once, every pointer leads somewhere, and every event is found by its own id.
    #[test]
    fn ids_are_ours_and_stand_once(bytes in proptest::collection::vec(any::<u8>(), 0..600)) {
        let piece = piece(&bytes, &Palette::default());
        let text = written(&piece);
        prop_assert_eq!(&text, &written(&piece));
        let all = ids(&text);
        let known: BTreeSet<&str> = all.iter().copied().collect();
        prop_assert_eq!(known.len(), all.len());
        for pointer in ["startid", "endid", "plist", "corresp"] {
            let mark = format!(" {pointer}=\"");
            for value in text.split(&mark).skip(1).filter_map(|rest| rest.split('"').next()) {
                for one in value.split(' ') {
                    prop_assert!(known.contains(one.trim_start_matches('#')), "{} leads nowhere", one);
                }
            }
        }
        for event in piece.parts.iter().flat_map(|part| &part.events) {
            prop_assert!(known.contains(event.id.to_string().as_str()), "{} is not there", event.id);
            for head in event.heads() {
                let name = head.id.to_string();
                let alone = text.contains(&format!("type=\"{name}\"")) || text.contains(&format!("type=\"{name} "));
                prop_assert!(alone || known.contains(name.as_str()), "{} is not there", name);
            }
        }
        for bar in &piece.bars {
            prop_assert!(known.contains(bar.id.to_string().as_str()));
        }
    }
}

#[test]
fn an_empty_piece_is_written() {
    assert!(written(&Piece::default()).contains("<section"));
}

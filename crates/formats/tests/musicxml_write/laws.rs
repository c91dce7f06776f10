//! Laws of writing: any rich piece comes back as the same page, any piece at all is written without a crash.

use notation::Piece;
use notation::testing::{Palette, piece};
use proptest::prelude::*;

fn again(piece: &Piece) -> Piece {
    let (text, _) = formats::write_musicxml(piece);
    match formats::read(text.as_bytes(), "again") {
        Ok((piece, _)) => piece,
        Err(error) => panic!("{error}\n{text}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_200))]

    /// read(write(p)) is the page p, and nothing of p was left out on the way.
    #[test]
    fn a_rich_piece_comes_back_as_the_same_page(bytes in proptest::collection::vec(any::<u8>(), 0..1500)) {
        let piece = piece(&bytes, &Palette::default());
        let (text, findings) = formats::write_musicxml(&piece);
        prop_assert!(findings.is_empty(), "{findings:?}");
        let (back, _) = formats::read(text.as_bytes(), "again").expect("our own file");
        if let Err(difference) = piece.same_page(&back) {
            return Err(TestCaseError::fail(format!("{difference}\n{text}")));
        }
    }
}

#[test]
fn an_empty_piece_is_written_with_a_finding() {
    let (text, findings) = formats::write_musicxml(&Piece::default());
    assert!(text.contains("<score-partwise"));
    assert_eq!(findings.len(), 1);
}

#[test]
fn the_plainest_piece_comes_back() {
    let piece = piece(&[], &Palette::plain());
    piece.same_page(&again(&piece)).expect("the same page");
}

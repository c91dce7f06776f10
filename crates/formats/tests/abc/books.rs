//! Books of tunes: their list, their file header, tunes asked for by number, what is no tune.

use crate::{kinds, read, text};
use formats::{Source, Standard};

/// Source: ABC 2.1, 2.2.2: the file header's fields hold for every tune that does not say otherwise.
#[test]
fn the_file_header_holds_for_every_tune() {
    let text = text("book/file-header");
    let source = Source::open(text.as_bytes(), "book").expect("a book");
    assert_eq!(source.standard(), Standard::Abc);
    let tunes: Vec<(&str, &str)> = source
        .tunes()
        .iter()
        .map(|t| (t.number.as_str(), t.title.as_str()))
        .collect();
    assert_eq!(tunes, [("1", "First"), ("2", "Second"), ("2", "Also second")]);
    let (first, findings) = source.read(None).expect("the first");
    assert_eq!(kinds(&findings), ["several-tunes"]);
    assert_eq!(first.parts[0].metres[0].value.name(), "3/4");
    assert_eq!(first.credits.people[0].1, "Ours");
    assert_eq!(crate::marks(&first.parts[0])[0], "turn");
    let (second, findings) = source.read(Some("2")).expect("the second");
    assert_eq!(second.parts[0].metres[0].value.name(), "4/4");
    assert_eq!(
        crate::bars(&second.parts[0]),
        ["C4/quarter D4/quarter E4/quarter F4/quarter"]
    );
    assert_eq!(kinds(&findings), ["tune-number-twice"]);
    let (third, _) = source.read_nth(2).expect("the third");
    assert_eq!(crate::bars(&third.parts[0]), ["F4/half."]);
    assert!(source.read(Some("9")).is_err());
}

#[test]
fn a_scrap_without_a_number_is_a_tune() {
    let (piece, _) = read("book/no-number");
    assert_eq!(piece.credits.title.as_deref(), Some("Scrap"));
    assert_eq!(piece.bars.len(), 2);
}

/// Source: ABC 2.1, 2.2.1: a tune ends with an empty line.
#[test]
fn music_after_an_empty_line_is_said() {
    let (piece, findings) = read("book/text-after-the-end");
    assert_eq!(piece.bars.len(), 2);
    assert_eq!(kinds(&findings), ["music-after-empty-line"]);
}

#[test]
fn a_tune_without_notes_is_refused_with_its_line() {
    let error = formats::read(b"X:1\nT:Nothing\nK:C\n", "x").expect_err("no notes");
    assert!(error.to_string().contains("line 1"), "{error}");
}

#[test]
fn a_tune_without_a_key_is_read_and_a_spoilt_heading_is_said() {
    let (piece, findings) = crate::read_text("X:1\nT:No key\nM:2/4\nL:1/4\nabc|c2|\nX:2\nK:C\nC|\n");
    assert_eq!(crate::bars(&piece.parts[0])[1], "C5/half");
    assert!(kinds(&findings).contains(&"key-missing".to_owned()));
    let (_, findings) = crate::read_text("X:1\nT:Form\nI (1) :| (2) ||\nM:2/4\nL:1/4\nK:C\nc2|c2|\n");
    assert_eq!(kinds(&findings), ["header-line-unclear"]);
}

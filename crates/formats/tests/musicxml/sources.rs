//! Plain, compressed, in every encoding: the same piece; anything else: a message that says what it is.

use crate::bytes;
use formats::FormatError;
use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

const CONTAINER: &str = r#"<?xml version="1.0"?><container><rootfiles>
    <rootfile full-path="music/score.musicxml" media-type="application/vnd.recordare.musicxml+xml"/>
    <rootfile full-path="page.pdf" media-type="application/pdf"/></rootfiles></container>"#;

fn zipped(entries: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for (name, data) in entries {
        writer.start_file(*name, options).expect("an entry");
        writer.write_all(data).expect("its bytes");
    }
    writer.finish().expect("an archive").into_inner()
}

fn error(bytes: &[u8]) -> FormatError {
    formats::read(bytes, "test").expect_err("no piece")
}

#[test]
fn a_compressed_score_is_the_score() {
    let plain = bytes("basics/two-parts");
    let (expected, _) = formats::read(&plain, "plain").expect("a piece");
    let packed = zipped(&[
        ("mimetype", b"application/vnd.recordare.musicxml"),
        ("META-INF/container.xml", CONTAINER.as_bytes()),
        ("other.xml", b"<not-this/>"),
        ("music/score.musicxml", &plain),
    ]);
    let (piece, findings) = formats::read(&packed, "packed.mxl").expect("a piece");
    assert_eq!((piece == expected, findings.len()), (true, 0));
    assert_eq!(
        piece.provenance.zip_entry.as_deref(),
        Some("music/score.musicxml")
    );
    // Without a list of contents the score is found all the same, and it is said.
    let bare = zipped(&[("a/score.xml", &plain)]);
    let (piece, findings) = formats::read(&bare, "bare.mxl").expect("a piece");
    assert_eq!(
        (piece == expected, findings.len(), findings[0].kind),
        (true, 1, "container-guessed")
    );
}

#[test]
fn every_encoding_gives_the_same_piece() {
    let plain = String::from_utf8(bytes("basics/two-parts")).expect("UTF-8");
    let (expected, _) = formats::read(plain.as_bytes(), "plain").expect("a piece");
    let wide = plain.replace("UTF-8", "UTF-16");
    let le = |text: &str| {
        text.encode_utf16()
            .flat_map(u16::to_le_bytes)
            .collect::<Vec<u8>>()
    };
    let be = |text: &str| {
        text.encode_utf16()
            .flat_map(u16::to_be_bytes)
            .collect::<Vec<u8>>()
    };
    let marked = format!("\u{feff}{plain}").into_bytes();
    let latin = plain.replace("UTF-8", "ISO-8859-1").into_bytes();
    for bytes in [
        marked,
        le(&wide),
        le(&format!("\u{feff}{wide}")),
        be(&wide),
        be(&format!("\u{feff}{wide}")),
        latin,
    ] {
        let (piece, findings) = formats::read(&bytes, "encoded").expect("a piece");
        assert_eq!((piece == expected, findings.len()), (true, 0));
    }
}

#[test]
fn what_is_no_score_is_named() {
    assert_eq!(error(b""), FormatError::Empty);
    assert!(error(b"%PDF-1.4").to_string().contains("a PDF"));
    assert!(
        error(b"<html><body>404</body></html>")
            .to_string()
            .contains("web page")
    );
    assert!(error(b"<meiHead xmlns='x'/>").to_string().contains("MEI"));
    assert!(matches!(
        error(b"PK\x03\x04 nothing more"),
        FormatError::Container { .. }
    ));
    assert!(matches!(
        error(&zipped(&[("letter.txt", b"dear")])),
        FormatError::NotMusic { .. }
    ));
    assert!(matches!(
        error(b"<score-partwise><part-list/></score-partwise>"),
        FormatError::NoBars { .. }
    ));
    assert!(matches!(error(b"<score-partwise/>"), FormatError::NoBars { .. }));
    let empty_part = b"<score-partwise><part-list/><part id='P1'></part></score-partwise>";
    assert!(matches!(error(empty_part), FormatError::NoBars { .. }));
}

#[test]
fn a_document_type_is_let_pass_but_never_fetched() {
    let plain = String::from_utf8(bytes("basics/two-parts")).expect("UTF-8");
    let doctype = "<!DOCTYPE score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \"http://example.invalid/partwise.dtd\" [<!ENTITY name \"Two Bars\">]>\n<score-partwise";
    let typed = plain
        .replacen("<score-partwise", doctype, 1)
        .replace("Two Bars</", "&name; &#38; &quot;more&quot;</");
    let (piece, _) = formats::read(typed.as_bytes(), "typed").expect("a piece");
    assert_eq!(piece.credits.title.as_deref(), Some("Two Bars & \"more\""));
}

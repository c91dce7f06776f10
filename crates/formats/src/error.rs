//! Why can't this be read as a piece? Said to a musician: what, where, what to do.

use thiserror::Error;

/// Why no piece could be made of some bytes.
#[derive(Debug, Error, PartialEq, Eq)]
#[expect(missing_docs, reason = "each message says what its fields are")]
pub enum FormatError {
    #[error("the file is empty — export the piece again")]
    Empty,
    #[error("this is not a notated piece but {looks} — {advice}")]
    NotMusic {
        looks: &'static str,
        advice: &'static str,
    },
    #[error("this XML is not a MusicXML score but a document called <{root}> — {advice}")]
    OtherXml { root: String, advice: &'static str },
    #[error("the compressed score can't be opened: {what} — export or download it again")]
    Container { what: String },
    #[error(
        "the compressed score would unfold to {megabytes} MB, more than a notated piece ever is \
         (the limit is {limit} MB) — look whether it is the right file"
    )]
    Unfolds { megabytes: u64, limit: u64 },
    #[error("the text can't be decoded at byte {byte}: {what} — export the piece again as UTF-8")]
    Encoding { byte: usize, what: String },
    #[error(
        "the file ends in the middle of {place} (line {line}) — it was cut off: export or download it again"
    )]
    Truncated { place: String, line: usize },
    #[error("the XML is broken at line {line}, column {column} ({place}): {what} — export the piece again")]
    Broken {
        line: usize,
        column: usize,
        place: String,
        what: String,
    },
    #[error(
        "line {line}: the file defines shorthands that unfold to more text than a piece holds ({what}) — \
         it is damaged or malicious; export the piece again"
    )]
    Entities { line: usize, what: String },
    #[error(
        "line {line} ({place}): {what}, more than notated music needs — look whether it is the right file"
    )]
    TooMuch {
        line: usize,
        place: String,
        what: String,
    },
    #[error("the score has no bars: {what} — look whether it was exported whole")]
    NoBars { what: &'static str },
    #[error("there is no tune {asked} — the book has {tunes}; ask for one with --tune and its number")]
    NoSuchTune { asked: String, tunes: String },
    #[error("there is no tune {asked}: the file holds one piece, not a book of tunes — leave --tune out")]
    NotABook { asked: String },
    #[error("this MIDI file can't be read as a piece: {what} — {advice}")]
    Midi { what: String, advice: &'static str },
    #[error("the score can't be packed: {what} — write it unpacked")]
    Unpackable { what: String },
    #[error("line {line}: {what} — {advice}")]
    NoMusic {
        line: usize,
        what: String,
        advice: &'static str,
    },
}

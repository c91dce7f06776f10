//! How is a piece written as MusicXML 4.0? `score-partwise`, all that the page model holds, in the standard's order.
//!
//! Source: MusicXML 4.0 (W3C Music Notation Community Group), <https://www.w3.org/2021/06/musicxml40/>; its XML schema.
//! What is read from the text again is the same page; what MusicXML can't say is a finding. The ids of the piece stand as
//! `id` in the file: bars (in the first part), notes, directions, changes, bar lines, starts of spans.

mod attributes;
mod barline;
mod direction;
mod divisions;
mod header;
mod losses;
mod marks;
mod metronome;
mod notations;
mod note;
mod numbers;
mod out;
mod packed;
mod part;
mod signs;
mod technical;
mod values;

use crate::FormatError;
use losses::{Losses, Of};
use notation::{Finding, Id, Piece, Rational};
use out::Out;
use part::PartWriter;

/// Writes a piece as the text of a MusicXML 4.0 score, with findings about what MusicXML can't say.
pub(crate) fn write(piece: &Piece) -> (String, Vec<Finding>) {
    let events: usize = piece.parts.iter().map(|part| part.events.len()).sum();
    let mut out = Out::with_capacity(2_000 + 400 * events);
    let mut losses = Losses::default();
    out.raw("<?xml version=\"1.0\" encoding=\"UTF-8\"?>");
    out.tag("score-partwise").attr("version", "4.0").open();
    header::header(&mut out, &mut losses, piece);
    for (number, part) in piece.parts.iter().enumerate() {
        let name = if part.name.trim().is_empty() {
            format!("part {}", number + 1)
        } else {
            part.name.clone()
        };
        let of = Of { piece, part: &name };
        out.tag("part").attr("id", part.id).open();
        PartWriter::new(&mut out, &mut losses, piece, number, part, of).write();
        out.close("part");
    }
    out.close("score-partwise");
    check(piece, &mut losses);
    let (text, replaced) = out.finish();
    if replaced > 0 {
        losses.piece(format!(
            "{replaced} characters that XML does not allow were replaced by �"
        ));
    }
    (text, losses.finish())
}

/// The same, packed as a `.mxl` archive.
///
/// # Errors
/// If the score is too large for an archive (past four thousand million bytes).
pub(crate) fn write_packed(piece: &Piece) -> Result<(Vec<u8>, Vec<Finding>), FormatError> {
    let (text, findings) = write(piece);
    let bytes = packed::pack(&text).map_err(|error| FormatError::Unpackable {
        what: error.to_string(),
    })?;
    Ok((bytes, findings))
}

/// What belongs to no part that exists, and pieces that are none.
fn check(piece: &Piece, losses: &mut Losses) {
    let parts = piece.parts.len();
    let lines = piece.barlines.iter().filter(|line| line.part >= parts).count();
    let hints = piece.sound_hints.iter().filter(|hint| hint.part >= parts).count();
    if lines + hints > 0 {
        losses.piece(format!(
            "{lines} bar lines and {hints} playback hints of parts that are not there"
        ));
    }
    if parts == 0 || piece.bars.is_empty() {
        losses.piece("a piece without parts or bars is no score to other programs");
    }
}

/// The id of an instrument of a part: 0 for its own, then those that it changes to.
fn instrument_id(part: Id, nth: usize) -> String {
    format!("{part}-i{}", nth + 1)
}

/// A number as the decimal that the standard asks for, and whether that is exact.
fn decimal(value: Rational) -> (String, bool) {
    if value.is_whole() {
        return (value.num().to_string(), true);
    }
    if value.is_overflow() {
        return ("0".to_owned(), false);
    }
    const SCALE: i64 = 1_000_000;
    let scaled = value.abs() * Rational::whole(SCALE);
    let exact = scaled.is_whole();
    let digits = (scaled + Rational::new(1, 2)).floor();
    let sign = if value.is_negative() { "-" } else { "" };
    let fraction = format!("{:06}", digits % SCALE);
    (
        format!("{sign}{}.{}", digits / SCALE, fraction.trim_end_matches('0')),
        exact,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_exact_where_they_can_be() {
        assert_eq!(decimal(Rational::new(-3, 2)), ("-1.5".to_owned(), true));
        assert_eq!(decimal(Rational::whole(2)), ("2".to_owned(), true));
        assert_eq!(decimal(Rational::new(1, 3)), ("0.333333".to_owned(), false));
        assert_eq!(decimal(Rational::new(1, 16)), ("0.0625".to_owned(), true));
    }
}

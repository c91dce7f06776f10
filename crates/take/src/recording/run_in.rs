//! How much of an M4A file's beginning is its encoder's run-in, not the recording? What its edit list says.
//!
//! Source: ISO/IEC 14496-12 (ISO base media file format), boxes `moov`, `trak`, `edts`, `elst`, `mdia`, `mdhd`, `hdlr`; Apple, QuickTime File
//! Format, appendix on audio priming (1,024 or 2,112 samples of AAC). Both from memory.

use std::io::{Read, Seek, SeekFrom};

/// A movie header of a recording is small; more is not looked at.
const MOST_BYTES: u64 = 4 << 20;
/// So many boxes are passed by before the movie header is given up.
const MOST_BOXES: usize = 64;
/// A run-in is shorter than this many seconds; what says more is a cut, and is not ours to make.
const LONGEST_SECS: f64 = 0.25;

/// Seconds of run-in; 0 for other files, and where nothing is said. The source is left at its beginning.
pub(super) fn run_in(source: &mut (impl Read + Seek)) -> f64 {
    let header = movie_header(source);
    let _ = source.seek(SeekFrom::Start(0));
    header
        .and_then(|movie| said(&movie))
        .filter(|secs| (0.0..LONGEST_SECS).contains(secs))
        .unwrap_or(0.0)
}

/// The contents of the `moov` box.
fn movie_header(source: &mut (impl Read + Seek)) -> Option<Vec<u8>> {
    let mut at = 0;
    for n in 0..MOST_BOXES {
        source.seek(SeekFrom::Start(at)).ok()?;
        let mut head = [0; 16];
        source.read_exact(head.get_mut(..8)?).ok()?;
        let kind = *head.get(4..8)?.first_chunk::<4>()?;
        if n == 0 && &kind != b"ftyp" {
            return None;
        }
        let mut size = u64::from(number(&head, 0)?);
        let mut before = 8;
        if size == 1 {
            source.read_exact(head.get_mut(8..16)?).ok()?;
            size = u64::from_be_bytes(*head.get(8..16)?.first_chunk()?);
            before = 16;
        }
        let inside = size.checked_sub(before)?;
        if &kind == b"moov" {
            let mut movie = Vec::new();
            source.take(inside.min(MOST_BYTES)).read_to_end(&mut movie).ok()?;
            return Some(movie);
        }
        at = at.checked_add(size)?;
    }
    None
}

/// Seconds at which the first sound track's first edit begins in its medium.
fn said(movie: &[u8]) -> Option<f64> {
    let track = boxes(movie)
        .filter(|(kind, _)| kind == b"trak")
        .map(|(_, track)| track)
        .find(|track| is_sound(track))?;
    let header = inner(inner(track, b"mdia")?, b"mdhd")?;
    let long = header.first()? == &1;
    let scale = number(header, if long { 20 } else { 12 })?;
    let edits = inner(inner(track, b"edts")?, b"elst")?;
    let begins = if edits.first()? == &1 {
        u64::from_be_bytes(*edits.get(16..24)?.first_chunk()?)
    } else {
        u64::from(number(edits, 12)?)
    };
    // −1 is an empty edit: silence before the recording, which a recorder does not write.
    let begins = u32::try_from(begins).ok().filter(|begins| *begins != u32::MAX)?;
    (scale > 0).then(|| f64::from(begins) / f64::from(scale))
}

fn is_sound(track: &[u8]) -> bool {
    inner(track, b"mdia")
        .and_then(|media| inner(media, b"hdlr"))
        .and_then(|handler| handler.get(8..12))
        == Some(b"soun")
}

/// The contents of the first box of a kind.
fn inner<'a>(contents: &'a [u8], kind: &[u8; 4]) -> Option<&'a [u8]> {
    boxes(contents)
        .find(|(other, _)| other == kind)
        .map(|(_, inside)| inside)
}

/// The boxes in some contents, with what is in them.
fn boxes(contents: &[u8]) -> impl Iterator<Item = ([u8; 4], &[u8])> {
    let mut rest = contents;
    std::iter::from_fn(move || {
        let size = usize::try_from(number(rest, 0)?).ok()?;
        let kind = *rest.get(4..8)?.first_chunk::<4>()?;
        let inside = rest.get(8..size)?;
        rest = rest.get(size..)?;
        Some((kind, inside))
    })
}

/// A number of four bytes, the highest first.
fn number(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_be_bytes(*bytes.get(at..at + 4)?.first_chunk()?))
}

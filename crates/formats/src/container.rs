//! Where in these bytes is the score's text? A plain file, or an entry of a compressed one, bounded before it unfolds.
//!
//! Source: MusicXML 4.0, "Compressed .MXL files": `META-INF/container.xml` names the score in its first rootfile.

use crate::decode::{self, Utf16};
use crate::xml::{Tag, Tree, Xml};
use crate::{FormatError, looks};
use flate2::{Crc, Decompress, FlushDecompress, Status};
use notation::{Finding, Severity};
use sha2::{Digest, Sha256};
use std::borrow::Cow;
use std::io::{Cursor, Read};
use zip::read::ZipFile;
use zip::{CompressionMethod, ZipArchive};

/// The most text a compressed score may unfold to.
const MOST_BYTES: u64 = 64 * 1024 * 1024;
/// Beyond this size, text that was packed more than so many times over is a bomb: real scores pack 10 to 40 times.
const SUSPICIOUS_BYTES: u64 = 8 * 1024 * 1024;
const MOST_PACKED: u64 = 200;
/// More entries than any container of one score holds.
const MOST_ENTRIES: usize = 2_000;

/// The decoded text and where it was found.
pub(crate) struct Source<'b> {
    pub text: Cow<'b, str>,
    pub entry: Option<String>,
    pub findings: Vec<Finding>,
}

/// True if the bytes start like a zip archive.
pub(crate) fn is_packed(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK")
}

/// Finds and decodes the text of XML or of an archive.
pub(crate) fn open(bytes: &[u8]) -> Result<Source<'_>, FormatError> {
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        return compressed(bytes);
    }
    if is_packed(bytes) {
        return Err(broken("it is cut off or damaged".to_owned()));
    }
    let mut findings = Vec::new();
    let text = decode::decode(bytes, &mut findings)?;
    Ok(Source {
        text,
        entry: None,
        findings,
    })
}

/// SHA-256 in lower-case hexadecimal.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    let digit = |four: u8| char::from_digit(u32::from(four), 16).unwrap_or('0');
    Sha256::digest(bytes)
        .iter()
        .flat_map(|byte| [digit(byte >> 4), digit(byte & 15)])
        .collect()
}

fn broken(what: String) -> FormatError {
    FormatError::Container { what }
}

fn compressed(bytes: &[u8]) -> Result<Source<'static>, FormatError> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|e| broken(e.to_string()))?;
    if archive.len() > MOST_ENTRIES {
        return Err(broken(format!("it holds {} entries", archive.len())));
    }
    let mut findings = Vec::new();
    let name = score_entry(&mut archive, bytes, &mut findings)?;
    let text = match entry(&mut archive, bytes, &name)? {
        Entry::Text(text) => text?.finish(&mut findings)?,
        Entry::Bytes(raw) if !decode::looks_like_xml(&raw) => return Err(looks::not_music(&raw)),
        Entry::Bytes(raw) => decode::decode_owned(raw, &mut findings)?,
    };
    Ok(Source {
        text: Cow::Owned(text),
        entry: Some(name),
        findings,
    })
}

type Archive<'b> = ZipArchive<Cursor<&'b [u8]>>;

fn names(archive: &Archive<'_>) -> Vec<String> {
    (0..archive.len())
        .filter_map(|index| {
            archive
                .name_for_index(index)
                .and_then(Result::ok)
                .map(|name| name.into_owned())
        })
        .collect()
}

/// The name of the entry that holds the score.
fn score_entry(
    archive: &mut Archive<'_>,
    bytes: &[u8],
    findings: &mut Vec<Finding>,
) -> Result<String, FormatError> {
    let names = names(archive);
    let listed = if names.iter().any(|name| name == CONTAINER) {
        let text = match entry(archive, bytes, CONTAINER)? {
            Entry::Text(text) => text?.finish(findings)?,
            Entry::Bytes(raw) => decode::decode_owned(raw, findings)?,
        };
        rootfile(&text)
    } else {
        None
    };
    if let Some(listed) = listed {
        let plain = listed.trim_start_matches("./").trim_start_matches('/');
        if let Some(name) = names.iter().find(|name| **name == listed || *name == plain) {
            return Ok(name.clone());
        }
    }
    let is_score = |name: &&String| {
        let lower = name.to_ascii_lowercase();
        !lower.starts_with("meta-inf/")
            && !lower.starts_with("__macosx/")
            && [".musicxml", ".xml"].iter().any(|end| lower.ends_with(end))
    };
    let guess = names.iter().find(is_score).cloned();
    let Some(guess) = guess else {
        return Err(FormatError::NotMusic {
            looks: "a zip archive without a score in it",
            advice: "if it holds a document or several files, unpack it and choose the MusicXML file",
        });
    };
    findings.push(Finding::new(
        Severity::Note,
        "container-guessed",
        format!("the compressed file does not say which of its entries is the score; “{guess}” was read"),
        "if it holds several scores, unpack it and choose one",
    ));
    Ok(guess)
}

const CONTAINER: &str = "META-INF/container.xml";

/// The first rootfile that is a score by its media type; the standard puts the score first.
fn rootfile(text: &str) -> Option<String> {
    let mut xml = Xml::new(text);
    let mut tree = Tree::default();
    loop {
        match xml.next_tag(&mut tree).ok()? {
            Tag::Open { name: "rootfile", .. } => {
                let root = tree.root();
                let score = root
                    .attr("media-type")
                    .is_none_or(|kind| kind.contains("musicxml") || kind.contains("xml") || kind.is_empty());
                if let Some(path) = root.attr("full-path").filter(|_| score) {
                    return Some(path.to_owned());
                }
            }
            Tag::End => return None,
            Tag::Open { .. } | Tag::Close => {}
        }
    }
}

/// What an entry holds.
enum Entry {
    /// Text in UTF-16, decoded as it unfolded: the 16-bit text of a score is large, and nobody needs it.
    Text(Result<Utf16, FormatError>),
    /// The bytes of anything else.
    Bytes(Vec<u8>),
}

/// The largest entry that is unfolded in one go, whatever its encoding.
const MOST_AT_ONCE: u64 = 4 * 1024 * 1024;

/// Bytes unfolded at a time.
const PIECE: usize = 64 * 1024;

/// What an entry holds, bounded by what it declares and by what really comes out.
fn entry(archive: &mut Archive<'_>, bytes: &[u8], name: &str) -> Result<Entry, FormatError> {
    let mut file = archive
        .by_name(name)
        .map_err(|e| broken(format!("“{name}”: {e}")))?;
    if file.is_dir() || file.encrypted() {
        return Err(broken(format!("“{name}” is a folder or locked by a password")));
    }
    let (size, packed) = (file.size(), file.compressed_size().max(1));
    let unfolds = |size: u64| FormatError::Unfolds {
        megabytes: size / 1_000_000,
        limit: MOST_BYTES / 1_000_000,
    };
    if size > MOST_BYTES || (size > SUSPICIOUS_BYTES && size / packed > MOST_PACKED) {
        return Err(unfolds(size));
    }
    let limit = if size > SUSPICIOUS_BYTES {
        size
    } else {
        packed.saturating_mul(MOST_PACKED).max(SUSPICIOUS_BYTES)
    };
    let limit = limit.min(MOST_BYTES);
    if let Some(raw) = at_once(bytes, &file) {
        return Ok(Entry::Bytes(raw));
    }
    // Bounded above: no larger than the limit, and large only if a good part of it is really there.
    let expected = usize::try_from(size).unwrap_or(0);
    let mut unfolding = Read::by_ref(&mut file).take(limit + 1);
    let failed = |e: std::io::Error| broken(format!("“{name}”: {e}"));
    let mut raw = Vec::with_capacity(expected.min(PIECE));
    let first = u64::try_from(PIECE).unwrap_or(u64::MAX);
    Read::by_ref(&mut unfolding)
        .take(first)
        .read_to_end(&mut raw)
        .map_err(failed)?;
    if let Some((text, start)) = Utf16::starts(&raw, expected) {
        let text = unfold_utf16(&mut unfolding, raw, text, start).map_err(failed)?;
        let left = unfolding.limit();
        return if left == 0 {
            Err(unfolds(limit + 1))
        } else {
            Ok(Entry::Text(text))
        };
    }
    raw.reserve_exact(expected.saturating_sub(raw.len()));
    unfolding.read_to_end(&mut raw).map_err(failed)?;
    if raw.len() as u64 > limit {
        return Err(unfolds(raw.len() as u64));
    }
    Ok(Entry::Bytes(raw))
}

/// The bytes of a sound entry of no great size, unfolded into one piece of memory; `None` if there is anything
/// to say against it. Its declared size is bounded already.
fn at_once<R: Read>(bytes: &[u8], file: &ZipFile<'_, R>) -> Option<Vec<u8>> {
    let (size, packed) = (file.size(), file.compressed_size());
    if file.compression() != CompressionMethod::Deflated || size > MOST_AT_ONCE {
        return None;
    }
    let (from, length) = (
        usize::try_from(file.data_start()?).ok()?,
        usize::try_from(packed).ok()?,
    );
    let packed = bytes.get(from..from.checked_add(length)?)?;
    let size = usize::try_from(size).ok()?;
    let mut raw = Vec::with_capacity(size + 1);
    let status = Decompress::new(false).decompress_vec(packed, &mut raw, FlushDecompress::Finish);
    if !matches!(status, Ok(Status::StreamEnd)) || raw.len() != size {
        return None;
    }
    let mut sum = Crc::new();
    sum.update(&raw);
    (sum.sum() == file.crc32()).then_some(raw)
}

/// Unfolds the rest of an entry in UTF-16 that starts with `piece`. All is unfolded, whatever is wrong with the text:
/// an entry that is damaged or too large is the greater trouble.
fn unfold_utf16(
    unfolding: &mut impl Read,
    mut piece: Vec<u8>,
    mut text: Utf16,
    start: usize,
) -> std::io::Result<Result<Utf16, FormatError>> {
    let mut wrong = None;
    let mut from = start;
    loop {
        let bytes = piece.get(from..).unwrap_or_default();
        let taken = match text.push(bytes, false) {
            Ok(taken) => taken,
            Err(error) => {
                wrong.get_or_insert(error);
                bytes.len()
            }
        };
        piece.drain(..from + taken);
        from = 0;
        let most = u64::try_from(PIECE).unwrap_or(u64::MAX);
        if Read::by_ref(unfolding).take(most).read_to_end(&mut piece)? == 0 {
            break;
        }
    }
    if wrong.is_none() {
        wrong = text.push(&piece, true).err();
    }
    Ok(wrong.map_or(Ok(text), Err))
}

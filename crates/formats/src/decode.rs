//! Which characters do these bytes stand for? Byte-order marks, UTF-8, UTF-16 and Latin-1, by mark and declaration.
//!
//! Source: XML 1.0, Appendix F (detection of character encodings).

use crate::FormatError;
use notation::{Finding, Severity};
use std::borrow::Cow;

/// How the text is encoded.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Encoding {
    Utf8,
    Utf16Le,
    Utf16Be,
    Latin1,
}

/// True if the bytes start like XML in an encoding that we read.
pub(crate) fn looks_like_xml(bytes: &[u8]) -> bool {
    let (encoding, start) = by_mark(bytes);
    let body = bytes.get(start..).unwrap_or_default();
    match encoding {
        Encoding::Utf16Le => body
            .chunks_exact(2)
            .find(|c| !blank(c[0], c[1]))
            .is_some_and(|c| c == [b'<', 0]),
        Encoding::Utf16Be => body
            .chunks_exact(2)
            .find(|c| !blank(c[1], c[0]))
            .is_some_and(|c| c == [0, b'<']),
        Encoding::Utf8 | Encoding::Latin1 => body.trim_ascii_start().first() == Some(&b'<'),
    }
}

fn blank(low: u8, high: u8) -> bool {
    high == 0 && low.is_ascii_whitespace()
}

/// The encoding by byte-order mark or by how `<` is stored, and where the text starts.
fn by_mark(bytes: &[u8]) -> (Encoding, usize) {
    match bytes {
        [0xef, 0xbb, 0xbf, ..] => (Encoding::Utf8, 3),
        [0xff, 0xfe, ..] => (Encoding::Utf16Le, 2),
        [0xfe, 0xff, ..] => (Encoding::Utf16Be, 2),
        [b'<', 0, ..] => (Encoding::Utf16Le, 0),
        [0, b'<', ..] => (Encoding::Utf16Be, 0),
        _ => (Encoding::Utf8, 0),
    }
}

/// The name in the XML declaration, if there is one.
fn declared(bytes: &[u8]) -> Option<String> {
    let head = bytes.get(..bytes.len().min(200))?;
    let end = head.windows(2).position(|pair| pair == b"?>")?;
    let text = String::from_utf8_lossy(head.get(..end)?).into_owned();
    let rest = text
        .split_once("encoding")?
        .1
        .trim_start()
        .strip_prefix('=')?
        .trim_start()
        .to_owned();
    let quote = rest.chars().next().filter(|c| matches!(c, '"' | '\''))?;
    Some(rest.get(1..)?.split(quote).next()?.trim().to_ascii_lowercase())
}

fn encoding(bytes: &[u8]) -> Result<(Encoding, usize), FormatError> {
    let (by_mark, start) = by_mark(bytes);
    if by_mark != Encoding::Utf8 || start > 0 {
        return Ok((by_mark, start));
    }
    let Some(name) = declared(bytes) else {
        return Ok((Encoding::Utf8, 0));
    };
    match name.as_str() {
        // A text that could be read this far is not stored in 16 bits, whatever it declares.
        "utf-8" | "utf8" | "us-ascii" | "ascii" | "utf-16" | "utf16" | "utf-16le" | "utf-16be" => {
            Ok((Encoding::Utf8, 0))
        }
        "iso-8859-1" | "iso8859-1" | "iso_8859-1" | "latin1" | "latin-1" | "windows-1252" | "cp1252"
        | "iso-8859-15" => Ok((Encoding::Latin1, 0)),
        _ => Err(FormatError::Encoding {
            byte: 0,
            what: format!("it is declared as “{name}”, which is not read"),
        }),
    }
}

/// The text, borrowed where it already is UTF-8 and holds nothing that XML forbids.
pub(crate) fn decode<'b>(bytes: &'b [u8], findings: &mut Vec<Finding>) -> Result<Cow<'b, str>, FormatError> {
    let text = decoded(bytes, findings)?;
    Ok(if holds_forbidden(text.as_bytes()) {
        Cow::Owned(without_forbidden(&text, findings))
    } else {
        text
    })
}

/// Control characters that XML 1.0 does not allow: most often traces of damage.
const fn forbidden(byte: u8) -> bool {
    byte < b' ' && !matches!(byte, b'\t' | b'\n' | b'\r')
}

/// In blocks, so that the compiler can look at many bytes at once.
fn holds_forbidden(bytes: &[u8]) -> bool {
    bytes
        .chunks(64)
        .any(|block| block.iter().fold(false, |found, byte| found | forbidden(*byte)))
}

fn without_forbidden(text: &str, findings: &mut Vec<Finding>) -> String {
    let count = text.bytes().filter(|byte| forbidden(*byte)).count();
    let line = 1 + text
        .bytes()
        .take_while(|byte| !forbidden(*byte))
        .filter(|byte| *byte == b'\n')
        .count();
    findings.push(Finding::new(
        Severity::Caution,
        "characters-removed",
        format!("characters that no text may hold ({count}, the first in line {line}) were left out; the file may be damaged"),
        "export or download it again, or check names and words",
    ));
    text.chars()
        .filter(|c| !u8::try_from(*c).is_ok_and(forbidden))
        .collect()
}

fn decoded<'b>(bytes: &'b [u8], findings: &mut Vec<Finding>) -> Result<Cow<'b, str>, FormatError> {
    let (encoding, start) = encoding(bytes)?;
    let body = bytes.get(start..).unwrap_or_default();
    match encoding {
        Encoding::Utf8 => match std::str::from_utf8(body) {
            Ok(text) => Ok(Cow::Borrowed(text)),
            Err(_) => repaired(body, findings).map(Cow::Owned),
        },
        Encoding::Utf16Le => utf16(body, false).map(Cow::Owned),
        Encoding::Utf16Be => utf16(body, true).map(Cow::Owned),
        Encoding::Latin1 => Ok(Cow::Owned(body.iter().map(|byte| latin1(*byte)).collect())),
    }
}

/// Plain text that declares no encoding: by its mark UTF-16 or UTF-8, else UTF-8 if it is, else Latin-1 with a finding.
pub(crate) fn plain<'b>(bytes: &'b [u8], findings: &mut Vec<Finding>) -> Result<Cow<'b, str>, FormatError> {
    let (encoding, start) = by_mark(bytes);
    let body = bytes.get(start..).unwrap_or_default();
    let text = match encoding {
        Encoding::Utf16Le => Cow::Owned(utf16(body, false)?),
        Encoding::Utf16Be => Cow::Owned(utf16(body, true)?),
        Encoding::Utf8 | Encoding::Latin1 => match std::str::from_utf8(body) {
            Ok(text) => Cow::Borrowed(text),
            Err(_) => {
                findings.push(Finding::new(
                    Severity::Note,
                    "encoding-guessed",
                    "the text is not UTF-8; it was read as Latin-1, the usual one of older files",
                    "check accented letters in names and words",
                ));
                Cow::Owned(body.iter().map(|byte| latin1(*byte)).collect())
            }
        },
    };
    Ok(if holds_forbidden(text.as_bytes()) {
        Cow::Owned(without_forbidden(&text, findings))
    } else {
        text
    })
}

/// The text, without a copy where it already is UTF-8.
pub(crate) fn decode_owned(bytes: Vec<u8>, findings: &mut Vec<Finding>) -> Result<String, FormatError> {
    let (encoding, start) = encoding(&bytes)?;
    if encoding == Encoding::Utf8 && start == 0 && !holds_forbidden(&bytes) {
        return match String::from_utf8(bytes) {
            Ok(text) => Ok(text),
            Err(error) => repaired(error.as_bytes(), findings),
        };
    }
    decode(&bytes, findings).map(Cow::into_owned)
}

/// UTF-16 that comes in pieces, made into UTF-8 as it comes.
pub(crate) struct Utf16 {
    big: bool,
    text: Vec<u8>,
    /// Bytes decoded so far.
    before: usize,
}

impl Utf16 {
    /// For bytes that start with UTF-16 like XML; `None` if they don't. Also where the text starts.
    pub(crate) fn starts(bytes: &[u8], whole: usize) -> Option<(Self, usize)> {
        let (encoding, start) = by_mark(bytes);
        let big = match encoding {
            Encoding::Utf16Le => false,
            Encoding::Utf16Be => true,
            Encoding::Utf8 | Encoding::Latin1 => return None,
        };
        looks_like_xml(bytes).then(|| (Self::new(big, whole), start))
    }

    /// `whole`: about how many bytes will come.
    fn new(big: bool, whole: usize) -> Self {
        Self {
            big,
            // Scores are mostly plain letters: half the bytes and a little.
            text: Vec::with_capacity(whole / 2 + whole / 32),
            before: 0,
        }
    }

    /// Decodes a piece; how many of its bytes were taken. The rest, less than a character, belongs before the next piece.
    pub(crate) fn push(&mut self, bytes: &[u8], last: bool) -> Result<usize, FormatError> {
        let mut rest = bytes;
        while rest.len() >= 2 {
            rest = if self.big {
                plain_blocks::<1>(rest, &mut self.text)
            } else {
                plain_blocks::<0>(rest, &mut self.text)
            };
            let unit = |pair: &[u8]| {
                let (first, second) = (pair[0], pair[1]);
                if self.big {
                    u16::from_be_bytes([first, second])
                } else {
                    u16::from_le_bytes([first, second])
                }
            };
            let mut units = rest.chunks_exact(2).map(unit).take(2);
            match char::decode_utf16(units.by_ref()).next() {
                Some(Ok(c)) => {
                    let mut utf8 = [0; 4];
                    self.text.extend_from_slice(c.encode_utf8(&mut utf8).as_bytes());
                    rest = rest.get(2 * c.len_utf16()..).unwrap_or_default();
                }
                None => break,
                // The other half may come with the next piece.
                Some(Err(_)) if rest.len() < 4 && !last => break,
                Some(Err(_)) => {
                    return Err(FormatError::Encoding {
                        byte: self.before + bytes.len() - rest.len(),
                        what: "half a character of UTF-16".to_owned(),
                    });
                }
            }
        }
        let taken = bytes.len() - rest.len();
        self.before += taken;
        Ok(taken)
    }

    /// The text as decoded.
    fn text(self) -> Result<String, FormatError> {
        String::from_utf8(self.text).map_err(|error| FormatError::Encoding {
            byte: error.utf8_error().valid_up_to(),
            what: "it is no text".to_owned(),
        })
    }

    /// The text without what XML forbids.
    pub(crate) fn finish(self, findings: &mut Vec<Finding>) -> Result<String, FormatError> {
        let text = self.text()?;
        Ok(if holds_forbidden(text.as_bytes()) {
            without_forbidden(&text, findings)
        } else {
            text
        })
    }
}

/// Takes blocks of plain letters from the start of UTF-16, `LOW` being the place of a unit's low byte; what is left.
/// In blocks, so that the compiler can look at many bytes at once.
fn plain_blocks<'b, const LOW: usize>(bytes: &'b [u8], text: &mut Vec<u8>) -> &'b [u8] {
    let mut rest = bytes;
    while let Some((block, after)) = rest.split_first_chunk::<64>() {
        let odd = (0..32).fold(0, |odd, n| {
            odd | block[2 * n + 1 - LOW] | block[2 * n + LOW] & 0x80
        });
        if odd != 0 {
            break;
        }
        let letters: [u8; 32] = std::array::from_fn(|n| block[2 * n + LOW]);
        text.extend_from_slice(&letters);
        rest = after;
    }
    rest
}

fn utf16(bytes: &[u8], big: bool) -> Result<String, FormatError> {
    let mut utf16 = Utf16::new(big, bytes.len());
    utf16.push(bytes, true)?;
    utf16.text()
}

/// Windows-1252: Latin-1 with signs where Latin-1 has controls; what programs mean when they say Latin-1.
/// Source: the WHATWG Encoding standard, index-windows-1252.
fn latin1(byte: u8) -> char {
    const HIGH: [char; 32] = [
        '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8d}', 'Ž', '\u{8f}',
        '\u{90}', '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9d}', 'ž', 'Ÿ',
    ];
    match byte {
        0x80..=0x9f => HIGH.get(usize::from(byte - 0x80)).copied().unwrap_or('\u{fffd}'),
        _ => char::from(byte),
    }
}

/// The most bytes outside UTF-8 that are taken for stray Latin-1 letters rather than for damage.
const MOST_STRAY: usize = 500;

/// Text that says it is UTF-8 but holds some Latin-1 letters, as older programs wrote it.
fn repaired(bytes: &[u8], findings: &mut Vec<Finding>) -> Result<String, FormatError> {
    let mut text = String::with_capacity(bytes.len() + 64);
    let (mut stray, mut at, mut first) = (0, 0, 0);
    for chunk in bytes.utf8_chunks() {
        text.push_str(chunk.valid());
        at += chunk.valid().len();
        for byte in chunk.invalid() {
            if stray == 0 {
                first = at;
            }
            stray += 1;
            if *byte < 0xa0 || stray > MOST_STRAY {
                let what = "the bytes there are no UTF-8".to_owned();
                return Err(FormatError::Encoding { byte: at, what });
            }
            text.push(latin1(*byte));
            at += 1;
        }
    }
    findings.push(Finding::new(
        Severity::Caution,
        "encoding-repaired",
        format!("{stray} letters are not in the encoding that the file declares (first at byte {first}); they were read as Latin-1"),
        "check accented letters in titles and words",
    ));
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(bytes: &[u8]) -> Result<String, FormatError> {
        assert!(looks_like_xml(bytes));
        decode(bytes, &mut Vec::new()).map(Cow::into_owned)
    }

    fn utf16(text: &str, unit: fn(u16) -> [u8; 2]) -> Vec<u8> {
        text.encode_utf16().flat_map(unit).collect()
    }

    #[test]
    fn every_encoding_gives_the_same_text() {
        let plain = "<?xml version=\"1.0\"?><t>Fauré 𝄪</t>";
        let mut marked = vec![0xef, 0xbb, 0xbf];
        marked.extend(plain.as_bytes());
        let mut le = vec![0xff, 0xfe];
        le.extend(utf16(plain, u16::to_le_bytes));
        let mut be = vec![0xfe, 0xff];
        be.extend(utf16(plain, u16::to_be_bytes));
        for bytes in [plain.as_bytes(), &marked, &le, &be] {
            assert_eq!(text(bytes).as_deref(), Ok(plain));
        }
        assert_eq!(text(&utf16(plain, u16::to_le_bytes)).as_deref(), Ok(plain));
        assert_eq!(text(&utf16(plain, u16::to_be_bytes)).as_deref(), Ok(plain));
    }

    #[test]
    fn latin_1_as_declared_and_as_a_stray() {
        let declared = b"<?xml version='1.0' encoding='ISO-8859-1'?><t>Faur\xe9 \x93x\x94</t>";
        assert!(text(declared).is_ok_and(|t| t.ends_with("<t>Fauré “x”</t>")));
        let mut findings = Vec::new();
        let stray = decode(b"<t>Faur\xe9</t>", &mut findings);
        assert_eq!(stray.as_deref(), Ok("<t>Fauré</t>"));
        assert_eq!(findings.len(), 1);
        assert!(decode(b"<t>\x00\x81\x9f\xff</t>", &mut findings).is_err());
        findings.clear();
        let damaged = decode(b"<t>\x00Flu\x01te\n</t>", &mut findings);
        assert_eq!(damaged.as_deref(), Ok("<t>Flute\n</t>"));
        assert!(findings[0].what.contains("(2, the first in line 1)"));
        assert!(matches!(
            text(b"<?xml encoding=\"koi8-r\"?><t/>"),
            Err(FormatError::Encoding { .. })
        ));
    }
}

//! What is the next tag or text? Plain markup is read here; whatever is rare or wrong is left to the XML library.
//!
//! Source: XML 1.0, sections 2.4 (character data and markup) and 3.1 (start-tags, end-tags). Nearly all of a score is
//! plain tags and short texts, where a general reader's checks cost more than the reading.

use super::{MOST_ATTRIBUTES, MOST_TEXT, Trouble, XmlError};
use quick_xml::Error;
use quick_xml::errors::{IllFormedError, SyntaxError};
use quick_xml::events::Event;
use std::borrow::Cow;

/// Attributes: names and values.
pub(crate) type Attrs<'a> = Vec<(&'a str, Cow<'a, str>)>;

/// A piece of markup or text.
#[derive(Debug)]
pub(crate) enum Token<'a> {
    /// A start-tag, or an empty element's. Plain attributes were added to the list passed; if any is not plain, none
    /// was, and `rest` holds them all as they stand.
    Open {
        name: &'a str,
        rest: &'a str,
        empty: bool,
    },
    /// The end-tag of the innermost open element.
    Close,
    /// Text as it stands.
    Text(Cow<'a, str>),
    CData(Cow<'a, str>),
    /// The name between `&` and `;`.
    Reference(Cow<'a, str>),
    /// The inside of `<!DOCTYPE …>`.
    DocType(Cow<'a, str>),
    /// A declaration, comment or instruction.
    Other,
    /// The text ends.
    End,
}

/// The text as a stream of tokens.
pub(crate) struct Tokens<'a> {
    text: &'a str,
    at: usize,
    /// Names of the elements that are open.
    open: Vec<&'a str>,
}

/// What a byte can be in a plain tag.
const NAME: u8 = 0;
const BLANK: u8 = 1;
const OTHER: u8 = 2;
const CLASSES: [u8; 256] = {
    let mut classes = [NAME; 256];
    let mut marks: &[u8] = b"<>/='\"&";
    while let [mark, rest @ ..] = marks {
        classes[*mark as usize] = OTHER;
        marks = rest;
    }
    let mut blanks: &[u8] = b" \t\r\n";
    while let [blank, rest @ ..] = blanks {
        classes[*blank as usize] = BLANK;
        blanks = rest;
    }
    classes
};

fn class(byte: u8) -> u8 {
    CLASSES[usize::from(byte)]
}

/// Every byte of a word of eight.
const fn eight(byte: u8) -> u64 {
    u64::from_le_bytes([byte; 8])
}

/// The first byte of eight at which a mask of their highest bits is set.
const fn first(mask: u64) -> usize {
    mask.trailing_zeros() as usize / 8
}

/// The highest bit of each byte that is not zero.
const fn filled(word: u64) -> u64 {
    (((word & eight(0x7f)) + eight(0x7f)) | word) & eight(0x80)
}

/// A mask whose lowest bit is the highest of the first byte that is zero. Source: Knuth, The Art of Computer Programming 4A, 7.1.3.
const fn zeros(word: u64) -> u64 {
    word.wrapping_sub(eight(1)) & !word & eight(0x80)
}

/// How many bytes of a name stand here that are surely in one: small letters and hyphens, all that names in scores are made of.
/// There may be more.
fn letters(bytes: &[u8]) -> usize {
    let mut at = 0;
    while let Some(word) = word_at(bytes, at) {
        // 0x60 to 0x7f, and 0xe0 to 0xff: no mark and no blank among them.
        let others = filled((word & eight(0x60)) ^ eight(0x60)) & filled(word ^ eight(b'-'));
        if others != 0 {
            return at + first(others);
        }
        at += 8;
    }
    at
}

/// Longer than nearly every text and value of a score, in bytes.
const SHORT: usize = 256;

/// Where the first of two bytes stands. Nearly all texts and values of a score are shorter than what it takes to call on the
/// library, and to let it ask the processor once what it can do, which takes longer than reading a short file.
fn find2(one: u8, other: u8, bytes: &[u8]) -> Option<usize> {
    let mut at = 0;
    while let Some(word) = word_at(bytes, at) {
        let hits = zeros(word ^ eight(one)) | zeros(word ^ eight(other));
        if hits != 0 {
            return Some(at + first(hits));
        }
        at += 8;
        if at == SHORT {
            let rest = bytes.get(at..).unwrap_or_default();
            return memchr::memchr2(one, other, rest).map(|found| found + at);
        }
    }
    let wanted = |byte: &u8| *byte == one || *byte == other;
    let rest = bytes.get(at..).unwrap_or_default();
    rest.iter().position(wanted).map(|found| found + at)
}

/// How many blanks stand here, or other signs below them, of which a text has none.
fn blanks(bytes: &[u8]) -> usize {
    let mut at = 0;
    while let Some(word) = word_at(bytes, at) {
        let others = (((word & eight(0x7f)) + eight(0x7f - b' ')) | word) & eight(0x80);
        if others != 0 {
            return at + first(others);
        }
        at += 8;
    }
    let rest = bytes.get(at..).unwrap_or_default();
    at + rest.iter().take_while(|byte| **byte <= b' ').count()
}

/// True if the same so many bytes stand at two places. Names are short, and looked at in one piece where there is room behind them.
fn alike(bytes: &[u8], one: usize, other: usize, length: usize) -> bool {
    match (length, word_at(bytes, one), word_at(bytes, other)) {
        (1..=8, Some(word), Some(second)) => (word ^ second) << (64 - 8 * length) == 0,
        _ => bytes.get(one..one + length) == bytes.get(other..other + length),
    }
}

/// The eight bytes from one on, if there are so many.
fn word_at(bytes: &[u8], at: usize) -> Option<u64> {
    let chunk = bytes.get(at..)?.first_chunk::<8>()?;
    Some(u64::from_le_bytes(*chunk))
}

/// The most common markup of all: a tag without attributes and the plain text behind it.
pub(crate) struct Plainest<'a> {
    /// The byte where its tag starts.
    pub start: usize,
    pub name: &'a str,
    /// The text behind the tag, which may be empty.
    pub text: &'a str,
    /// True if the element has ended behind the text.
    pub closed: bool,
}

/// Where a plain tag ends: the byte after it, and whether it closes its element.
struct Plain {
    end: usize,
    name: usize,
    empty: bool,
}

impl<'a> Tokens<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        Self {
            text,
            at: 0,
            open: Vec::new(),
        }
    }

    /// Goes to a byte where an element starts, as if nothing were open.
    pub(crate) fn go_to(&mut self, at: usize) {
        self.at = at;
        self.open.clear();
    }

    /// The byte that is read next.
    pub(crate) const fn position(&self) -> usize {
        self.at
    }

    /// The next token.
    pub(crate) fn next(&mut self, attrs: &mut Attrs<'a>) -> Result<Token<'a>, XmlError> {
        let text = self.text;
        let rest = text.as_bytes().get(self.at..).unwrap_or_default();
        match rest {
            [] => Ok(Token::End),
            [b'<', b'/', ..] if self.closes() => Ok(Token::Close),
            [b'<', b'?' | b'!', ..] if let Some(heading) = self.heading() => Ok(heading),
            [b'<', b'/' | b'!' | b'?', ..] | [b'&', ..] => self.rare(),
            [b'<', ..] => self.open(rest, attrs),
            _ => Ok(Token::Text(Cow::Borrowed(self.text()))),
        }
    }

    /// Passes over the blanks that stand here.
    pub(crate) fn pass_blanks(&mut self) {
        self.at += self.text.as_bytes().get(self.at..).map_or(0, blanks);
    }

    /// A start-tag without attributes with its text, up to the tag behind that, or the whole element if that tag ends it; `None`, and
    /// nothing is passed, if anything else stands here.
    pub(crate) fn plainest(&mut self) -> Option<Plainest<'a>> {
        let bytes = self.text.as_bytes();
        let start = self.at;
        let from = start + 1;
        let rest = bytes.get(start..)?.strip_prefix(b"<")?;
        let length = letters(rest);
        let to = from + length;
        let (tag, empty) = match rest.get(length..)? {
            _ if length == 0 => return None,
            [b'>', ..] => (to + 1, false),
            [b'/', b'>', ..] => (to + 2, true),
            _ => return None,
        };
        let name = self.text.get(from..to)?;
        if empty {
            self.at = tag;
            return Some(Plainest {
                start,
                name,
                text: "",
                closed: true,
            });
        }
        let next = tag + find2(b'<', b'&', bytes.get(tag..)?)?;
        if next - tag > SHORT || bytes.get(next) != Some(&b'<') {
            return None;
        }
        let text = self.text.get(tag..next)?;
        let end = next + 2 + length;
        let closed = bytes.get(next + 1) == Some(&b'/')
            && bytes.get(end) == Some(&b'>')
            && alike(bytes, from, next + 2, length);
        if closed {
            self.at = end + 1;
        } else {
            self.at = next;
            self.open.push(name);
        }
        Some(Plainest {
            start,
            name,
            text,
            closed,
        })
    }

    /// The text up to the next tag or reference; may be empty.
    pub(crate) fn text(&mut self) -> &'a str {
        let rest = self.text.get(self.at..).unwrap_or_default();
        let end = find2(b'<', b'&', rest.as_bytes()).unwrap_or(rest.len());
        self.at += end;
        rest.get(..end).unwrap_or_default()
    }

    /// True if the innermost open element ends here: its end-tag is then passed.
    pub(crate) fn closes(&mut self) -> bool {
        let rest = self.text.as_bytes().get(self.at..).unwrap_or_default();
        if let Some(name) = self.open.last()
            && let Some(after) = rest
                .strip_prefix(b"</")
                .and_then(|rest| rest.strip_prefix(name.as_bytes()))
            && after.first() == Some(&b'>')
        {
            self.at += name.len() + 3;
            self.open.pop();
            true
        } else {
            false
        }
    }

    /// A declaration or instruction, or a document type that defines nothing: the first lines of nearly every file.
    fn heading(&mut self) -> Option<Token<'a>> {
        let rest = self.text.get(self.at..)?;
        if let Some(instruction) = rest.strip_prefix("<?") {
            self.at += 2 + instruction.find("?>")? + 2;
            return Some(Token::Other);
        }
        let doctype = rest.strip_prefix("<!DOCTYPE ")?;
        let inner = doctype.get(..doctype.find('>')?)?;
        let defines = inner.contains(['[', '<']);
        // A closing bracket within quotes ends nothing.
        let quoted = ['"', '\'']
            .iter()
            .any(|quote| inner.matches(*quote).count() % 2 == 1);
        if defines || quoted || inner.trim().is_empty() {
            return None;
        }
        self.at += "<!DOCTYPE ".len() + inner.len() + 1;
        Some(Token::DocType(Cow::Borrowed(inner)))
    }

    fn open(&mut self, rest: &[u8], attrs: &mut Attrs<'a>) -> Result<Token<'a>, XmlError> {
        let before = attrs.len();
        let Some(plain) = self.plain(rest, attrs) else {
            attrs.truncate(before);
            return self.rare();
        };
        let name = self
            .text
            .get(self.at + 1..self.at + plain.name)
            .unwrap_or_default();
        self.at += plain.end;
        if !plain.empty {
            self.open.push(name);
        }
        Ok(Token::Open {
            name,
            rest: "",
            empty: plain.empty,
        })
    }

    /// Reads a tag whose attributes are all plain; `None` if any is not, or if the tag is not well formed.
    fn plain(&self, rest: &[u8], attrs: &mut Attrs<'a>) -> Option<Plain> {
        let run = |from: usize, of: u8| {
            let bytes = rest.get(from..).unwrap_or_default();
            from + bytes.iter().take_while(|byte| class(**byte) == of).count()
        };
        let plain = rest.get(1..).map_or(0, letters);
        let name = run(1 + plain, NAME);
        if name == 1 {
            return None;
        }
        let most = attrs.len() + MOST_ATTRIBUTES;
        let mut at = name;
        loop {
            let next = run(at, BLANK);
            match *rest.get(next)? {
                b'>' => {
                    return Some(Plain {
                        end: next + 1,
                        name,
                        empty: false,
                    });
                }
                b'/' if rest.get(next + 1) == Some(&b'>') => {
                    return Some(Plain {
                        end: next + 2,
                        name,
                        empty: true,
                    });
                }
                _ if next == at || attrs.len() >= most => return None,
                _ => {}
            }
            let equals = run(next + rest.get(next..).map_or(0, letters), NAME);
            let (Some(b'='), Some(quote @ (b'"' | b'\''))) = (rest.get(equals), rest.get(equals + 1)) else {
                return None;
            };
            let from = equals + 2;
            let value = rest.get(from..)?;
            let length = find2(*quote, b'&', value)?;
            if value.get(length) != Some(quote) || length > MOST_TEXT {
                return None;
            }
            at = from + length + 1;
            let key = self.text.get(self.at + next..self.at + equals)?;
            let value = self.text.get(self.at + from..self.at + from + length)?;
            attrs.push((key, Cow::Borrowed(value)));
        }
    }

    /// Lets the library read one token where we stand.
    fn rare(&mut self) -> Result<Token<'a>, XmlError> {
        let start = self.at;
        let mut reader = quick_xml::Reader::from_str(self.text.get(start..).unwrap_or_default());
        // Which end-tag belongs here is known to us, not to a reader of one token.
        reader.config_mut().allow_unmatched_ends = true;
        let event = reader.read_event().map_err(|error| {
            let at = usize::try_from(reader.error_position()).unwrap_or(usize::MAX);
            trouble(start.saturating_add(at), error)
        })?;
        self.at = start + usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX - start);
        let token = match event {
            Event::Start(tag) => {
                let (name, rest) = self.split(start, tag.name().as_ref().len(), 1)?;
                self.open.push(name);
                Token::Open {
                    name,
                    rest,
                    empty: false,
                }
            }
            Event::Empty(tag) => {
                let (name, rest) = self.split(start, tag.name().as_ref().len(), 2)?;
                Token::Open {
                    name,
                    rest,
                    empty: true,
                }
            }
            Event::End(tag) => {
                let found = tag.name().as_ref().to_owned();
                match self.open.pop() {
                    Some(expected) if expected == found => Token::Close,
                    Some(expected) => {
                        let expected = expected.to_owned();
                        let error = IllFormedError::MismatchedEndTag { expected, found };
                        return Err(trouble(start, Error::IllFormed(error)));
                    }
                    None => {
                        let error = IllFormedError::UnmatchedEndTag(found);
                        return Err(trouble(start, Error::IllFormed(error)));
                    }
                }
            }
            Event::Text(text) => Token::Text(text.into_inner()),
            Event::CData(text) => Token::CData(text.into_inner()),
            Event::GeneralRef(name) => Token::Reference(name.into_inner()),
            Event::DocType(doctype) => Token::DocType(doctype.into_inner()),
            Event::Eof => Token::End,
            Event::Comment(_) | Event::Decl(_) | Event::PI(_) => Token::Other,
        };
        Ok(token)
    }

    /// Name and attributes of the tag that was just read; `close` bytes end it (`>` or `/>`).
    fn split(&self, start: usize, name: usize, close: usize) -> Result<(&'a str, &'a str), XmlError> {
        self.text
            .get(start + 1..self.at.saturating_sub(close))
            .and_then(|inner| inner.split_at_checked(name))
            .ok_or_else(|| XmlError {
                at: start,
                what: Trouble::Broken("a tag is not well formed".to_owned()),
            })
    }
}

fn trouble(at: usize, error: Error) -> XmlError {
    let what = match error {
        // An unclosed tag, comment or the like: only the end of the text can leave one.
        Error::Syntax(SyntaxError::InvalidBangMarkup) => {
            Trouble::Broken("“<!” starts neither a comment nor anything else known".to_owned())
        }
        Error::Syntax(_) | Error::IllFormed(IllFormedError::MissingEndTag(_)) => Trouble::Ends,
        other => Trouble::Broken(other.to_string()),
    };
    XmlError { at, what }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Looking at eight bytes at once finds what looking at each finds.
        #[test]
        fn eight_at_once_are_eight(mut bytes in prop::collection::vec(prop_oneof![0x20..0x7f_u8, any::<u8>(), Just(b'-')], 0..300), at in 0..400_usize) {
            bytes.iter_mut().filter(|byte| matches!(byte, b'<' | b'&')).for_each(|byte| *byte = b'a');
            if let Some(byte) = bytes.get_mut(at) {
                *byte = b'<';
            }
            prop_assert_eq!(find2(b'<', b'&', &bytes), (at < bytes.len()).then_some(at));
            prop_assert_eq!(find2(b'&', b'<', &bytes), (at < bytes.len()).then_some(at));
            prop_assert!(alike(&bytes, at.min(bytes.len()), at.min(bytes.len()), 0));
            for length in 0..12 {
                let (one, other) = (at % 7, at % 50);
                let same = bytes.get(one..one + length) == bytes.get(other..other + length);
                prop_assert_eq!(alike(&bytes, one, other, length), same);
            }
            let blank = blanks(&bytes);
            prop_assert!(bytes[..blank].iter().all(|byte| *byte <= b' '));
            prop_assert!(bytes.get(blank).is_none_or(|byte| *byte > b' '));
            let name = letters(&bytes);
            prop_assert!(bytes[..name].iter().all(|byte| class(*byte) == NAME));
            let plain = |byte: &u8| byte.is_ascii_lowercase() || *byte == b'-';
            prop_assert!(name + 8 > bytes.len() || !plain(&bytes[name]));
        }
    }
}

//! What stands in these bytes: one piece, or a book of tunes? Recognised once, then read as often as asked.

use crate::xml::{Tag, Tree, Xml};
use crate::{FormatError, Standard, abc, container, decode, kern, looks, mei, midi, musicxml};
use notation::{Finding, Piece, Severity};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// One tune of a book, or one movement of several in a file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Tune {
    /// Its number in the book as the source gives it (`X:` in ABC), its place among the movements in MEI; text, since books
    /// repeat and misuse numbers.
    pub number: String,
    /// Its first title; may be empty.
    pub title: String,
    /// Bytes of the decoded text, from and to.
    pub range: (usize, usize),
}

/// Recognised bytes, decoded where they are text.
#[derive(Debug)]
pub struct Source<'b> {
    name: String,
    /// Kept only where a reader needs them: the others read the text.
    bytes: Cow<'b, [u8]>,
    sha256: String,
    standard: Standard,
    text: Cow<'b, str>,
    zip_entry: Option<String>,
    tunes: Vec<Tune>,
    findings: Vec<Finding>,
}

impl<'b> Source<'b> {
    /// Recognises the bytes. `name` is what the person calls the source; it is kept, not believed.
    ///
    /// # Errors
    /// If they are no notation that we know, or can't be decoded.
    pub fn open(bytes: &'b [u8], name: &str) -> Result<Self, FormatError> {
        let mut source = Self {
            name: name.to_owned(),
            bytes: Cow::Borrowed(bytes),
            sha256: container::sha256(bytes),
            standard: Standard::MusicXml,
            text: Cow::Borrowed(""),
            zip_entry: None,
            tunes: Vec::new(),
            findings: Vec::new(),
        };
        if container::is_packed(bytes) || decode::looks_like_xml(bytes) {
            let opened = container::open(bytes)?;
            source.standard = xml_standard(&opened.text);
            source.text = opened.text;
            source.zip_entry = opened.entry;
            source.findings = opened.findings;
            if source.standard == Standard::Mei {
                source.tunes = mei::movements(&source.text);
            }
            return Ok(source);
        }
        source.standard = Standard::of_plain(bytes).ok_or_else(|| looks::not_music(bytes))?;
        if source.standard != Standard::Midi {
            source.text = decode::plain(bytes, &mut source.findings)?;
        }
        if source.standard == Standard::Abc {
            source.tunes = abc::tunes(&source.text);
        }
        Ok(source)
    }

    /// The same, holding what it needs itself, so that several may read its tunes at once.
    #[must_use]
    pub fn into_owned(self) -> Source<'static> {
        let bytes = match self.standard {
            Standard::Midi => Cow::Owned(self.bytes.into_owned()),
            Standard::MusicXml | Standard::Mei | Standard::Abc | Standard::Kern => Cow::Borrowed(&[][..]),
        };
        Source {
            bytes,
            text: Cow::Owned(self.text.into_owned()),
            name: self.name,
            sha256: self.sha256,
            standard: self.standard,
            zip_entry: self.zip_entry,
            tunes: self.tunes,
            findings: self.findings,
        }
    }

    /// The standard it is written in.
    #[must_use]
    pub const fn standard(&self) -> Standard {
        self.standard
    }

    /// The tunes of a book, in their order; empty for what holds one piece.
    #[must_use]
    pub fn tunes(&self) -> &[Tune] {
        &self.tunes
    }

    /// Reads the piece; of a book the tune with a number, or the first if none is asked for. `#7` is the seventh, whatever its number.
    ///
    /// # Errors
    /// If there is no such tune, or it holds no usable music.
    pub fn read(&self, tune: Option<&str>) -> Result<(Piece, Vec<Finding>), FormatError> {
        let Some(asked) = tune.map(str::trim) else {
            if self.standard == Standard::Mei {
                // The first movement that holds music; its reader names the others.
                return self.finished(mei::read(&self.text)?);
            }
            let (piece, mut findings) = self.read_nth(0)?;
            if let [first, _, ..] = self.tunes.as_slice() {
                findings.insert(0, several(first, self.tunes.len()));
            }
            return Ok((piece, findings));
        };
        if self.tunes.is_empty() {
            return Err(FormatError::NotABook {
                asked: asked.to_owned(),
            });
        }
        if let Some(index) = self.nth(asked) {
            return self.read_nth(index);
        }
        let mut numbered =
            (0..self.tunes.len()).filter(|index| same_number(&self.tunes[*index].number, asked));
        let Some(index) = numbered.next() else {
            return Err(FormatError::NoSuchTune {
                asked: asked.to_owned(),
                tunes: listed(&self.tunes),
            });
        };
        let (piece, mut findings) = self.read_nth(index)?;
        let more = numbered.count();
        if more > 0 {
            findings.insert(
                0,
                Finding::new(
                    Severity::Caution,
                    "tune-number-twice",
                    format!(
                        "{} tunes of the book have the number {asked}; the first was taken",
                        more + 1
                    ),
                    "give the others numbers of their own (the X: line)",
                ),
            );
        }
        Ok((piece, findings))
    }

    /// The position of the tune that is called `#7`; `None` if it is called otherwise, or there are not so many.
    #[must_use]
    pub fn nth(&self, asked: &str) -> Option<usize> {
        let nth = asked.trim().strip_prefix('#')?.parse::<usize>().ok()?;
        nth.checked_sub(1).filter(|index| *index < self.tunes.len())
    }

    /// How each tune is asked for so that it is that one and no other: by its number, or by its place where others have the same.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        let mut many: BTreeMap<&str, usize> = BTreeMap::new();
        for tune in &self.tunes {
            *many.entry(bare(&tune.number)).or_default() += 1;
        }
        let name = |(index, tune): (usize, &Tune)| {
            let number = tune.number.trim();
            if !number.is_empty() && many.get(bare(&tune.number)) == Some(&1) {
                tune.number.clone()
            } else {
                format!("#{}", index + 1)
            }
        };
        self.tunes.iter().enumerate().map(name).collect()
    }

    /// Reads the piece; of a book the tune at a position from 0, whatever its number.
    ///
    /// # Errors
    /// If it holds no usable music.
    pub fn read_nth(&self, index: usize) -> Result<(Piece, Vec<Finding>), FormatError> {
        self.finished(match self.standard {
            Standard::MusicXml => musicxml::read(&self.text)?,
            Standard::Mei if self.tunes.len() > 1 => mei::read_movement(&self.text, index)?,
            Standard::Mei => mei::read(&self.text)?,
            Standard::Abc => abc::read(&self.text, self.tunes.get(index))?,
            Standard::Kern => kern::read(&self.text)?,
            Standard::Midi => midi::read(&self.bytes)?,
        })
    }

    /// The piece with where it came from.
    fn finished(
        &self,
        (mut piece, findings): (Piece, Vec<Finding>),
    ) -> Result<(Piece, Vec<Finding>), FormatError> {
        piece.provenance.source.clone_from(&self.name);
        piece.provenance.sha256.clone_from(&self.sha256);
        piece.provenance.zip_entry.clone_from(&self.zip_entry);
        self.standard.name().clone_into(&mut piece.provenance.standard);
        let mut all = self.findings.clone();
        all.extend(findings);
        Ok((piece, all))
    }
}

/// MEI by its root element, else MusicXML, whose reader says what is wrong with it.
fn xml_standard(text: &str) -> Standard {
    let mut tree = Tree::default();
    match Xml::new(text).next_tag(&mut tree) {
        Ok(Tag::Open { name, .. }) if mei::is_root(name) => Standard::Mei,
        _ => Standard::MusicXml,
    }
}

fn bare(number: &str) -> &str {
    number.trim_start_matches('0')
}

/// Books write `0538` where a person says 538.
fn same_number(number: &str, asked: &str) -> bool {
    number == asked || !asked.is_empty() && !number.is_empty() && bare(number) == bare(asked)
}

fn several(first: &Tune, count: usize) -> Finding {
    Finding::new(
        Severity::Note,
        "several-tunes",
        format!("the book has {count} tunes; {} was taken", said(first)),
        "ask for another with --tune and its number",
    )
}

fn said(tune: &Tune) -> String {
    if tune.title.is_empty() {
        format!("tune {}", tune.number)
    } else {
        format!("tune {} “{}”", tune.number, tune.title)
    }
}

/// The first tunes by number and title, and how many more there are.
fn listed(tunes: &[Tune]) -> String {
    const MOST: usize = 12;
    let mut text = tunes.iter().take(MOST).map(said).collect::<Vec<_>>().join(", ");
    if tunes.len() > MOST {
        text.push_str(&format!(" and {} more", tunes.len() - MOST));
    }
    text
}

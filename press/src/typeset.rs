//! How does a typesetter's source become a PDF? With the files that came with it and our fonts; no disk, no network, no clock.

use crate::refusal;
use job::{AskTypeset, Refusal, RefusalKind, Typeset};
use std::collections::BTreeMap;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World, WorldExt};
use typst_layout::PagedDocument;
use typst_pdf::PdfOptions;

/// For how many documents what the typesetter worked out for an earlier one is kept.
const KEPT_DOCUMENTS: usize = 8;
/// How many complaints are told.
const MOST_COMPLAINTS: usize = 20;

/// The typesetter, warm: its library and fonts.
pub struct Typesetter {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
}

impl Typesetter {
    /// Reads the bundled fonts.
    pub fn new() -> Typesetter {
        let fonts: Vec<Font> = fonts::ALL
            .iter()
            .flat_map(|font| Font::iter(Bytes::new(font.bytes)))
            .collect();
        Typesetter {
            library: LazyHash::new(<Library as LibraryExt>::default()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
        }
    }

    /// Typesets blob 0 with the other blobs as its files.
    ///
    /// # Errors
    /// `Request` if a blob is missing or a name can't be a file's; `Source` with lines and reasons if the source is wrong.
    pub fn typeset(&self, blobs: Vec<Vec<u8>>, ask: &AskTypeset) -> Result<(Typeset, Vec<u8>), Refusal> {
        let desk = self.desk(blobs, ask)?;
        let compiled = typst::compile::<PagedDocument>(&desk);
        let warnings = desk.words(&compiled.warnings);
        let done = compiled.output.and_then(|document| {
            // No date and no identifier of its own: the same source gives the same bytes.
            let pdf = typst_pdf::pdf(&document, &PdfOptions::default())?;
            Ok((document.pages().len(), pdf))
        });
        comemo::evict(KEPT_DOCUMENTS);
        match done {
            Ok((pages, pdf)) => {
                let pages = u32::try_from(pages).unwrap_or(u32::MAX);
                Ok((Typeset { pages, warnings }, pdf))
            }
            Err(errors) => Err(refusal(RefusalKind::Source, desk.words(&errors).join("\n"))),
        }
    }

    fn desk(&self, blobs: Vec<Vec<u8>>, ask: &AskTypeset) -> Result<Desk<'_>, Refusal> {
        let wrong = |what: String| refusal(RefusalKind::Request, what);
        let mut blobs = blobs.into_iter();
        let source = blobs
            .next()
            .ok_or_else(|| wrong("the source is missing".to_owned()))?;
        let source =
            String::from_utf8(source).map_err(|error| wrong(format!("the source is no text: {error}")))?;
        let main = file("main.typ").map_err(wrong)?;
        let mut files = BTreeMap::new();
        for named in &ask.files {
            let blob = blobs
                .next()
                .ok_or_else(|| wrong(format!("the file {} is missing", named.name)))?;
            files.insert(path(&named.name).map_err(wrong)?, Bytes::new(blob));
        }
        Ok(Desk {
            typesetter: self,
            main,
            source: Source::new(main, source),
            files,
        })
    }
}

/// One document and what lies beside it.
struct Desk<'a> {
    typesetter: &'a Typesetter,
    main: FileId,
    source: Source,
    files: BTreeMap<String, Bytes>,
}

impl Desk<'_> {
    /// Each complaint as a line: where, what, and the typesetter's hint.
    fn words(&self, complaints: &[SourceDiagnostic]) -> Vec<String> {
        let mut words: Vec<String> = complaints
            .iter()
            .take(MOST_COMPLAINTS)
            .map(|complaint| {
                let line = self
                    .range(complaint.span)
                    .and_then(|range| self.source.lines().byte_to_line_column(range.start));
                let place = line.map(|(line, column)| format!("line {}, column {}: ", line + 1, column + 1));
                let hints: String = complaint
                    .hints
                    .iter()
                    .map(|hint| format!(" ({})", hint.v))
                    .collect();
                format!("{}{}{hints}", place.unwrap_or_default(), complaint.message)
            })
            .collect();
        if let Some(more) = complaints
            .len()
            .checked_sub(MOST_COMPLAINTS)
            .filter(|more| *more > 0)
        {
            words.push(format!("and {more} more"));
        }
        words
    }
}

impl World for Desk<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &self.typesetter.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.typesetter.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main {
            return Ok(self.source.clone());
        }
        let bytes = self.file(id)?;
        let text = std::str::from_utf8(&bytes).map_err(|_| FileError::InvalidUtf8)?;
        Ok(Source::new(id, text.to_owned()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let path = id.get();
        let name = path.vpath().get_without_slash();
        match path.root() {
            VirtualRoot::Project => self
                .files
                .get(name)
                .cloned()
                .ok_or_else(|| FileError::NotFound(name.into())),
            VirtualRoot::Package(_) => Err(FileError::AccessDenied),
        }
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.typesetter.fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

fn file(name: &str) -> Result<FileId, String> {
    let path = VirtualPath::new(name).map_err(|error| format!("{name} is no name for a file: {error:?}"))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

/// The name as the typesetter will ask for it.
fn path(name: &str) -> Result<String, String> {
    let path = VirtualPath::new(name).map_err(|error| format!("{name} is no name for a file: {error:?}"))?;
    Ok(path.get_without_slash().to_owned())
}

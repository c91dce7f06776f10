//! What is in one file of the folder? Opened, each tune read, each part surveyed, each made a row.

use super::files::{self, Found};
use super::steady::Done;
use super::table::Rows;
use super::{ManyAsked, Tally};
use crate::open::{name_of, read_bytes};
use crate::survey_piece::{parts_asked, survey_part};
use crate::texts::made_readable;
use crate::{DeskError, Opened};
use formats::{FormatError, Source};
use notation::{Finding, Piece};
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use survey::Question;
use wire::LineOf;

/// Tunes that one thread takes at a time.
const TUNES_AT_ONCE: usize = 16;
/// What is read of a file whose name does not say that it is music, to see whether it is.
const HEAD: u64 = 1 << 16;

/// Something to be done by one thread.
pub(super) enum Job {
    /// A file found in the folder.
    Found(Found),
    /// The one file that was asked for.
    Asked(Found),
    /// Bytes at hand and what they are called.
    Bytes(String, Vec<u8>),
    /// Some tunes of a book that is open, by their position; whether these are its first.
    Tunes(Arc<Book>, Vec<usize>, bool),
}

/// A file that is open.
pub(super) struct Book {
    path: PathBuf,
    name: String,
    source: Source<'static>,
}

/// What came of a job.
#[derive(Default)]
pub(super) struct Batch {
    pub rows: Rows,
    pub tally: Tally,
    pub complaints: Vec<String>,
}

/// What every thread needs.
#[derive(Clone, Copy)]
pub(super) struct Worker<'a> {
    pub asked: &'a ManyAsked,
    pub questions: &'a [Question],
}

impl Worker<'_> {
    /// Does a job.
    pub fn work(&self, job: Job) -> Done<Job, Batch> {
        match job {
            Job::Tunes(book, tunes, first) => {
                let mut batch = Batch::default();
                self.tunes(&book, &tunes, first, &mut batch);
                batch.done()
            }
            Job::Bytes(name, bytes) => self.file(PathBuf::from(&name), name, Ok(bytes), Trust::Asked),
            Job::Asked(found) => {
                let bytes = read_bytes(&found.path);
                self.file(found.path, found.name, bytes, Trust::Asked)
            }
            Job::Found(found) => {
                let trust = Trust::of(&found.path);
                if trust == Trust::Other && !may_be_music(&found.path) {
                    return Batch::passed_over().done();
                }
                let bytes = read_bytes(&found.path);
                self.file(found.path, found.name, bytes, trust)
            }
        }
    }

    /// The answer for a job that failed through a mistake of ours.
    pub fn fell(&self) -> Batch {
        let mut batch = Batch::default();
        let why = "a file could not be surveyed through a mistake of this program: please report it";
        self.failed(&mut batch, "", None, why, None);
        batch
    }

    /// The answer for what could not be looked into.
    pub fn closed(&self, name: &str, why: &str) -> Batch {
        let mut batch = Batch::default();
        self.failed(&mut batch, name, None, &format!("can't be read: {why}"), None);
        batch
    }

    fn file(
        &self,
        path: PathBuf,
        name: String,
        bytes: Result<Vec<u8>, DeskError>,
        trust: Trust,
    ) -> Done<Job, Batch> {
        let opened = bytes.and_then(|bytes| {
            let source = Source::open(&bytes, &name_of(&path)).map_err(|source| DeskError::Format {
                path: path.clone(),
                source,
            })?;
            // Only a large book is shared out; the others are done here and now, from the bytes as they are.
            if source.tunes().len() > TUNES_AT_ONCE {
                return Ok(Err(source.into_owned()));
            }
            let mut batch = Batch::default();
            self.whole(&path, &name, &source, trust, &mut batch);
            Ok(Ok(batch))
        });
        match opened {
            Ok(Ok(batch)) => batch.done(),
            Ok(Err(source)) => {
                let tunes = self.asked_tunes(&source);
                let book = Arc::new(Book { path, name, source });
                if tunes.is_empty() {
                    let mut batch = Batch::default();
                    self.without_tune(&book.path, &book.source, &mut batch);
                    return batch.done();
                }
                let chunks = tunes.chunks(TUNES_AT_ONCE).enumerate();
                let chunks = chunks.map(|(n, tunes)| Job::Tunes(Arc::clone(&book), tunes.to_vec(), n == 0));
                Done::Split(chunks.collect())
            }
            Err(error) => {
                if trust.passes_over(&error) {
                    return Batch::passed_over().done();
                }
                let mut batch = Batch::default();
                self.failed(&mut batch, &name, None, &reason(&error), Some(error));
                batch.done()
            }
        }
    }

    /// A piece, or a book of a few tunes.
    fn whole(&self, path: &Path, name: &str, source: &Source, trust: Trust, batch: &mut Batch) {
        if source.tunes().is_empty() {
            if let Some(asked) = &self.asked.tune {
                let error = DeskError::Format {
                    path: path.to_path_buf(),
                    source: FormatError::NotABook { asked: asked.clone() },
                };
                batch.tally.without += 1;
                batch.tally.failed = Some(error);
                return;
            }
            self.tune(path, name, source, None, trust, batch);
            batch.tally.files += usize::from(batch.tally.pieces > 0);
            return;
        }
        let tunes = self.asked_tunes(source);
        if tunes.is_empty() {
            self.without_tune(path, source, batch);
            return;
        }
        for index in tunes {
            self.tune(path, name, source, Some(index), Trust::Asked, batch);
        }
        batch.tally.files += 1;
    }

    fn tunes(&self, book: &Book, tunes: &[usize], first: bool, batch: &mut Batch) {
        for index in tunes {
            self.tune(
                &book.path,
                &book.name,
                &book.source,
                Some(*index),
                Trust::Asked,
                batch,
            );
        }
        batch.tally.files += usize::from(first);
    }

    fn without_tune(&self, path: &Path, source: &Source, batch: &mut Batch) {
        batch.tally.without += 1;
        let error = source.read(self.asked.tune.as_deref()).err();
        batch.tally.failed = error.map(|source| DeskError::Format {
            path: path.to_path_buf(),
            source,
        });
    }

    /// Positions of the tunes asked for.
    fn asked_tunes(&self, source: &Source) -> Vec<usize> {
        let fits = |number: &str| {
            self.asked
                .tune
                .as_deref()
                .is_none_or(|asked| asked.trim() == number)
        };
        let tunes = source.tunes().iter().enumerate();
        tunes
            .filter(|(_, tune)| fits(&tune.number))
            .map(|(index, _)| index)
            .collect()
    }

    fn tune(
        &self,
        path: &Path,
        name: &str,
        source: &Source,
        index: Option<usize>,
        trust: Trust,
        batch: &mut Batch,
    ) {
        let tune = index.and_then(|index| source.tunes().get(index)).cloned();
        let number = tune.as_ref().map(|tune| tune.number.clone());
        let read = source
            .read_nth(index.unwrap_or(0))
            .map_err(|source| DeskError::Format {
                path: path.to_path_buf(),
                source,
            });
        let (piece, findings): (Piece, Vec<Finding>) = match read {
            Ok((mut piece, mut findings)) => {
                findings.extend(made_readable(&mut piece));
                (piece, findings)
            }
            Err(error) if trust.passes_over(&error) => {
                batch.tally.passed_over += 1;
                return;
            }
            Err(error) => return self.failed(batch, name, number.as_deref(), &reason(&error), Some(error)),
        };
        let opened = Opened {
            path: path.to_path_buf(),
            tune,
            piece,
            findings,
        };
        self.piece(name, &opened, batch);
    }

    fn piece(&self, name: &str, opened: &Opened, batch: &mut Batch) {
        let number = opened.tune.as_ref().map(|tune| tune.number.as_str());
        let parts = match parts_asked(opened, self.asked.asked.part.as_deref()) {
            Ok(parts) => parts,
            Err(error @ DeskError::NoSuchPart { .. }) => {
                batch.tally.without += 1;
                batch.tally.failed = batch.tally.failed.take().or(Some(error));
                return;
            }
            Err(error) => return self.failed(batch, name, number, &reason(&error), Some(error)),
        };
        for index in parts {
            let shown = match survey_part(opened, index, None, self.questions, &self.asked.asked) {
                Ok(shown) => shown,
                Err(error) => {
                    self.failed(batch, name, number, &reason(&error), Some(error));
                    continue;
                }
            };
            let of = LineOf {
                file: name,
                tune: number,
                part: Some(index + 1),
            };
            batch.rows.survey(self.asked.form, of, &shown.written(opened));
            batch.tally.parts += 1;
        }
        batch.tally.pieces += 1;
    }

    /// Something that could not be surveyed: a row, a complaint.
    fn failed(&self, batch: &mut Batch, name: &str, tune: Option<&str>, why: &str, error: Option<DeskError>) {
        let of = LineOf {
            file: name,
            tune,
            part: None,
        };
        batch.rows.failed(self.asked.form, of, why);
        let tune = tune.map_or_else(String::new, |tune| format!(", tune {tune}"));
        batch.complaints.push(format!("{name}{tune}: {why}"));
        batch.tally.bad += 1;
        batch.tally.failed = batch.tally.failed.take().or(error);
    }
}

impl Batch {
    fn passed_over() -> Self {
        let mut batch = Self::default();
        batch.tally.passed_over = 1;
        batch
    }

    fn done(self) -> Done<Job, Self> {
        let bytes = self.rows.bytes();
        Done::Answer(self, bytes)
    }
}

/// How far a file's name is believed to say that it is music.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Trust {
    /// It was asked for, or its name says so: whatever is wrong with it is said.
    Asked,
    /// `.xml` may be anything in XML.
    Xml,
    /// Any other file: what is no music is passed over.
    Other,
}

impl Trust {
    fn of(path: &Path) -> Self {
        if files::is_notation_name(path) {
            return Self::Asked;
        }
        let xml = path
            .extension()
            .is_some_and(|ending| ending.eq_ignore_ascii_case("xml"));
        if xml { Self::Xml } else { Self::Other }
    }

    fn passes_over(self, error: &DeskError) -> bool {
        match self {
            Self::Asked => false,
            Self::Xml => matches!(
                error,
                DeskError::Format {
                    source: FormatError::OtherXml { .. },
                    ..
                }
            ),
            Self::Other => true,
        }
    }
}

/// A look at a file's beginning.
fn may_be_music(path: &Path) -> bool {
    let mut head = Vec::new();
    let read = File::open(path).and_then(|file| file.take(HEAD).read_to_end(&mut head));
    let known = read.is_ok().then(|| Source::open(&head, ""));
    !matches!(
        known,
        None | Some(Err(FormatError::NotMusic { .. } | FormatError::Empty))
    )
}

/// What is wrong, without the file's name.
fn reason(error: &DeskError) -> String {
    match error {
        DeskError::Format { source, .. } => source.to_string(),
        DeskError::Unreadable { source, .. } => format!("can't be read: {source}"),
        other => other.to_string(),
    }
}

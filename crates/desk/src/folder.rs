//! What is in this folder, or in this book of tunes? Every piece surveyed, one row for each part, written as it goes.

mod files;
#[cfg(feature = "tables")]
mod parquet_table;
mod steady;
mod table;
mod work;

use crate::{Asked, DeskError, survey_piece};
use files::{Found, Listing};
use std::io::Write;
use std::path::Path;
use work::{Batch, Job, Worker};

/// What is asked about many pieces at once.
#[derive(Clone, Debug)]
pub struct ManyAsked {
    /// Part, questions and ways, as for one piece; without a part, every part that has something to play.
    pub asked: Asked,
    /// Only the tunes of books with this number.
    pub tune: Option<String>,
    /// How the rows are written.
    pub form: TableForm,
    /// How many threads work.
    pub threads: usize,
}

/// How rows are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum TableForm {
    /// A line of JSON each.
    Jsonl,
    /// A table as CSV (RFC 4180).
    Csv,
    /// A table as Apache Parquet.
    #[cfg(feature = "tables")]
    Parquet,
}

impl TableForm {
    /// Whether a person can read it as it stands.
    #[must_use]
    pub const fn is_text(self) -> bool {
        matches!(self, Self::Jsonl | Self::Csv)
    }
}

/// Where the pieces come from.
#[derive(Debug)]
pub enum Many<'a> {
    /// A folder, or a file.
    Path(&'a Path),
    /// Bytes at hand and what the person calls them.
    Bytes(&'a str, Vec<u8>),
}

/// What came of it.
#[derive(Debug, Default)]
pub struct Tally {
    /// Files with at least one piece.
    pub files: usize,
    /// Pieces and tunes surveyed.
    pub pieces: usize,
    /// Parts surveyed: rows without an error.
    pub parts: usize,
    /// Files and tunes that could not be surveyed.
    pub bad: usize,
    /// Files that hold no notated music.
    pub passed_over: usize,
    /// Pieces without the part asked for, and files without the tune.
    pub without: usize,
    /// The first thing that was wrong, if nothing at all could be surveyed.
    pub failed: Option<DeskError>,
    /// Whoever reads the rows has seen enough.
    pub cut_short: bool,
}

/// Who is told how it goes.
pub trait Watch {
    /// So many files are done, of so many.
    fn progress(&mut self, done: usize, of: usize);
    /// Something could not be surveyed: which, and why.
    fn complain(&mut self, what: &str);
}

/// Surveys every piece of a folder or a book and writes a row for each part to `out`, in the order of the files' names,
/// whatever the number of threads. A bad file is a row and a complaint and stops nothing. `to` is what `out` is called.
///
/// # Errors
/// If there is no such folder or file, no such question, nothing notated in the folder, or `out` can't be written.
pub fn survey_many(
    many: Many,
    asked: &ManyAsked,
    out: &mut (dyn Write + Send),
    to: &Path,
    watch: &mut dyn Watch,
) -> Result<Tally, DeskError> {
    let questions = survey_piece::questions(&asked.asked.questions)?;
    let (jobs, closed) = jobs(many)?;
    let unwritable = |source| DeskError::Unwritable {
        path: to.to_path_buf(),
        source,
    };
    let mut tally = Tally::default();
    let mut writer = table::Writer::begin(asked.form, out).map_err(unwritable)?;
    let worker = Worker {
        asked,
        questions: &questions,
    };
    let (total, mut done) = (jobs.len(), 0);
    watch.progress(0, total);
    let mut failure = None;
    for batch in closed.into_iter().map(|(name, why)| worker.closed(&name, &why)) {
        give(batch, &mut writer, &mut tally, watch, &mut failure);
    }
    steady::run(
        jobs,
        asked.threads,
        |job| worker.work(job),
        || worker.fell(),
        |batch, last| {
            give(batch, &mut writer, &mut tally, watch, &mut failure);
            if last {
                done += 1;
                watch.progress(done, total);
            }
            failure.is_none()
        },
    );
    if failure.is_none() {
        failure = writer.finish().err();
    }
    match failure {
        Some(error) if error.kind() == std::io::ErrorKind::BrokenPipe => tally.cut_short = true,
        Some(source) => return Err(unwritable(source)),
        None => {}
    }
    if tally.pieces > 0 {
        tally.failed = None;
    }
    Ok(tally)
}

fn give(
    batch: Batch,
    writer: &mut table::Writer,
    tally: &mut Tally,
    watch: &mut dyn Watch,
    failure: &mut Option<std::io::Error>,
) {
    for complaint in &batch.complaints {
        watch.complain(complaint);
    }
    tally.add(batch.tally);
    if let Err(error) = writer.write(&batch.rows) {
        failure.get_or_insert(error);
    }
}

impl Tally {
    /// Whether anything was surveyed.
    ///
    /// # Errors
    /// If nothing was: the first thing that was wrong, or that there is nothing notated there.
    pub fn verdict(self, path: &Path) -> Result<(), DeskError> {
        let path = || path.to_path_buf();
        match self {
            tally if tally.pieces > 0 || tally.cut_short => Ok(()),
            Self {
                failed: Some(error), ..
            } => Err(error),
            Self { without: 1.., .. } => Err(DeskError::NothingAsked { path: path() }),
            Self { passed_over, .. } => Err(DeskError::NothingNotated {
                path: path(),
                passed_over,
            }),
        }
    }

    fn add(&mut self, other: Self) {
        self.files += other.files;
        self.pieces += other.pieces;
        self.parts += other.parts;
        self.bad += other.bad;
        self.passed_over += other.passed_over;
        self.without += other.without;
        self.failed = self.failed.take().or(other.failed);
    }
}

type Closed = Vec<(String, String)>;

/// The files to look into, and the folders that could not be looked into.
fn jobs(many: Many) -> Result<(Vec<Job>, Closed), DeskError> {
    let path = match many {
        Many::Bytes(name, bytes) => return Ok((vec![Job::Bytes(name.to_owned(), bytes)], vec![])),
        Many::Path(path) => path,
    };
    let meta = std::fs::metadata(path).map_err(|source| crate::open::unreadable(path, source))?;
    if !meta.is_dir() {
        let found = Found {
            path: path.to_path_buf(),
            name: path.to_string_lossy().into_owned(),
        };
        return Ok((vec![Job::Asked(found)], vec![]));
    }
    let Listing { files, closed } = files::list(path);
    if files.is_empty() && closed.is_empty() {
        return Err(DeskError::EmptyFolder {
            path: path.to_path_buf(),
        });
    }
    Ok((files.into_iter().map(Job::Found).collect(), closed))
}

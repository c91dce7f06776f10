//! What can go wrong in keeping, said to a musician: what, where, what to do.

use std::path::PathBuf;
use thiserror::Error;

/// Why something could not be kept, found or given back.
#[derive(Debug, Error)]
#[expect(missing_docs, reason = "each message says what its fields are")]
pub enum StoreError {
    #[error(
        "{} is open in another Foreread{} — go to that one, close it first, or choose another place with --home",
        home.display(), address.as_ref().map_or_else(String::new, |address| format!(", at {address}"))
    )]
    AlreadyOpen { home: PathBuf, address: Option<String> },
    #[error("no place is known where this machine keeps a person's data — name a folder with --home")]
    NoHome,
    #[error("{} was kept by a newer Foreread (form {found}, this one knows up to {known}) — use the newer program", home.display())]
    Newer { home: PathBuf, found: i64, known: i64 },
    #[error(
        "the database of {} is damaged: {what} — close Foreread and bring back the last backup (foreread restore)",
        home.display()
    )]
    Damaged { home: PathBuf, what: String },
    #[error("there is nothing kept in {} yet — start foreread once, or name another folder with --home", home.display())]
    NothingKept { home: PathBuf },
    #[error("there is no {what} {id} any more — look whether it was put away or removed")]
    Gone { what: &'static str, id: i64 },
    #[error("{what} — {advice}")]
    Refused { what: String, advice: String },
    #[error("the file {hash} of what is kept is missing — bring back the last backup (foreread restore)")]
    FileMissing { hash: String },
    #[error(
        "the file {hash} of what is kept has been changed from outside — bring back the last backup (foreread restore)"
    )]
    FileChanged { hash: String },
    #[error("{}: {what} — {advice}", path.display())]
    Backup {
        path: PathBuf,
        what: String,
        advice: String,
    },
    #[error("{} can't be read: {source} — look whether you may open it", path.display())]
    Unreadable { path: PathBuf, source: std::io::Error },
    #[error("{} can't be written: {source} — look whether you may write there and whether there is room", path.display())]
    Unwritable { path: PathBuf, source: std::io::Error },
    #[error("what is kept can't be reached: {0} — look whether the disk is full or the folder was moved")]
    Database(#[from] rusqlite::Error),
    #[error(
        "what is kept can't be understood: {0} — it is left as it is; say so to whoever looks after the program"
    )]
    Document(#[from] serde_json::Error),
}

/// What the caller should report to whoever asked.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Trouble {
    /// The request is wrong, or there is no such thing.
    Request,
    /// A file that was given is wrong.
    File,
    /// Somebody else has it open.
    Busy,
    /// The machine refused.
    Machine,
}

impl StoreError {
    /// Which kind of failure this is; the one place where errors become exit or HTTP status.
    #[must_use]
    pub const fn trouble(&self) -> Trouble {
        match self {
            Self::Gone { .. } | Self::Refused { .. } | Self::NothingKept { .. } | Self::NoHome => {
                Trouble::Request
            }
            Self::Backup { .. } => Trouble::File,
            Self::AlreadyOpen { .. } => Trouble::Busy,
            Self::Newer { .. }
            | Self::Damaged { .. }
            | Self::FileMissing { .. }
            | Self::FileChanged { .. }
            | Self::Unreadable { .. }
            | Self::Unwritable { .. }
            | Self::Database(_)
            | Self::Document(_) => Trouble::Machine,
        }
    }

    pub(crate) fn refused(what: impl Into<String>, advice: impl Into<String>) -> Self {
        Self::Refused {
            what: what.into(),
            advice: advice.into(),
        }
    }

    pub(crate) fn unreadable(path: impl Into<PathBuf>) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.into();
        move |source| Self::Unreadable { path, source }
    }

    pub(crate) fn unwritable(path: impl Into<PathBuf>) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.into();
        move |source| Self::Unwritable { path, source }
    }
}

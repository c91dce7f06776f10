//! What can go wrong at the desk, said to a musician: what, where, what to do.

use formats::FormatError;
use std::path::PathBuf;
use thiserror::Error;

/// Why a request could not be done.
#[derive(Debug, Error)]
#[expect(missing_docs, reason = "each message says what its fields are")]
pub enum DeskError {
    #[error("there is no file {path} — look at the spelling of its name, or drag it into the window")]
    NotFound { path: PathBuf },
    #[error(
        "{path} is a folder, not a piece — name one file in it, or survey all of it with --as csv, jsonl or parquet"
    )]
    Folder { path: PathBuf },
    #[error("{path} holds no file — look whether it is the right folder")]
    EmptyFolder { path: PathBuf },
    #[error(
        "{path} holds no notated piece ({passed_over} other files were passed over) — look whether it is the right folder"
    )]
    NothingNotated { path: PathBuf, passed_over: usize },
    #[error(
        "nothing in {path} has the part or tune asked for — leave --part or --tune out to see what there is"
    )]
    NothingAsked { path: PathBuf },
    #[error("{path} is not an ordinary file — save the piece to a file first")]
    NotAFile { path: PathBuf },
    #[error(
        "{path} is {megabytes} MB, more than a notated piece ever is (the limit is {limit} MB) — \
         look whether it is the right file"
    )]
    TooLarge {
        path: PathBuf,
        megabytes: u64,
        limit: u64,
    },
    #[error("{path} can't be read: {source} — look whether you may open it")]
    Unreadable { path: PathBuf, source: std::io::Error },
    #[error("{path} can't be written: {source} — choose another place with --to")]
    Unwritable { path: PathBuf, source: std::io::Error },
    #[error("{path} is the piece itself and is not written over — choose another name")]
    OverItself { path: PathBuf },
    #[error("{path}: {ending} is not written here — what can be written ends in {known}")]
    NotWritten {
        path: PathBuf,
        ending: String,
        known: String,
    },
    #[error("a Parquet table is not for the eyes — write it to a file with --to")]
    NotForTheEyes,
    #[error("{path}, page {page}: {what}")]
    Scan { path: PathBuf, page: u32, what: String },
    #[error("{path}: no staff of five lines was found — scan the page upright, flat and with even light")]
    NoStaff { path: PathBuf },
    #[error(
        "{path} holds no page with what stands on it — put a page (PNG, JPEG, TIFF, PDF) and its piece as MusicXML beside each other, by the same name"
    )]
    NoOwnPages { path: PathBuf },
    #[error("{path}: {source}")]
    Format { path: PathBuf, source: FormatError },
    #[error("{path}: no part is called “{asked}” — its parts are {parts}; ask by number or name with --part")]
    NoSuchPart {
        path: PathBuf,
        asked: String,
        parts: String,
    },
    #[error("{path}: “{asked}” fits several parts: {parts} — ask by number with --part")]
    SeveralParts {
        path: PathBuf,
        asked: String,
        parts: String,
    },
    #[error("{path}: there is no part with notes or rests in it — look whether the file was saved whole")]
    NoParts { path: PathBuf },
    #[error(
        "there is no player's file {path} — look at the spelling of its name, or give --instrument instead"
    )]
    NoPlayer { path: PathBuf },
    #[error("{path}, line {line}: {what} — {advice}")]
    Profile {
        path: PathBuf,
        line: usize,
        what: String,
        advice: String,
    },
    #[error("{what} — {advice}")]
    Player { what: String, advice: String },
    #[cfg(feature = "whole")]
    #[error("{0}")]
    Press(#[from] printer::PrintError),
    #[cfg(feature = "whole")]
    #[error("{0}")]
    Take(#[from] take::TakeError),
    #[cfg(feature = "whole")]
    #[error("{0}")]
    Sound(#[from] sound::SoundError),
    #[error(
        "no sound card answers (pw-cat, pacat and aplay were tried) — write a file with --to instead, for example --to out.wav"
    )]
    NoSoundCard,
    #[error("there is no legend {path} — look at the spelling of its name")]
    NoLegend { path: PathBuf },
    #[error("no question is called “{asked}” — the questions are {known}")]
    NoSuchQuestion { asked: String, known: String },
}

/// What the caller should report to whoever asked.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Status {
    /// The request itself is wrong: name, part, question.
    Request,
    /// The file is wrong.
    File,
    /// The machine refused.
    Machine,
}

impl DeskError {
    /// Which kind of failure this is; the one place where errors become exit or HTTP status.
    #[must_use]
    pub const fn status(&self) -> Status {
        match self {
            Self::NotFound { .. }
            | Self::Folder { .. }
            | Self::EmptyFolder { .. }
            | Self::NothingNotated { .. }
            | Self::NothingAsked { .. }
            | Self::NoOwnPages { .. }
            | Self::OverItself { .. }
            | Self::NotForTheEyes
            | Self::NotWritten { .. }
            | Self::NoSuchPart { .. }
            | Self::SeveralParts { .. }
            | Self::NoPlayer { .. }
            | Self::NoLegend { .. }
            | Self::Profile { .. }
            | Self::Player { .. }
            | Self::NoSuchQuestion { .. } => Status::Request,
            Self::NotAFile { .. }
            | Self::TooLarge { .. }
            | Self::Format { .. }
            | Self::Scan { .. }
            | Self::NoStaff { .. }
            | Self::NoParts { .. } => Status::File,
            Self::Unreadable { .. } | Self::Unwritable { .. } | Self::NoSoundCard => Status::Machine,
            #[cfg(feature = "whole")]
            Self::Take(_) => Status::File,
            #[cfg(feature = "whole")]
            Self::Press(_) | Self::Sound(_) => Status::Machine,
        }
    }
}

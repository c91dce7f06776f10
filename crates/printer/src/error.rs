//! What went wrong with the press, said to a musician: what happened, and what to do.

use job::{Answer, Refusal, RefusalKind};
use std::path::PathBuf;
use std::time::Duration;

/// Why nothing was printed. Displayed as one or two sentences: what happened, then what to do.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PrintError {
    /// There is no press.
    #[error(
        "The part of Foreread that engraves, prints and reads pages was not found. It is the program `foreread-press` and belongs beside \
         `foreread`; put it there, or say where it is in the variable FOREREAD_PRESS."
    )]
    NotFound,
    /// The press is there and can't be started.
    #[error(
        "The part of Foreread that engraves, prints and reads pages could not be started ({path}: {why}). Install it again, or say where a \
         working `foreread-press` is in the variable FOREREAD_PRESS."
    )]
    NotStarted {
        /// The press.
        path: PathBuf,
        /// What the system says.
        why: String,
    },
    /// The press is another version's.
    #[error(
        "`foreread-press` is of another version than `foreread` (it speaks version {theirs} of their language, not {}). \
         Install both from the same release.",
        job::VERSION
    )]
    OtherVersion {
        /// Its version.
        theirs: u32,
    },
    /// A request took too long and was stopped.
    #[error(
        "Engraving or printing took longer than {} seconds and was stopped; nothing else is lost. Try fewer bars at a time.",
        .0.as_secs()
    )]
    TookTooLong(Duration),
    /// The press died over the request, and again when it was tried once more.
    #[error(
        "The part of Foreread that engraves and prints gave up twice over this piece ({0}); nothing else is lost. Try a part of \
         the piece to find the bar it can't bear, and please report it."
    )]
    Died(String),
    /// The press refuses, with its reason.
    #[error("{}", refused(.0))]
    Refused(Refusal),
    /// The press answers something else than was asked.
    #[error(
        "`foreread-press` answered what nobody had asked ({0}). Install `foreread` and `foreread-press` from the same release."
    )]
    Unexpected(String),
    /// There is no room for what the press needs on disk.
    #[error(
        "There is no room for the temporary data that engraving needs ({0}). Free some disk space, or point the variable TMPDIR \
         at a folder that can be written."
    )]
    NoRoom(std::io::Error),
    /// The request is too long to be sent.
    #[error("This is too much to be engraved at once ({0}). Try fewer pages at a time.")]
    TooMuch(String),
    /// Nobody recorded an answer to this request.
    #[error(
        "No recorded answer of the press fits this request ({0}). Run the test again with FOREREAD_RECORD=1 and a press that can \
         be found."
    )]
    NotRecorded(PathBuf),
    /// A recording can't be read or written.
    #[error("The recorded answer {0} can't be used: {1}.")]
    Record(PathBuf, String),
}

impl PrintError {
    pub(crate) fn unexpected(answer: &Answer) -> PrintError {
        let what = match answer {
            Answer::Hello { .. } => "a greeting",
            Answer::Engraved(_) => "engraved music",
            Answer::Pdf { .. } => "a PDF",
            Answer::Picture { .. } => "a picture",
            Answer::Ink(_) => "a map of ink",
            Answer::Typeset(_) => "a typeset document",
            Answer::Seen(_) => "a page that was read",
            Answer::Refused(_) => "a refusal",
        };
        PrintError::Unexpected(what.to_owned())
    }
}

fn refused(refusal: &Refusal) -> String {
    let what = &refusal.what;
    match refusal.kind {
        RefusalKind::Music => {
            format!(
                "The music could not be engraved: {what}. Try a part of the piece to find the bar, and please report it."
            )
        }
        RefusalKind::Source => {
            format!("The sheet could not be typeset, which is a fault of Foreread; please report it: {what}")
        }
        RefusalKind::Page => what.clone(),
        RefusalKind::Request => {
            format!(
                "`foreread-press` did not take what it was given, which is a fault of Foreread; please report it: {what}"
            )
        }
        RefusalKind::Machine => format!("Engraving or printing failed on this computer: {what}."),
    }
}

#[cfg(test)]
mod tests {
    use super::PrintError;
    use std::time::Duration;

    #[test]
    fn an_error_says_what_happened_and_what_to_do() {
        assert_eq!(
            PrintError::TookTooLong(Duration::from_secs(60)).to_string(),
            "Engraving or printing took longer than 60 seconds and was stopped; nothing else is lost. Try fewer bars at a time."
        );
        assert!(
            PrintError::NotFound
                .to_string()
                .contains("belongs beside `foreread`; put it there")
        );
        assert!(
            PrintError::OtherVersion { theirs: 9 }
                .to_string()
                .contains("version 9")
        );
    }
}

//! How is one press kept at hand? Started when first needed, asked who it is, started again when it has died.

use crate::PrintError;
use crate::worker::{NoAnswer, Worker};
use job::{Answer, Letter, LetterError, MOST_BLOBS, MOST_BYTES, Request};
use std::path::PathBuf;
use std::time::Duration;

/// How long one request may take: a part of 5,000 bars takes 13 seconds of a quiet machine.
pub const USUAL_LIMIT: Duration = Duration::from_secs(90);

/// A press at hand.
pub struct Runner {
    /// Where it is.
    pub path: PathBuf,
    /// How long one request may take.
    pub limit: Duration,
    worker: Option<Worker>,
}

impl Runner {
    /// Nothing is started yet.
    pub fn new(path: PathBuf) -> Runner {
        Runner {
            path,
            limit: USUAL_LIMIT,
            worker: None,
        }
    }

    /// Asks; a press that dies over the request is started again and asked once more.
    ///
    /// # Errors
    /// If it can't be started, takes too long, or dies twice.
    pub fn ask(&mut self, letter: Letter<Request>) -> Result<Letter<Answer>, PrintError> {
        sendable(&letter)?;
        match self.attempt(letter.clone())? {
            Ok(answer) => Ok(answer),
            // A request on which it has spent all its time would only take as long again.
            Err(NoAnswer::TookTooLong) => Err(PrintError::TookTooLong(self.limit)),
            Err(NoAnswer::Died(_)) => match self.attempt(letter)? {
                Ok(answer) => Ok(answer),
                Err(NoAnswer::TookTooLong) => Err(PrintError::TookTooLong(self.limit)),
                Err(NoAnswer::Died(how)) => Err(PrintError::Died(how)),
            },
        }
    }

    fn attempt(&mut self, letter: Letter<Request>) -> Result<Result<Letter<Answer>, NoAnswer>, PrintError> {
        let mut worker = match self.worker.take() {
            Some(worker) => worker,
            None => match greeted(Worker::start(&self.path)?, self.limit)? {
                Ok(worker) => worker,
                Err(no_answer) => return Ok(Err(no_answer)),
            },
        };
        let answer = worker.ask(letter, self.limit);
        if answer.is_ok() {
            self.worker = Some(worker);
        }
        Ok(answer)
    }
}

/// The press, if it speaks our language.
fn greeted(mut worker: Worker, limit: Duration) -> Result<Result<Worker, NoAnswer>, PrintError> {
    match worker.ask(Letter::bare(Request::Hello), limit) {
        Ok(Letter {
            head: Answer::Hello {
                version: job::VERSION,
                ..
            },
            ..
        }) => Ok(Ok(worker)),
        Ok(Letter {
            head: Answer::Hello { version, .. },
            ..
        }) => Err(PrintError::OtherVersion { theirs: version }),
        Ok(other) => Err(PrintError::unexpected(&other.head)),
        Err(no_answer) => Ok(Err(no_answer)),
    }
}

/// Whether the letter keeps to the limits that both sides hold; the press would only die of it.
fn sendable(letter: &Letter<Request>) -> Result<(), PrintError> {
    let bytes: usize = letter.blobs.iter().map(Vec::len).sum();
    let too_many = u32::try_from(letter.blobs.len()).map_or(true, |count| count > MOST_BLOBS);
    if too_many || u64::try_from(bytes).map_or(true, |bytes| bytes > MOST_BYTES) {
        let error = LetterError::Garbled(format!("{} pages and files, {bytes} bytes", letter.blobs.len()));
        return Err(PrintError::TooMuch(error.to_string()));
    }
    Ok(())
}

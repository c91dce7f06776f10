//! How is one running press spoken to without ever waiting too long? Its pipes have a thread each, so that neither a press that
//! doesn't read nor one that doesn't answer holds the caller.

use crate::PrintError;
use crate::folder::Folder;
use job::{Answer, Letter, LetterError, Request};
use std::collections::VecDeque;
use std::io::{BufReader, BufWriter, Read};
use std::path::Path;
use std::process::{Child, ChildStderr, Command, ExitStatus, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

/// How long a press that was told to end may take before it is stopped.
const FAREWELL: Duration = Duration::from_millis(300);
/// How much of its last words is kept, in bytes.
const LAST_WORDS: usize = 2000;

/// A press that runs.
pub struct Worker {
    child: Child,
    letters: Option<Sender<Letter<Request>>>,
    answers: Receiver<Result<Letter<Answer>, LetterError>>,
    last_words: Arc<Mutex<VecDeque<u8>>>,
    /// Closes once all its words are read.
    all_said: Receiver<()>,
    // Goes last: nothing runs in it any more.
    _folder: Folder,
}

/// Why no answer came.
pub enum NoAnswer {
    /// The press is gone, or speaks no language we know; what is known of it.
    Died(String),
    /// The time is over. The press is stopped.
    TookTooLong,
}

impl Worker {
    /// Starts the press at this path.
    ///
    /// # Errors
    /// If it can't be started, or there is no room for its temporary data.
    pub fn start(path: &Path) -> Result<Worker, PrintError> {
        let folder = Folder::new().map_err(PrintError::NoRoom)?;
        let not_started = |why: String| PrintError::NotStarted {
            path: path.to_owned(),
            why,
        };
        let mut command = Command::new(path);
        for variable in ["TMPDIR", "TMP", "TEMP", "FOREREAD_PRESS_FOLDER"] {
            command.env(variable, folder.path());
        }
        let mut child = command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .map_err(|error| not_started(error.to_string()))?;
        let pipes = (child.stdin.take(), child.stdout.take(), child.stderr.take());
        let (Some(to), Some(from), Some(words)) = pipes else {
            return Err(not_started("it has no pipes".to_owned()));
        };
        let (letters, to_send) = channel::<Letter<Request>>();
        thread::spawn(move || {
            let mut to = BufWriter::new(to);
            for letter in to_send {
                // A press that is gone is noticed by its missing answer.
                if letter.write(&mut to).is_err() {
                    break;
                }
            }
        });
        // One answer at a time is asked; a press that babbles is not listened to.
        let (received, answers) = sync_channel(1);
        thread::spawn(move || {
            let mut from = BufReader::new(from);
            loop {
                let answer = Letter::<Answer>::read(&mut from);
                let over = answer.is_err();
                if received.send(answer).is_err() || over {
                    break;
                }
            }
        });
        let last_words = Arc::new(Mutex::new(VecDeque::new()));
        let kept = Arc::clone(&last_words);
        let (saying, all_said) = channel();
        thread::spawn(move || {
            keep_last_words(words, &kept);
            drop(saying);
        });
        Ok(Worker {
            child,
            letters: Some(letters),
            answers,
            last_words,
            all_said,
            _folder: folder,
        })
    }

    /// Asks, and waits for the answer as long as the limit allows.
    pub fn ask(&mut self, letter: Letter<Request>, limit: Duration) -> Result<Letter<Answer>, NoAnswer> {
        let sent = self
            .letters
            .as_ref()
            .is_some_and(|letters| letters.send(letter).is_ok());
        if !sent {
            return Err(NoAnswer::Died(self.obituary("it takes no more")));
        }
        match self.answers.recv_timeout(limit) {
            Ok(Ok(answer)) => Ok(answer),
            Ok(Err(error)) => Err(NoAnswer::Died(self.obituary(&error.to_string()))),
            Err(RecvTimeoutError::Disconnected) => Err(NoAnswer::Died(self.obituary("it says no more"))),
            Err(RecvTimeoutError::Timeout) => {
                self.stop();
                Err(NoAnswer::TookTooLong)
            }
        }
    }

    fn stop(&mut self) {
        self.letters = None;
        // It may have ended by itself meanwhile.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// What is known about its end.
    fn obituary(&mut self, otherwise: &str) -> String {
        self.letters = None;
        let status = self.ended(FAREWELL);
        self.stop();
        let how = match status {
            Some(status) => ending(status),
            None => otherwise.to_owned(),
        };
        // Its words may still be on their way; somebody else may hold their pipe open for ever.
        let _ = self.all_said.recv_timeout(FAREWELL);
        let words = self.last_words.lock().unwrap_or_else(PoisonError::into_inner);
        let words: Vec<u8> = words.iter().copied().collect();
        let words = String::from_utf8_lossy(&words);
        match words.lines().map(str::trim).rfind(|line| !line.is_empty()) {
            Some(line) => format!("{how}, its last words were: {line}"),
            None => how,
        }
    }

    fn ended(&mut self, patience: Duration) -> Option<ExitStatus> {
        let until = Instant::now() + patience;
        loop {
            match self.child.try_wait() {
                Ok(Some(status)) => return Some(status),
                Ok(None) if Instant::now() < until => thread::sleep(Duration::from_millis(2)),
                Ok(None) | Err(_) => return None,
            }
        }
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        // Without letters to come the press ends by itself and cleans up; one that doesn't is stopped.
        self.letters = None;
        if self.ended(FAREWELL).is_none() {
            self.stop();
        }
    }
}

/// How it ended, in words.
fn ending(status: ExitStatus) -> String {
    #[cfg(unix)]
    if let Some(signal) = std::os::unix::process::ExitStatusExt::signal(&status) {
        return format!("stopped by signal {signal}");
    }
    match status.code() {
        Some(code) => format!("ended with status {code}"),
        None => "ended".to_owned(),
    }
}

fn keep_last_words(mut from: ChildStderr, kept: &Mutex<VecDeque<u8>>) {
    let mut bytes = [0_u8; 512];
    while let Ok(length @ 1..) = from.read(&mut bytes) {
        let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.extend(bytes.iter().take(length));
        let over = kept.len().saturating_sub(LAST_WORDS);
        kept.drain(..over);
    }
}

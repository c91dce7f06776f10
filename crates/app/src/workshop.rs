//! Who engraves? One hand at one warm press; what somebody waits for goes before what is made for later.

use crate::error::AppError;
use desk::{DeskError, Printer};
use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

/// Whether somebody waits for it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Urgency {
    /// Somebody looks at an empty page.
    Awaited,
    /// It will be wanted sooner or later.
    ForLater,
}

/// A piece of work; it is told if there is no press.
pub(crate) type Work = Box<dyn FnOnce(Result<&mut Printer, AppError>) + Send>;

/// The queue, and the thread that works it off.
pub(crate) struct Workshop {
    queue: Arc<Queue>,
}

#[derive(Default)]
struct Queue {
    waiting: Mutex<Waiting>,
    more: Condvar,
}

#[derive(Default)]
struct Waiting {
    awaited: VecDeque<Work>,
    for_later: VecDeque<Work>,
    at_work: bool,
    closed: bool,
}

impl Workshop {
    /// Sets the hand to work; engravings are kept in a folder. The press itself is started with the first work.
    ///
    /// # Errors
    /// If the machine gives no thread.
    pub fn start(engraved: PathBuf) -> Result<Self, AppError> {
        let queue = Arc::new(Queue::default());
        let hand = Arc::clone(&queue);
        std::thread::Builder::new()
            .name("press".to_owned())
            .spawn(move || work_off(&hand, &engraved))?;
        Ok(Self { queue })
    }

    /// Adds work.
    pub fn give(&self, urgency: Urgency, work: Work) {
        let mut waiting = self.queue.waiting();
        if waiting.closed {
            return;
        }
        match urgency {
            Urgency::Awaited => waiting.awaited.push_back(work),
            Urgency::ForLater => waiting.for_later.push_back(work),
        }
        drop(waiting);
        self.queue.more.notify_one();
    }

    /// Whether something is at the press now, so that more would have to wait.
    pub fn is_busy(&self) -> bool {
        let waiting = self.queue.waiting();
        waiting.at_work || !waiting.awaited.is_empty()
    }

    /// Nothing more is begun; whoever waits is told.
    pub fn close(&self) {
        let mut waiting = self.queue.waiting();
        waiting.closed = true;
        waiting.awaited.clear();
        waiting.for_later.clear();
        drop(waiting);
        self.queue.more.notify_all();
    }
}

impl Queue {
    /// A hand that fell ill in the middle of a work leaves the queue as it was.
    fn waiting(&self) -> MutexGuard<'_, Waiting> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn next(&self) -> Option<Work> {
        let mut waiting = self.waiting();
        waiting.at_work = false;
        loop {
            if waiting.closed {
                return None;
            }
            if let Some(work) = waiting
                .awaited
                .pop_front()
                .or_else(|| waiting.for_later.pop_front())
            {
                waiting.at_work = true;
                return Some(work);
            }
            waiting = self.more.wait(waiting).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

/// Engravings remembered, so that a pencil mark is drawn without engraving the part again; a part is engraved up to twice.
const REMEMBERED: usize = 12;
/// Engravings kept on disk, in bytes: some hundred parts of several pages.
const MOST_ENGRAVED: u64 = 128 * 1024 * 1024;

fn work_off(queue: &Queue, engraved: &Path) {
    let mut printer: Option<Printer> = None;
    while let Some(work) = queue.next() {
        let found = match printer.take() {
            Some(printer) => Ok(printer),
            None => Printer::find()
                .map(|printer| printer.remembering(REMEMBERED).keeping(engraved, MOST_ENGRAVED))
                .map_err(|error| AppError::Desk(DeskError::Press(error))),
        };
        // A work that panics takes its press with it and nothing else: who waits for it is told, the next one gets a new press.
        let outcome = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| match found {
            Ok(mut found) => {
                work(Ok(&mut found));
                Some(found)
            }
            Err(error) => {
                work(Err(error));
                None
            }
        }));
        printer = outcome.ok().flatten();
    }
}

#[cfg(test)]
mod tests {
    use super::{Urgency, Workshop};
    use std::sync::mpsc::channel;

    #[test]
    fn what_is_awaited_goes_first_and_an_accident_stops_nothing() {
        let workshop = Workshop::start(std::env::temp_dir()).unwrap();
        let (say, said) = channel();
        let (hold, held) = channel::<()>();
        let (begin, begun) = channel::<()>();
        let first = say.clone();
        workshop.give(
            Urgency::ForLater,
            Box::new(move |_| {
                begin.send(()).unwrap();
                held.recv().unwrap();
                first.send("held").unwrap();
                panic!("an accident on purpose");
            }),
        );
        begun.recv().unwrap();
        for (urgency, word) in [(Urgency::ForLater, "later"), (Urgency::Awaited, "awaited")] {
            let say = say.clone();
            workshop.give(urgency, Box::new(move |_| say.send(word).unwrap()));
        }
        hold.send(()).unwrap();
        let heard: Vec<&str> = (0..3).map(|_| said.recv().unwrap()).collect();
        assert_eq!(heard, ["held", "awaited", "later"]);
    }

    #[test]
    fn after_closing_nothing_is_begun() {
        let workshop = Workshop::start(std::env::temp_dir()).unwrap();
        workshop.close();
        let (say, said) = channel::<()>();
        workshop.give(Urgency::Awaited, Box::new(move |_| drop(say)));
        assert!(said.recv().is_err());
    }
}

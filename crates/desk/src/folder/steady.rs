//! How do all cores work and the answers still come in one order? Jobs are taken from the front, answers given on in
//! order, and nobody runs so far ahead that memory fills.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::sync_channel;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

/// A job's place in the order: which of the first jobs, and which piece of it.
type Place = (usize, usize);

/// Answers that wait for earlier ones may hold this many bytes.
const MOST_WAITING: usize = 32 << 20;

/// What became of a job.
pub(super) enum Done<J, A> {
    /// An answer; how many bytes it holds.
    Answer(A, usize),
    /// It falls into smaller ones, to be done in this order in its place.
    Split(Vec<J>),
}

struct Queue<J> {
    /// Jobs to be taken, by place; whether it is the last piece of its first job.
    waiting: BTreeMap<Place, (J, bool)>,
    /// Jobs at work that may yet split.
    at_work: usize,
    /// The place whose answer is given on next.
    next: Place,
    /// Bytes of answers not yet given on.
    bytes: usize,
    stop: bool,
}

struct Shared<J> {
    queue: Mutex<Queue<J>>,
    changed: Condvar,
}

impl<J> Shared<J> {
    fn lock(&self) -> MutexGuard<'_, Queue<J>> {
        self.queue.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn take(&self) -> Option<(Place, J, bool)> {
        let mut queue = self.lock();
        loop {
            if queue.stop || queue.waiting.is_empty() && queue.at_work == 0 {
                return None;
            }
            let first = queue.waiting.first_key_value().map(|(place, _)| *place);
            // The next answer is never held up: whoever waits for it would wait for ever.
            let may = first.is_some_and(|place| queue.bytes < MOST_WAITING || place == queue.next);
            if may && let Some((place, (job, last))) = queue.waiting.pop_first() {
                queue.at_work += 1;
                return Some((place, job, last));
            }
            queue = self.changed.wait(queue).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

/// Does the jobs on so many threads and gives on their answers in order, whatever the number of threads. `give` returns
/// false to stop. A job that panics is answered by `fell`.
pub(super) fn run<J: Send, A: Send>(
    jobs: Vec<J>,
    threads: usize,
    work: impl Fn(J) -> Done<J, A> + Sync,
    fell: impl Fn() -> A + Sync,
    mut give: impl FnMut(A, bool) -> bool,
) {
    let waiting = jobs
        .into_iter()
        .enumerate()
        .map(|(index, job)| ((index, 0), (job, true)));
    let shared = Shared {
        queue: Mutex::new(Queue {
            waiting: waiting.collect(),
            at_work: 0,
            next: (0, 0),
            bytes: 0,
            stop: false,
        }),
        changed: Condvar::new(),
    };
    let (send, receive) = sync_channel::<(Place, bool, A, usize)>(2 * threads);
    std::thread::scope(|scope| {
        for _ in 0..threads.max(1) {
            let (send, shared, work, fell) = (send.clone(), &shared, &work, &fell);
            scope.spawn(move || {
                while let Some((place, job, last)) = shared.take() {
                    let done = catch_unwind(AssertUnwindSafe(|| work(job)));
                    let mut queue = shared.lock();
                    queue.at_work -= 1;
                    let (answer, bytes) = match done {
                        Ok(Done::Split(pieces)) if !pieces.is_empty() => {
                            let count = pieces.len();
                            let pieces = pieces.into_iter().enumerate();
                            queue.waiting.extend(
                                pieces
                                    .map(|(n, job)| ((place.0, place.1 + n), (job, last && n + 1 == count))),
                            );
                            shared.changed.notify_all();
                            continue;
                        }
                        Ok(Done::Answer(answer, bytes)) => (answer, bytes),
                        Ok(Done::Split(_)) | Err(_) => (fell(), 0),
                    };
                    queue.bytes += bytes;
                    drop(queue);
                    shared.changed.notify_all();
                    if send.send((place, last, answer, bytes)).is_err() {
                        return;
                    }
                }
            });
        }
        drop(send);
        let mut early: BTreeMap<Place, (bool, A, usize)> = BTreeMap::new();
        let mut next = (0, 0);
        'answers: for (place, last, answer, bytes) in &receive {
            early.insert(place, (last, answer, bytes));
            while let Some((last, answer, bytes)) = early.remove(&next) {
                let go_on = give(answer, last);
                next = if last {
                    (next.0 + 1, 0)
                } else {
                    (next.0, next.1 + 1)
                };
                let mut queue = shared.lock();
                queue.next = next;
                queue.bytes = queue.bytes.saturating_sub(bytes);
                queue.stop |= !go_on;
                drop(queue);
                shared.changed.notify_all();
                if !go_on {
                    break 'answers;
                }
            }
        }
        // Whoever still wants to send finds nobody and goes home.
        drop(receive);
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Jobs 0 to 99; every seventh falls into three.
    fn done(threads: usize, stop_after: usize) -> Vec<(usize, usize)> {
        let mut given = Vec::new();
        run(
            (0..100).map(|n| (n, None)).collect(),
            threads,
            |(n, piece)| match piece {
                None if n % 7 == 0 => Done::Split((0..3).map(|piece| (n, Some(piece))).collect()),
                _ => {
                    // Later jobs are often done sooner.
                    std::thread::sleep(std::time::Duration::from_micros(((n * 37) % 11) as u64 * 20));
                    assert!(n != 13, "one job fails");
                    Done::Answer((n, piece.unwrap_or(0)), MOST_WAITING / 3)
                }
            },
            || (13, 99),
            |answer, _| {
                given.push(answer);
                given.len() < stop_after
            },
        );
        given
    }

    #[test]
    fn the_order_is_steady_whatever_the_number_of_threads() {
        let hook = std::panic::take_hook();
        std::panic::set_hook(Box::new(|_| {}));
        let expected: Vec<(usize, usize)> = (0..100)
            .flat_map(|n| match n {
                13 => vec![(13, 99)],
                n if n % 7 == 0 => (0..3).map(|piece| (n, piece)).collect(),
                n => vec![(n, 0)],
            })
            .collect();
        for threads in [1, 2, 3, 8] {
            assert_eq!(done(threads, usize::MAX), expected, "{threads} threads");
            assert_eq!(done(threads, 20), expected[..20], "{threads} threads, stopped");
        }
        std::panic::set_hook(hook);
    }
}

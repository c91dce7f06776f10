//! When is each bar met, and what is left if there isn't time? Slow readings of at most five minutes, page by page, within
//! the first third.

use super::asked::Work;
use crate::BarSpan;
use notation::BarIndex;
use std::collections::{BTreeSet, VecDeque};

/// The longest stretch of new material at a time, in seconds. Source: lib.msu.edu: at most five minutes.
pub const NEW_SECS: u32 = 300;
/// A slow reading takes so many times as long as playing it once: looked over, counted, played twice. Ours.
const TWICE: f64 = 3.0;
/// The same where time is short: a look, and once through.
const ONCE: f64 = 1.4;
/// Bars that are left together: a phrase half. Ours.
const LEFT_TOGETHER: u32 = 4;

/// A slow reading.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Reading {
    /// Which work.
    pub work: usize,
    /// Its bars.
    pub span: BarSpan,
    /// How long it takes.
    pub secs: u32,
}

/// Why bars are left.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum LeftWhy {
    /// They are earlier ones again.
    Returns,
    /// They ask least.
    Easy,
    /// Too little time for a turn of their own.
    FewTurns,
    /// The tempo can't be climbed to in time.
    Tempo,
}

impl LeftWhy {
    /// The name in JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Returns => "returns",
            Self::Easy => "easy",
            Self::FewTurns => "few-turns",
            Self::Tempo => "tempo",
        }
    }
}

/// Readings by sitting, the bars that are kept, work by work, and those that are left.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Readings {
    /// For each sitting of the time for meeting.
    pub by_sitting: Vec<Vec<Reading>>,
    /// For each work the runs of bars that are kept.
    pub kept: Vec<Vec<BarSpan>>,
    /// Runs of bars left, by work, and why.
    pub left: Vec<(usize, BarSpan, LeftWhy)>,
    /// There is only time to read each bar once.
    pub once: bool,
}

/// How much of the reading a sitting takes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Room {
    /// Sittings in which every bar is to be met.
    pub sittings: usize,
    /// Seconds of playing in each.
    pub secs: u32,
    /// The smallest step of time, in seconds.
    pub unit: u32,
}

/// Lays the readings out. `met` says which bars are known already.
pub(super) fn readings(works: &[Work], room: Room, met: impl Fn(usize, BarIndex) -> bool) -> Readings {
    let mut done = Readings {
        by_sitting: vec![Vec::new(); room.sittings],
        kept: works.iter().map(|work| work.spans.clone()).collect(),
        left: Vec::new(),
        once: false,
    };
    // A third of a sitting is new where that is enough; more, up to all of it but the warm-up, where it is not.
    for (share, times) in [
        (0.34, TWICE),
        (0.5, TWICE),
        (0.75, TWICE),
        (1.0, TWICE),
        (1.0, ONCE),
    ] {
        let most = steps(f64::from(room.secs) * share, room.unit);
        done.once = times < TWICE;
        if let Ok(by_sitting) = lay_out(works, &done.kept, room, (most, times), &met) {
            done.by_sitting = by_sitting;
            return done;
        }
    }
    leave_some(works, room, &met, &mut done);
    done
}

/// Whole steps of time in some seconds; at least one.
fn steps(secs: f64, unit: u32) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped just before"
    )]
    let whole = (secs / f64::from(unit)).clamp(1.0, 1e6) as u32;
    whole * unit
}

/// Least important last: groups of bars are given up, returning ones first, then the easy ones, until the rest fits.
fn leave_some(works: &[Work], room: Room, met: &impl Fn(usize, BarIndex) -> bool, done: &mut Readings) {
    let mut groups = groups(works, met);
    groups.sort_by(|a, b| {
        (a.why, a.asks)
            .partial_cmp(&(b.why, b.asks))
            .unwrap_or(std::cmp::Ordering::Equal)
            .then((b.work, b.span).cmp(&(a.work, a.span)))
    });
    let most = steps(f64::from(room.secs), room.unit);
    // How many must go is found by halving: laying out is cheap, and what goes never fits worse.
    let (mut fits, mut too_many_kept) = (groups.len(), 0);
    let try_leaving = |count: usize| {
        let gone = groups.get(..count).unwrap_or_default();
        let kept = without(works, gone);
        lay_out(works, &kept, room, (most, ONCE), met).map(|by_sitting| (by_sitting, kept))
    };
    while too_many_kept + 1 < fits {
        let middle = usize::midpoint(fits, too_many_kept);
        if try_leaving(middle).is_ok() {
            fits = middle;
        } else {
            too_many_kept = middle;
        }
    }
    // The hardest group is always kept, however little of it is read.
    let count = fits.min(groups.len().saturating_sub(1));
    done.by_sitting = match try_leaving(count) {
        Ok((by_sitting, _)) | Err(by_sitting) => by_sitting,
    };
    let read: BTreeSet<(usize, BarIndex)> = done
        .by_sitting
        .iter()
        .flatten()
        .flat_map(|reading| bars_of(reading.span).map(|bar| (reading.work, bar)))
        .collect();
    for (number, work) in works.iter().enumerate() {
        let known =
            |bar: BarIndex| work.notes_in(bar) == 0 || met(number, bar) || read.contains(&(number, bar));
        let same: BTreeSet<BarIndex> = work.same.iter().map(|(bar, _)| *bar).collect();
        let mut kept: Vec<BarSpan> = Vec::new();
        for span in &work.spans {
            let mut open = false;
            let mut leaving: Option<(BarSpan, LeftWhy)> = None;
            for bar in bars_of(*span) {
                if known(bar) {
                    match kept.last_mut().filter(|_| open) {
                        Some(run) => run.to = bar,
                        None => kept.push(BarSpan::new(bar, bar)),
                    }
                    // Bars of rest between bars that are left belong to neither.
                    if work.notes_in(bar) > 0 {
                        done.left
                            .extend(leaving.take().map(|(run, why)| (number, run, why)));
                    }
                    open = true;
                    continue;
                }
                open = false;
                let why = if same.contains(&bar) {
                    LeftWhy::Returns
                } else {
                    LeftWhy::Easy
                };
                match &mut leaving {
                    Some((run, of)) if *of == why => run.to = bar,
                    other => {
                        done.left
                            .extend(other.take().map(|(run, why)| (number, run, why)));
                        *other = Some((BarSpan::new(bar, bar), why));
                    }
                }
            }
            done.left.extend(leaving.map(|(run, why)| (number, run, why)));
        }
        // Runs of nothing but rests are no work.
        kept.retain(|run| bars_of(*run).any(|bar| work.notes_in(bar) > 0));
        if let Some(own) = done.kept.get_mut(number) {
            *own = kept;
        }
    }
}

fn bars_of(span: BarSpan) -> impl Iterator<Item = BarIndex> {
    (span.from.0..=span.to.0).map(BarIndex)
}

struct Group {
    work: usize,
    span: BarSpan,
    why: LeftWhy,
    asks: f64,
}

fn groups(works: &[Work], met: &impl Fn(usize, BarIndex) -> bool) -> Vec<Group> {
    let mut all = Vec::new();
    for (number, work) in works.iter().enumerate() {
        let same: BTreeSet<BarIndex> = work.same.iter().map(|(bar, _)| *bar).collect();
        for span in &work.spans {
            let mut from = span.from.0;
            while from <= span.to.0 {
                let to = (from + LEFT_TOGETHER - 1).min(span.to.0);
                let group = BarSpan::new(BarIndex(from), BarIndex(to));
                let bars = || bars_of(group);
                from = to + 1;
                if bars().all(|bar| work.notes_in(bar) == 0 || met(number, bar)) {
                    continue;
                }
                let returns = bars().all(|bar| same.contains(&bar) || work.notes_in(bar) == 0);
                all.push(Group {
                    work: number,
                    span: group,
                    why: if returns { LeftWhy::Returns } else { LeftWhy::Easy },
                    asks: bars().map(|bar| work.asks_of(bar)).fold(0.0, f64::max),
                });
            }
        }
    }
    all
}

/// The spans of the works less some groups.
fn without(works: &[Work], gone: &[Group]) -> Vec<Vec<BarSpan>> {
    let left: BTreeSet<(usize, u32)> = gone
        .iter()
        .flat_map(|group| (group.span.from.0..=group.span.to.0).map(|bar| (group.work, bar)))
        .collect();
    works
        .iter()
        .enumerate()
        .map(|(number, work)| {
            let mut runs: Vec<BarSpan> = Vec::new();
            for span in &work.spans {
                let mut open = false;
                for bar in span.from.0..=span.to.0 {
                    if left.contains(&(number, bar)) {
                        open = false;
                        continue;
                    }
                    match runs.last_mut().filter(|_| open) {
                        Some(run) => run.to = BarIndex(bar),
                        None => runs.push(BarSpan::new(BarIndex(bar), BarIndex(bar))),
                    }
                    open = true;
                }
            }
            runs
        })
        .collect()
}

/// Readings in page order, work by work in turn. Where they don't fit, what did is in the error.
fn lay_out(
    works: &[Work],
    kept: &[Vec<BarSpan>],
    room: Room,
    (most, times): (u32, f64),
    met: &impl Fn(usize, BarIndex) -> bool,
) -> Result<Vec<Vec<Reading>>, Vec<Vec<Reading>>> {
    let mut queues: Vec<Bars> = works
        .iter()
        .zip(kept)
        .enumerate()
        .map(|(number, (work, runs))| Bars::of(number, work, runs, times, met))
        .collect();
    let mut by_sitting = vec![Vec::new(); room.sittings];
    let mut turn = 0;
    for sitting in &mut by_sitting {
        let mut free = most;
        loop {
            // Between two readings something else is done.
            free = free.saturating_sub(if sitting.is_empty() { 0 } else { room.unit });
            if free < room.unit {
                break;
            }
            let Some(at) = (0..queues.len())
                .map(|step| (turn + step) % queues.len())
                .find(|at| queues.get(*at).is_some_and(|queue| !queue.is_done()))
            else {
                return Ok(by_sitting);
            };
            let Some(reading) = queues
                .get_mut(at)
                .and_then(|queue| queue.take(free.min(NEW_SECS), room.unit))
            else {
                break;
            };
            free = free.saturating_sub(reading.secs);
            sitting.push(reading);
            turn = at + 1;
        }
    }
    if queues.iter().all(Bars::is_done) {
        Ok(by_sitting)
    } else {
        Err(by_sitting)
    }
}

/// The bars of a work that are still to be met.
struct Bars<'a> {
    number: usize,
    work: &'a Work,
    /// Each bar with the seconds that its slow reading takes, and whether a run begins with it.
    queue: VecDeque<(BarIndex, f64, bool)>,
}

impl<'a> Bars<'a> {
    fn of(
        number: usize,
        work: &'a Work,
        runs: &[BarSpan],
        times: f64,
        met: &impl Fn(usize, BarIndex) -> bool,
    ) -> Self {
        let speed = work.first_speed();
        let sounds = |bar: &BarIndex| work.notes_in(*bar) > 0;
        let mut queue = VecDeque::new();
        for run in runs {
            let bars: Vec<BarIndex> = bars_of(*run).collect();
            for new in bars.split(|bar| sounds(bar) && met(number, *bar)) {
                // Rests at either end are no reading.
                let (Some(from), Some(to)) = (new.iter().position(sounds), new.iter().rposition(sounds))
                else {
                    continue;
                };
                for (at, bar) in new.iter().enumerate().take(to + 1).skip(from) {
                    let once = work.secs(BarSpan::new(*bar, *bar), speed);
                    let secs = if sounds(bar) { once * times } else { 0.0 };
                    queue.push_back((*bar, secs, at == from));
                }
            }
        }
        Self { number, work, queue }
    }

    fn is_done(&self) -> bool {
        self.queue.is_empty()
    }

    /// The next reading of at most so many seconds; of one bar at least, in what time there is.
    fn take(&mut self, most: u32, unit: u32) -> Option<Reading> {
        let (from, _, _) = *self.queue.front()?;
        let mut secs = 0.0;
        let mut to = from;
        let mut count = 0;
        for (at, (bar, more, begins)) in self.queue.iter().enumerate() {
            let full = secs + more > f64::from(most) && at > 0;
            // A phrase is not begun where most of the time is gone.
            let phrase = secs > f64::from(most) * 0.7 && self.work.phrase_starts.contains(bar);
            if at > 0 && (full || *begins || phrase) {
                break;
            }
            secs += more;
            (to, count) = (*bar, at + 1);
        }
        self.queue.drain(..count);
        let whole = steps(
            (secs.min(f64::from(most)) / f64::from(unit)).ceil() * f64::from(unit),
            unit,
        );
        Some(Reading {
            work: self.number,
            span: BarSpan::new(from, to),
            secs: whole.min(most),
        })
    }
}

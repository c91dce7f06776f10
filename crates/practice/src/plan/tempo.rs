//! How fast is a passage practised on a day? Rungs of the work's own ladder, spread over the sittings of the climb and moved by
//! what was logged.

use super::asked::{Work, speed};
use super::history::{Next, Progress};
use crate::BarSpan;
use load::ladder::{Climb, Rung, Scheme, ladder};

/// Most repetitions in one turn. Source: lib.msu.edu: at most six.
pub const MOST_TIMES: u8 = 6;
/// How much faster the climb may be from one sitting to the next: a quarter. Ours.
const FASTER: f64 = 1.25;
/// The part of the goal tempo that a first lesson needs. Ours.
const FOR_A_LESSON: f64 = 0.75;
/// A repetition takes so many times as long as the music: breath, thought, counting in. Ours.
const WITH_THOUGHT: f64 = 1.5;

/// The climb of one work over its sittings.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct WorkClimb {
    /// Indices of the rungs that turns begin on.
    starts: Vec<usize>,
    /// For each sitting of the climb the start, as an index into `starts`.
    targets: Vec<usize>,
    /// The last start that is wanted.
    last: usize,
}

impl WorkClimb {
    /// Over so many sittings.
    pub(super) fn of(work: &Work, sittings: usize, for_a_lesson: bool) -> Self {
        let rungs = work.rungs();
        let single = |at: usize| rungs.get(at).is_some_and(|rung| rung.times.0 <= 1);
        let starts: Vec<usize> = (0..rungs.len()).filter(|at| *at == 0 || !single(*at)).collect();
        let speeds: Vec<f64> = starts.iter().filter_map(|at| rungs.get(*at)).map(speed).collect();
        let slower_than = |most: f64| speeds.iter().rposition(|speed| *speed <= most);
        let last = if for_a_lesson {
            slower_than(work.goal_speed() * FOR_A_LESSON).unwrap_or(0)
        } else {
            starts.len().saturating_sub(1)
        };
        let mut allowed = work.first_speed();
        let mut targets = Vec::with_capacity(sittings);
        for sitting in 1..=sittings {
            allowed *= FASTER;
            let even = (last * sitting).div_ceil(sittings.max(1));
            targets.push(even.min(slower_than(allowed).unwrap_or(0)));
        }
        Self {
            starts,
            targets,
            last,
        }
    }

    fn rung(&self, rungs: &[Rung], start: usize) -> Option<Rung> {
        self.starts.get(start).and_then(|at| rungs.get(*at)).copied()
    }

    /// The start of a sitting of the climb.
    pub(super) fn target(&self, sitting: usize) -> usize {
        self.targets
            .get(sitting)
            .or(self.targets.last())
            .copied()
            .unwrap_or(0)
    }

    /// The tempo at the end of the climb if it is not the wanted one: there were too few sittings.
    pub(super) fn falls_short(&self, work: &Work) -> Option<Rung> {
        let reached = self.targets.last().copied().unwrap_or(0);
        if reached >= self.last {
            return None;
        }
        self.turn(work, reached).last().copied()
    }

    /// Where a passage goes on by its log; `None` if the log says nothing of its tempo.
    pub(super) fn after(&self, work: &Work, progress: &Progress) -> Option<usize> {
        let rungs = work.rungs();
        let at = |start: usize| self.rung(rungs, start).map_or(0.0, |rung| speed(&rung));
        let last = progress.visits.last()?.speed?;
        let nearest = (0..self.starts.len()).min_by(|a, b| {
            (at(*a) - last)
                .abs()
                .total_cmp(&(at(*b) - last).abs())
                .then(a.cmp(b))
        })?;
        Some(match progress.next() {
            Next::AsPlanned => return None,
            Next::On => {
                let reached = progress.reached.unwrap_or(last) * 1.01;
                (0..self.starts.len())
                    .find(|start| at(*start) > reached)
                    .unwrap_or(self.last)
            }
            Next::Again => nearest,
            Next::Back => nearest.saturating_sub(2),
        })
    }

    /// The rungs of one turn that begins on a start: up to six times in all.
    pub(super) fn turn(&self, work: &Work, start: usize) -> Vec<Rung> {
        let rungs = work.rungs();
        let Some(at) = self.starts.get(start.min(self.starts.len().saturating_sub(1))) else {
            return Vec::new();
        };
        let mut left = MOST_TIMES;
        let mut turn = Vec::new();
        for (index, rung) in rungs.iter().enumerate().skip(*at) {
            // After the first its faster try; a further start is another turn.
            if index > *at && rung.times.0 > 1 {
                break;
            }
            let times = rung.times.0.min(left);
            if times == 0 {
                break;
            }
            left -= times;
            turn.push(Rung {
                times: (times, times),
                ..*rung
            });
        }
        turn
    }

    /// The last start that is wanted.
    pub(super) const fn last(&self) -> usize {
        self.last
    }
}

/// The one rung of the first reading.
pub(super) fn first_rung(work: &Work) -> Vec<Rung> {
    let Some((beat, bpm)) = work.first else {
        return Vec::new();
    };
    let climb = Climb::on(beat, f64::from(bpm), f64::from(bpm));
    // A beat slower than the metronome goes is climbed to in smaller notes: only the first counts here.
    ladder(&climb, Scheme::Straight)
        .rungs
        .into_iter()
        .take(1)
        .collect()
}

/// What keeps a tempo that stands: three times at half, once at the whole.
/// Source: maintenance at three to one (common practice), [`Scheme::SlowAndFull`].
pub(super) fn keeping(work: &Work) -> Vec<Rung> {
    let Some(goal) = work.rungs().last() else {
        return first_rung(work);
    };
    let climb = Climb::on(goal.beat, f64::from(goal.bpm) / 2.0, f64::from(goal.bpm));
    ladder(&climb, Scheme::SlowAndFull).rungs
}

/// How often some rungs fit into a turn: fewer of the slow ones where the passage is long.
pub(super) fn fitted(work: &Work, span: BarSpan, rungs: &[Rung], secs: u32) -> Vec<Rung> {
    let took = |rung: &Rung| work.secs(span, speed(rung)) * WITH_THOUGHT;
    let mut fitted: Vec<Rung> = rungs.to_vec();
    loop {
        let whole: f64 = fitted
            .iter()
            .map(|rung| took(rung) * f64::from(rung.times.0))
            .sum();
        let Some(most) = fitted.iter_mut().rev().max_by_key(|rung| rung.times.0) else {
            return fitted;
        };
        if whole <= f64::from(secs) || most.times.0 <= 1 {
            break;
        }
        most.times = (most.times.0 - 1, most.times.0 - 1);
    }
    // Not even once each: the slower one alone.
    let whole: f64 = fitted.iter().map(took).sum();
    if fitted.len() > 1 && whole > f64::from(secs) {
        fitted.truncate(1);
    }
    fitted
}

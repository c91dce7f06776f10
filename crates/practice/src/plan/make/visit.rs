//! What is done on a visit to a passage? By a drill, up the ladder, or kept; and when it comes again.

use super::Maker;
use super::day::Today;
use super::{TURN, owned, plain};
use crate::plan::asked::{Date, Occasion};
use crate::plan::calendar::Stage;
use crate::plan::history::{Next, Progress};
use crate::plan::passages::PassageKind;
use crate::plan::tempo::{first_rung, fitted, keeping};
use crate::plan::turn::{Turn, TurnKind};
use crate::plan::words;
use load::ladder::Rung;
use rs_fsrs::Rating;

/// Days after which something has not been touched lately.
const LATELY: i64 = 7;
/// Visits on which a hard spot is still expected to feel hard.
const HARD_VISITS: usize = 2;

impl Maker<'_> {
    /// A turn on a passage; its next day is set.
    pub(super) fn visit(&mut self, index: usize, visit: usize, today: &Today, secs: u32) -> Turn {
        let mut turn = plain(TurnKind::Climb, secs, visit);
        let Some((passage, work)) = self
            .passages
            .get(index)
            .cloned()
            .and_then(|passage| self.work(passage.work).map(|work| (passage, work)))
        else {
            return turn;
        };
        let fresh = self.memory.get(index).map_or(0, |memory| memory.days);
        let logged = self
            .progress
            .get(index)
            .map_or(0, |progress| progress.visits.len());
        let first_since_log = visit == 0
            && logged > 0
            && self.memory.get(index).and_then(|memory| memory.last)
                == self.progress.get(index).and_then(Progress::last);
        let stuck = self.progress.get(index).is_some_and(|progress| progress.stuck);
        let slowly = today.stage == Stage::DayBefore;
        let (rungs, kept) = self.rungs(index, today, slowly, first_since_log);
        if kept {
            turn = plain(TurnKind::Keep, secs, visit);
        }
        let by_drill = match passage.kind {
            PassageKind::Spot(_) => {
                visit == 0 && (fresh.is_multiple_of(2) || secs < TURN || today.stage == Stage::Meet || stuck)
            }
            PassageKind::Pair(_) => false,
            PassageKind::Section => stuck && first_since_log,
        };
        turn.work = Some(passage.work);
        turn.bars = vec![passage.span];
        if let PassageKind::Pair(which) = passage.kind {
            turn.kind = TurnKind::LookAlikes;
            (turn.what, turn.stop) = owned(words::turn(TurnKind::LookAlikes, visit));
            turn.drill = Some(crate::drill::DrillKind::LookAlikes);
            if let Some(pair) = work.pairs.get(which) {
                turn.bars.insert(0, pair.one);
                turn.why.clone_from(&pair.differs);
            }
        } else if by_drill {
            let way = self.ways.next(index);
            turn.kind = TurnKind::Spot;
            turn.drill = Some(way.kind);
            (turn.what, turn.stop) = (way.what_for, way.when_to_stop);
        }
        let tempi = if by_drill || turn.kind == TurnKind::LookAlikes || slowly {
            rungs.first().copied().into_iter().collect()
        } else {
            rungs
        };
        turn.tempi = fitted(work, passage.span, &tempi, secs);
        if turn.tempi.len() < 2 && turn.kind == TurnKind::Climb {
            turn.what = if visit == 0 {
                "slowly enough that nothing goes wrong, on into the next downbeat".to_owned()
            } else {
                words::turn(TurnKind::Climb, visit).0.to_owned()
            };
            turn.stop = words::turn(TurnKind::Spot, 0).1.to_owned();
        }
        if first_since_log && turn.kind != TurnKind::LookAlikes {
            turn.why = self.since_log(index, today.date).unwrap_or(turn.why);
        }
        let hard = matches!(passage.kind, PassageKind::Spot(_)) && fresh < HARD_VISITS;
        if let Some(memory) = self.memory.get_mut(index) {
            let rating = if hard { Rating::Hard } else { Rating::Good };
            self.scheduler.visit(memory, today.date, rating);
        }
        turn
    }

    /// The rungs of a passage on a day, and whether its tempo stands and is only kept.
    pub(super) fn rungs(
        &mut self,
        index: usize,
        today: &Today,
        slowly: bool,
        first_since_log: bool,
    ) -> (Vec<Rung>, bool) {
        let Some(passage) = self.passages.get(index) else {
            return (Vec::new(), false);
        };
        let number = passage.work;
        let (Some(work), Some(climb)) = (self.work(number), self.climbs.get(number)) else {
            return (Vec::new(), false);
        };
        if work.rungs().is_empty() {
            return (first_rung(work), true);
        }
        let target = match today.stage {
            Stage::Meet => 0,
            Stage::Climb => climb.target(self.climb_number(today)),
            Stage::Settle | Stage::DayBefore => climb.target(usize::MAX),
        };
        let place = self.place.get(index).copied().flatten();
        let start = place.unwrap_or(target);
        let done = today.stage >= Stage::Settle
            && start >= climb.last()
            && self.asked.occasion != Occasion::FirstLesson;
        let rungs = if slowly || done {
            keeping(work)
        } else {
            climb.turn(work, start)
        };
        // What was logged is caught up with by and by, two rungs a visit.
        if let Some(at) = place
            && !first_since_log
            && let Some(own) = self.place.get_mut(index)
        {
            *own = if at < target {
                Some((at + 2).min(target))
            } else {
                Some(at)
            };
        }
        (rungs, slowly || done)
    }

    /// Why a passage comes as it does, from its log.
    pub(super) fn since_log(&self, index: usize, date: Date) -> Option<String> {
        let progress = self.progress.get(index)?;
        let last = progress.last()?;
        let when = last.format("%-d %b");
        if progress.stuck {
            return Some("no faster for three visits: another way in".to_owned());
        }
        if (date - last).num_days() > LATELY {
            return Some(format!("not touched since {when}"));
        }
        match progress.next() {
            Next::On => Some(format!("clean on {when}: a rung on")),
            Next::Again => Some(format!("not yet clean on {when}")),
            Next::Back => Some(format!("stuck on {when}: two rungs back")),
            Next::AsPlanned => None,
        }
    }
}

//! What is in each sitting? Days are gone through in order; each takes what is due, as much as fits.

mod choose;
mod day;
mod read;
mod silent;
mod through;
mod visit;

use crate::BarSpan;
use crate::plan::asked::{Asked, Occasion, Work};
use crate::plan::calendar::{Calendar, Stage};
use crate::plan::compose::{composed, floor_to};
use crate::plan::history::Progress;
use crate::plan::order::Draft;
use crate::plan::passages::{Passage, PassageKind, chains, passages};
use crate::plan::reading::{Readings, Room, readings};
use crate::plan::review::{Memory, Scheduler};
use crate::plan::tempo::WorkClimb;
use crate::plan::turn::{Sitting, Turn, TurnKind};
use crate::plan::ways::Ways;
use crate::plan::words;
use day::{Today, playing, reading_room, unit};
use notation::BarIndex;
use std::collections::BTreeSet;

/// The usual turn. Source: Carter & Grahn 2016: three minutes.
const TURN: u32 = 180;

/// Goes through the days.
pub(super) struct Maker<'a> {
    asked: &'a Asked,
    calendar: &'a Calendar,
    /// The first sitting that is still to come.
    first: usize,
    /// Every bar is met before this sitting: the climb begins.
    met_at: usize,
    scheduler: Scheduler,
    /// What is kept and left.
    pub readings: Readings,
    /// The passages of all works.
    pub passages: Vec<Passage>,
    /// How well each is kept.
    pub memory: Vec<Memory>,
    /// What the log says of each.
    pub progress: Vec<Progress>,
    /// Where each goes on by its log.
    place: Vec<Option<usize>>,
    ways: Ways,
    /// The climb of each work.
    pub climbs: Vec<WorkClimb>,
    chains: Vec<(usize, BarSpan)>,
    chain_next: usize,
    /// For each work where the next run-through begins.
    run_from: Vec<u32>,
    run_next: usize,
    met: Vec<BTreeSet<BarIndex>>,
    /// Passages and chains whose bars are all met; what is met stays so.
    ready: Vec<bool>,
    ready_chains: Vec<bool>,
}

impl<'a> Maker<'a> {
    pub(super) fn new(asked: &'a Asked, calendar: &'a Calendar) -> Self {
        let first = calendar.sittings.partition_point(|day| *day < asked.today);
        let met: Vec<BTreeSet<BarIndex>> = (0..asked.works.len())
            .map(|work| {
                let own = asked.log.iter().filter(|(of, _)| *of == work);
                own.flat_map(|(_, entry)| (entry.span.from.0..=entry.span.to.0).map(BarIndex))
                    .collect()
            })
            .collect();
        let left = calendar.sittings.len() - first;
        // Past the first third there is still a first third of what remains.
        let meet = if calendar.meet > first {
            calendar.meet - first
        } else {
            (left / 3).max(1).min(left)
        };
        let total = asked.minutes.saturating_mul(60);
        let room = Room {
            sittings: meet,
            secs: reading_room(total, asked.brass()),
            unit: unit(total, asked.brass()),
        };
        let known = |work: usize, bar: BarIndex| met.get(work).is_some_and(|met| met.contains(&bar));
        let readings = readings(&asked.works, room, known);
        let kept = |work: usize| readings.kept.get(work).map_or(&[][..], Vec::as_slice);
        let all: Vec<Passage> = asked
            .works
            .iter()
            .enumerate()
            .flat_map(|(number, work)| passages(number, work, kept(number)))
            .collect();
        let met_at = match readings
            .by_sitting
            .iter()
            .rposition(|sitting| !sitting.is_empty())
        {
            Some(last) => first + last + 1,
            // All is met: the climb began at the end of the first third, or begins now.
            None => calendar.meet.min(first),
        };
        let climbing = calendar
            .goal_at
            .map_or(0, |goal| (goal + 1).saturating_sub(met_at));
        let for_a_lesson = asked.occasion == Occasion::FirstLesson;
        let climbs: Vec<WorkClimb> = asked
            .works
            .iter()
            .map(|work| WorkClimb::of(work, climbing, for_a_lesson))
            .collect();
        let scheduler = Scheduler::default();
        let mut memory = vec![Memory::default(); all.len()];
        let progress: Vec<Progress> = all
            .iter()
            .map(|passage| {
                let goal = asked.works.get(passage.work).map_or(0.0, Work::goal_speed);
                Progress::of(&asked.log, passage.work, passage.span, goal)
            })
            .collect();
        for (memory, progress) in memory.iter_mut().zip(&progress) {
            scheduler.replay(memory, &progress.visits);
        }
        let place = all
            .iter()
            .zip(&progress)
            .map(|(passage, progress)| {
                let work = asked.works.get(passage.work)?;
                climbs.get(passage.work)?.after(work, progress)
            })
            .collect();
        let ways = Ways::of(&asked.works, &all, &progress);
        let chains = (0..asked.works.len())
            .flat_map(|number| {
                let work = asked.works.get(number);
                let steps = work.map(|work| chains(work, kept(number))).unwrap_or_default();
                steps.into_iter().map(move |span| (number, span))
            })
            .collect();
        let ready = vec![false; all.len()];
        let mut maker = Self {
            ready,
            ready_chains: Vec::new(),
            asked,
            calendar,
            first,
            met_at,
            scheduler,
            passages: all,
            memory,
            progress,
            place,
            ways,
            climbs,
            chains,
            chain_next: 0,
            run_from: vec![0; asked.works.len()],
            run_next: 0,
            met,
            readings,
        };
        maker.ready_chains = vec![false; maker.chains.len()];
        maker.look_what_is_met();
        maker
    }

    /// Marks passages and chains of which every bar is met by now.
    fn look_what_is_met(&mut self) {
        let newly = |ready: &[bool], is_met: &dyn Fn(usize) -> bool| -> Vec<usize> {
            let waiting = ready.iter().enumerate().filter(|(_, ready)| !**ready);
            waiting.map(|(at, _)| at).filter(|at| is_met(*at)).collect()
        };
        let passages = newly(&self.ready, &|at| {
            self.passages.get(at).is_some_and(|one| self.is_met(one))
        });
        let chains = newly(&self.ready_chains, &|at| {
            self.chains
                .get(at)
                .is_some_and(|(work, span)| self.bars_met(*work, *span))
        });
        for at in passages {
            if let Some(ready) = self.ready.get_mut(at) {
                *ready = true;
            }
        }
        for at in chains {
            if let Some(ready) = self.ready_chains.get_mut(at) {
                *ready = true;
            }
        }
    }

    fn bars_met(&self, number: usize, span: BarSpan) -> bool {
        let (Some(work), Some(met)) = (self.work(number), self.met.get(number)) else {
            return false;
        };
        (span.from.0..=span.to.0)
            .map(BarIndex)
            .all(|bar| work.notes_in(bar) == 0 || met.contains(&bar))
    }

    /// All sittings from today on.
    pub(super) fn sittings(&mut self) -> Vec<Sitting> {
        (self.first..self.calendar.sittings.len())
            .filter_map(|number| self.sitting(number))
            .collect()
    }

    fn sitting(&mut self, number: usize) -> Option<Sitting> {
        let date = *self.calendar.sittings.get(number)?;
        let stage = self.calendar.stage(number, self.met_at);
        let brass = self.asked.brass();
        let whole = self.asked.minutes.saturating_mul(60);
        let unit = unit(whole, brass);
        let total = if stage == Stage::DayBefore {
            floor_to(whole / 2, unit).max(unit.min(whole))
        } else {
            whole
        };
        let mut today = Today {
            number,
            date,
            stage,
            total,
            unit,
            brass,
            left: playing(total, brass),
            head: Vec::new(),
            main: Vec::new(),
            fillers: Vec::new(),
            tail: Vec::new(),
        };
        self.warm_up(&mut today);
        self.read(&mut today);
        self.through(&mut today);
        self.fillers(&mut today);
        self.practise(&mut today);
        if today.head.is_empty() && today.main.is_empty() && today.fillers.is_empty() && today.tail.is_empty()
        {
            // Half a minute on brass, the day before: nothing is played.
            let mut turn = plain(TurnKind::Mental, unit.min(total), 0);
            if let Some((work, span)) = self.thought_of(&today) {
                (turn.work, turn.bars) = (Some(work), vec![span]);
            }
            today.main.push(free(turn));
        }
        let turns = composed(
            today.head,
            today.main,
            today.fillers,
            today.tail,
            brass,
            total,
            unit,
        );
        Some(Sitting {
            date,
            number,
            stage,
            turns,
        })
    }

    fn work(&self, number: usize) -> Option<&'a Work> {
        self.asked.works.get(number)
    }

    /// Which sitting of the climb it is.
    fn climb_number(&self, today: &Today) -> usize {
        today.number.saturating_sub(self.met_at)
    }

    fn is_met(&self, passage: &Passage) -> bool {
        let pair = match passage.kind {
            PassageKind::Pair(which) => self.work(passage.work).and_then(|work| work.pairs.get(which)),
            _ => None,
        };
        self.bars_met(passage.work, passage.span)
            && pair.is_none_or(|pair| self.bars_met(passage.work, pair.one))
    }
}

fn owned((what, stop): (&str, &str)) -> (String, String) {
    (what.to_owned(), stop.to_owned())
}

/// A turn with the usual words.
pub(in crate::plan) fn plain(kind: TurnKind, secs: u32, visit: usize) -> Turn {
    let (what, stop) = owned(words::turn(kind, visit));
    Turn {
        kind,
        work: None,
        about: String::new(),
        bars: Vec::new(),
        tempi: Vec::new(),
        secs,
        what,
        stop,
        drill: None,
        why: String::new(),
    }
}

/// A draft about no passage.
pub(in crate::plan) const fn free(turn: Turn) -> Draft {
    Draft { turn, passage: None }
}

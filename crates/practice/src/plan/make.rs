//! What is in each sitting? Days are gone through in order; each takes what is due, as much as fits.

use super::asked::{Asked, Date, Occasion, Work};
use super::calendar::{Calendar, Stage};
use super::compose::{composed, floor_to};
use super::history::{Next, Progress};
use super::order::{Draft, rests};
use super::passages::{Passage, PassageKind, chains, passages};
use super::reading::{Reading, Readings, Room, readings};
use super::review::{Memory, Scheduler};
use super::tempo::{WorkClimb, first_rung, fitted, keeping};
use super::turn::{Sitting, Turn, TurnKind};
use super::ways::Ways;
use super::{ASKED_FOR, asked, words};
use crate::BarSpan;
use load::ladder::Rung;
use notation::BarIndex;
use rs_fsrs::Rating;
use std::collections::BTreeSet;

/// The usual turn. Source: Carter & Grahn 2016: three minutes.
const TURN: u32 = 180;
/// The longest turn on one thing but a run-through. As for new material.
const LONG_TURN: u32 = 300;
/// Days after which something has not been touched lately.
const LATELY: i64 = 7;
/// Days by which what went wrong goes before what has only waited.
const FIRST: i64 = 10_000;
/// Visits on which a hard spot is still expected to feel hard.
const HARD_VISITS: usize = 2;

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

    /// Warm-up; and in the very first sitting a look through the page.
    fn warm_up(&self, today: &mut Today) {
        let secs = warm_up_secs(today.total, today.brass);
        if secs > 0 {
            let scales: Vec<(usize, &(String, String))> = self
                .asked
                .works
                .iter()
                .enumerate()
                .flat_map(|(number, work)| work.scales.iter().map(move |scale| (number, scale)))
                .collect();
            let scale = scales.get(today.number % scales.len().max(1));
            let mut turn = plain(TurnKind::WarmUp, secs, 0);
            if let Some((number, (name, why))) = scale {
                // What a call asks for belongs to no piece.
                turn.work = Some(*number).filter(|_| why != ASKED_FOR);
                turn.about.clone_from(name);
                turn.what = format!(
                    "long tones, softly; then the {name}, slurred and tongued, even from note to note"
                );
                turn.why.clone_from(why);
            }
            today.take(TurnKind::WarmUp, secs);
            today.head.push(free(turn));
        }
        let look = look_secs(today.total);
        if today.number == 0 && look > 0 && self.log_is_empty() {
            today.take(TurnKind::Look, look);
            today.head.push(free(plain(TurnKind::Look, look, 0)));
        }
    }

    fn log_is_empty(&self) -> bool {
        self.asked.log.is_empty()
    }

    /// What is new today.
    fn read(&mut self, today: &mut Today) {
        let at = today.number - self.first;
        let new: Vec<Reading> = self.readings.by_sitting.get(at).cloned().unwrap_or_default();
        for reading in new {
            let Some(work) = self.work(reading.work) else {
                continue;
            };
            let mut turn = plain(TurnKind::Read, reading.secs, 0);
            turn.work = Some(reading.work);
            turn.bars = vec![reading.span];
            if self.readings.once {
                turn.what = "look it over, count a bar, then play it slowly without stopping, on into the next downbeat; mark what surprised you".to_owned();
                turn.stop = "at its end, right or not".to_owned();
            }
            turn.tempi = first_rung(work);
            for rung in &mut turn.tempi {
                rung.times = if self.readings.once { (1, 1) } else { (2, 2) };
            }
            today.take(TurnKind::Read, reading.secs);
            today.main.push(free(turn));
            if let Some(met) = self.met.get_mut(reading.work) {
                met.extend((reading.span.from.0..=reading.span.to.0).map(BarIndex));
            }
        }
        self.look_what_is_met();
    }

    /// Mock performances and run-throughs.
    fn through(&mut self, today: &mut Today) {
        let mock = self.calendar.mocks.contains(&today.number);
        let since = today.number.saturating_sub(self.met_at);
        let run = match today.stage {
            Stage::Meet | Stage::DayBefore => false,
            Stage::Climb => since % 3 == 2,
            Stage::Settle => since % 2 == 1 && !self.calendar.mocks.contains(&(today.number + 1)),
        };
        if mock {
            let mut most = today.left;
            for number in 0..self.asked.works.len() {
                if let Some(turn) = self.run(TurnKind::Mock, number, today, most.min(super::order::WORK_SECS))
                {
                    most = most.saturating_sub(turn.secs);
                    today.take(TurnKind::Mock, turn.secs);
                    today.head.push(free(turn));
                }
            }
        } else if run {
            let number = self.run_next % self.asked.works.len().max(1);
            self.run_next += 1;
            let most = floor_to(today.left / 2, today.unit).min(super::order::WORK_SECS);
            if let Some(turn) = self.run(TurnKind::RunThrough, number, today, most) {
                today.take(TurnKind::RunThrough, turn.secs);
                today.tail.push(free(turn));
            }
        }
    }

    /// A work played through, or as much of it as fits, from where the last one ended.
    fn run(&mut self, kind: TurnKind, number: usize, today: &Today, most: u32) -> Option<Turn> {
        let work = self.work(number)?;
        // What is left unpractised is read at sight here.
        let kept = work.spans.clone();
        if most < today.unit {
            return None;
        }
        let rung = self.run_rung(number, today, kind)?;
        let pace = asked::speed(&rung);
        let whole: f64 = kept.iter().map(|span| work.secs_through(*span, pace)).sum();
        let overhead = if most > 120 { 30.0 } else { 0.0 };
        let fits = whole + overhead <= f64::from(most);
        let bars = if fits {
            if let Some(from) = self.run_from.get_mut(number) {
                *from = 0;
            }
            kept
        } else {
            vec![self.part(number, &kept, pace, f64::from(most) - overhead)?]
        };
        let secs = overhead
            + if fits {
                whole
            } else {
                bars.iter().map(|span| work.secs(*span, pace)).sum()
            };
        let mut turn = plain(kind, ceil_to(secs, today.unit).min(most), 0);
        turn.work = Some(number);
        turn.bars = bars;
        turn.tempi = vec![Rung {
            times: (1, 1),
            ..rung
        }];
        if work.from_memory && kind == TurnKind::Mock {
            turn.what.push_str("; from memory");
        }
        Some(turn)
    }

    /// The tempo of a run-through: what is in hand, and once the climb is over the goal.
    fn run_rung(&self, number: usize, today: &Today, kind: TurnKind) -> Option<Rung> {
        let work = self.work(number)?;
        let climb = self.climbs.get(number)?;
        let first = || first_rung(work).first().copied();
        match today.stage {
            Stage::Settle => climb
                .turn(work, climb.target(usize::MAX))
                .last()
                .copied()
                .or_else(first),
            Stage::Climb => {
                let turn = climb.turn(work, climb.target(self.climb_number(today)));
                // The slower tempo is in hand; a mock performance is played at the faster.
                let rung = if kind == TurnKind::Mock {
                    turn.last()
                } else {
                    turn.first()
                };
                rung.copied().or_else(first)
            }
            _ => first(),
        }
    }

    /// As many bars as fit, from where the last part ended.
    fn part(&mut self, number: usize, kept: &[BarSpan], pace: f64, secs: f64) -> Option<BarSpan> {
        let work = self.work(number)?;
        let from = self.run_from.get(number).copied().unwrap_or(0);
        let run = kept.iter().find(|run| run.to.0 >= from).or(kept.first())?;
        let begin = if run.to.0 >= from {
            run.from.0.max(from)
        } else {
            run.from.0
        };
        let mut end = begin;
        let mut took = 0.0;
        for bar in begin..=run.to.0 {
            took += work.secs(BarSpan::new(BarIndex(bar), BarIndex(bar)), pace);
            if took > secs && bar > begin {
                break;
            }
            end = bar;
        }
        if let Some(from) = self.run_from.get_mut(number) {
            *from = end + 1;
        }
        Some(BarSpan::new(BarIndex(begin), BarIndex(end)))
    }

    /// Which sitting of the climb it is.
    fn climb_number(&self, today: &Today) -> usize {
        today.number.saturating_sub(self.met_at)
    }

    /// Sight reading, mental practice, singing: where there is room, between the others.
    fn fillers(&self, today: &mut Today) {
        let eve = today.stage == Stage::DayBefore;
        let often = self.asked.occasion == Occasion::Audition || today.number.is_multiple_of(2);
        let longer = |short: u32, from: u32| if today.total >= from { short + 60 } else { short };
        let mut wanted = Vec::new();
        if today.total >= 1200 && often && !eve {
            wanted.push((TurnKind::SightReading, longer(120, 2400)));
        }
        if today.total >= 900 || eve && today.total >= 240 {
            wanted.push((TurnKind::Mental, longer(120, 2700)));
        }
        if today.total >= 1500 && !today.brass {
            wanted.push((TurnKind::Sing, 120));
        }
        for (kind, secs) in wanted {
            // The work itself comes first: a filler must leave room for two turns.
            if today.left < today.takes(kind, secs) + 2 * TURN && !eve {
                continue;
            }
            let mut turn = plain(kind, secs, 0);
            if eve && self.asked.occasion == Occasion::FirstLesson {
                turn = plain(TurnKind::Look, secs, 0);
                "with a pencil: mark what is unclear, and write down three questions for the lesson"
                    .clone_into(&mut turn.what);
                "after three".clone_into(&mut turn.stop);
            } else if kind != TurnKind::SightReading
                && let Some(spot) = self.thought_of(today)
            {
                turn.work = Some(spot.0);
                turn.bars = vec![spot.1];
            }
            today.take(kind, secs);
            today.fillers.push(free(turn));
        }
    }

    /// The bars to think through or sing: hard spots in turn, the whole on the day before.
    fn thought_of(&self, today: &Today) -> Option<(usize, BarSpan)> {
        let alone = |passage: &&Passage| !matches!(passage.kind, PassageKind::Pair(_));
        let ready = self.passages.iter().zip(&self.ready).filter(|(_, ready)| **ready);
        let known = ready.map(|(passage, _)| passage).filter(alone);
        let count = known.clone().count();
        let passage = known
            .clone()
            .nth((today.number + today.fillers.len()) % count.max(1))?;
        Some((passage.work, passage.span))
    }

    fn is_met(&self, passage: &Passage) -> bool {
        let pair = match passage.kind {
            PassageKind::Pair(which) => self.work(passage.work).and_then(|work| work.pairs.get(which)),
            _ => None,
        };
        self.bars_met(passage.work, passage.span)
            && pair.is_none_or(|pair| self.bars_met(passage.work, pair.one))
    }

    /// The turns on passages: what is due, each twice where there is room, with other things between.
    fn practise(&mut self, today: &mut Today) {
        let most = if today.stage == Stage::DayBefore {
            3
        } else {
            usize::MAX
        };
        let room = today.left;
        let mut slots = usize::try_from(room / TURN).unwrap_or(0).min(most);
        let single = slots == 0;
        if single && room >= today.unit {
            slots = 1;
        }
        let chained = (slots >= 4 && today.stage != Stage::Meet)
            .then(|| self.chain(today))
            .flatten();
        slots -= usize::from(chained.is_some());
        let chosen = self.chosen(slots, today.date);
        let count = u32::try_from(chosen.len() + usize::from(chained.is_some()))
            .unwrap_or(1)
            .max(1);
        // Time that is over goes to the turns, evenly, but none gets long.
        let each = if single {
            room
        } else {
            floor_to(room / count, today.unit).clamp(TURN, LONG_TURN)
        };
        for (passage, visit) in chosen {
            let turn = self.visit(passage, visit, today, each);
            today.take(turn.kind, each);
            today.main.push(Draft {
                turn,
                passage: Some(passage),
            });
        }
        if let Some(mut turn) = chained {
            turn.secs = each;
            today.take(turn.kind, each);
            today.main.push(free(turn));
        }
    }

    /// Passages for so many turns, with the number of the visit today.
    fn chosen(&mut self, slots: usize, date: Date) -> Vec<(usize, usize)> {
        let mut ranked: Vec<(i64, usize, f64, usize)> = self
            .passages
            .iter()
            .enumerate()
            .filter(|(index, _)| self.ready.get(*index).copied().unwrap_or(false))
            .map(|(index, passage)| {
                let due = self.memory.get(index).and_then(Memory::due).unwrap_or(date);
                let stuck = self.progress.get(index).is_some_and(|progress| progress.stuck);
                // What went wrong last comes before what has only waited.
                let waited = (date - due).num_days()
                    + if due <= date && self.went_wrong(index) {
                        FIRST
                    } else {
                        0
                    };
                let sort = match passage.kind {
                    PassageKind::Section if !stuck => 1,
                    PassageKind::Pair(_) => 2,
                    _ => 0,
                };
                (waited, sort, passage.asks, index)
            })
            .collect();
        ranked.sort_by(|a, b| b.0.cmp(&a.0).then(b.2.total_cmp(&a.2)).then(a.3.cmp(&b.3)));
        let due = ranked.iter().filter(|passage| passage.0 >= 0).count();
        let distinct = due
            .clamp(slots.div_ceil(2), slots.max(slots.div_ceil(2)))
            .min(ranked.len());
        let ranked = mixed(ranked, due);
        let first = ranked.iter().take(distinct).map(|passage| passage.3);
        let mut chosen: Vec<(usize, usize)> = first.map(|passage| (passage, 0)).collect();
        // A second visit of the same day comes after all the others.
        let again: Vec<(usize, usize)> = chosen
            .iter()
            .take(slots.saturating_sub(distinct))
            .map(|(passage, _)| (*passage, 1))
            .collect();
        chosen.extend(again);
        chosen
    }

    /// Whether the last logged visit went wrong, and no sitting since has come back to it.
    fn went_wrong(&self, index: usize) -> bool {
        let Some(progress) = self.progress.get(index) else {
            return false;
        };
        let untouched = self.memory.get(index).and_then(|memory| memory.last) == progress.last();
        untouched && (progress.stuck || progress.next() == Next::Back)
    }

    /// A step of a chain from the end, at the tempo in hand.
    fn chain(&mut self, today: &Today) -> Option<Turn> {
        let ready = self
            .chains
            .iter()
            .zip(&self.ready_chains)
            .filter(|(_, ready)| **ready);
        let count = ready.clone().count();
        let ((number, span), _) = ready.clone().nth(self.chain_next % count.max(1))?;
        let (number, span) = (*number, *span);
        self.chain_next += 1;
        let work = self.work(number)?;
        let rung = self.run_rung(number, today, TurnKind::Chain)?;
        let mut turn = plain(TurnKind::Chain, TURN, 0);
        turn.work = Some(number);
        turn.bars = vec![span];
        turn.tempi = fitted(
            work,
            span,
            &[Rung {
                times: (2, 2),
                ..rung
            }],
            TURN,
        );
        Some(turn)
    }

    /// A turn on a passage; its next day is set.
    fn visit(&mut self, index: usize, visit: usize, today: &Today, secs: u32) -> Turn {
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
    fn rungs(
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
    fn since_log(&self, index: usize, date: Date) -> Option<String> {
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

/// Hard spots, sections and look-alikes in turn: no day is all of one sort. What is due comes before what is not.
fn mixed(ranked: Vec<(i64, usize, f64, usize)>, due: usize) -> Vec<(i64, usize, f64, usize)> {
    /// Sorts in the order in which they are taken: hard spots, sections, look-alikes.
    const TURN: [usize; 5] = [0, 1, 0, 2, 1];
    let mut mixed = Vec::with_capacity(ranked.len());
    let (now, later) = ranked.split_at(due.min(ranked.len()));
    for part in [now, later] {
        let mut sorts: [std::collections::VecDeque<_>; 3] = Default::default();
        for passage in part {
            if let Some(sort) = sorts.get_mut(passage.1) {
                sort.push_back(*passage);
            }
        }
        let before = mixed.len();
        while mixed.len() < before + part.len() {
            for sort in TURN {
                mixed.extend(
                    sorts
                        .get_mut(sort)
                        .and_then(std::collections::VecDeque::pop_front),
                );
            }
        }
    }
    mixed
}

/// A sitting in the making.
struct Today {
    number: usize,
    date: Date,
    stage: Stage,
    /// All its seconds.
    total: u32,
    unit: u32,
    brass: bool,
    /// Seconds of playing that are still free.
    left: u32,
    head: Vec<Draft>,
    main: Vec<Draft>,
    fillers: Vec<Draft>,
    tail: Vec<Draft>,
}

impl Today {
    /// What a turn takes of the seconds of playing: on brass each has its rest beside it, and what is silent is half of that.
    const fn takes(&self, kind: TurnKind, secs: u32) -> u32 {
        if self.brass && !kind.plays() {
            secs.div_ceil(2)
        } else {
            secs
        }
    }

    fn take(&mut self, kind: TurnKind, secs: u32) {
        self.left = self.left.saturating_sub(self.takes(kind, secs));
    }
}

/// The smallest step of time: a minute; half of it where brass has to share a minute or two.
const fn unit(total: u32, brass: bool) -> u32 {
    if brass && total < 240 { 30 } else { 60 }
}

/// Seconds of playing in a sitting: all but the rests, on brass half of that.
fn playing(total: u32, brass: bool) -> u32 {
    let free = total.saturating_sub(rests(total));
    if brass {
        floor_to(free / 2, unit(total, brass))
    } else {
        free
    }
}

/// An eighth of the sitting, from one minute to ten; none in a very short one.
fn warm_up_secs(total: u32, brass: bool) -> u32 {
    if total < 480 {
        return 0;
    }
    floor_to(playing(total, brass) / 8 + 30, 60).clamp(60, 600)
}

/// Looking the page through takes two minutes.
const fn look_secs(total: u32) -> u32 {
    if total >= 900 { 120 } else { 0 }
}

/// Seconds that new material may take in one sitting, with what lies between.
fn reading_room(total: u32, brass: bool) -> u32 {
    let unit = unit(total, brass);
    let room = playing(total, brass)
        .saturating_sub(warm_up_secs(total, brass))
        .saturating_sub(look_secs(total));
    floor_to(room, unit).max(unit)
}

fn ceil_to(secs: f64, unit: u32) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped just before"
    )]
    let whole = (secs / f64::from(unit)).ceil().clamp(1.0, 1e6) as u32;
    whole * unit
}

fn owned((what, stop): (&str, &str)) -> (String, String) {
    (what.to_owned(), stop.to_owned())
}

/// A turn with the usual words.
pub(super) fn plain(kind: TurnKind, secs: u32, visit: usize) -> Turn {
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
pub(super) const fn free(turn: Turn) -> Draft {
    Draft { turn, passage: None }
}

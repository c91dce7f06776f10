//! What is played through? Mock performances, run-throughs, or as much as fits; chains from the end.

use super::Maker;
use super::day::{Today, ceil_to};
use super::{TURN, free, plain};
use crate::BarSpan;
use crate::plan::asked;
use crate::plan::calendar::Stage;
use crate::plan::compose::floor_to;
use crate::plan::order::WORK_SECS;
use crate::plan::tempo::{first_rung, fitted};
use crate::plan::turn::{Turn, TurnKind};
use load::ladder::Rung;
use notation::BarIndex;

impl Maker<'_> {
    /// Mock performances and run-throughs.
    pub(super) fn through(&mut self, today: &mut Today) {
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
                if let Some(turn) = self.run(TurnKind::Mock, number, today, most.min(WORK_SECS)) {
                    most = most.saturating_sub(turn.secs);
                    today.take(TurnKind::Mock, turn.secs);
                    today.head.push(free(turn));
                }
            }
        } else if run {
            let number = self.run_next % self.asked.works.len().max(1);
            self.run_next += 1;
            let most = floor_to(today.left / 2, today.unit).min(WORK_SECS);
            if let Some(turn) = self.run(TurnKind::RunThrough, number, today, most) {
                today.take(TurnKind::RunThrough, turn.secs);
                today.tail.push(free(turn));
            }
        }
    }

    /// A work played through, or as much of it as fits, from where the last one ended.
    pub(super) fn run(&mut self, kind: TurnKind, number: usize, today: &Today, most: u32) -> Option<Turn> {
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
    pub(super) fn run_rung(&self, number: usize, today: &Today, kind: TurnKind) -> Option<Rung> {
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
    pub(super) fn part(&mut self, number: usize, kept: &[BarSpan], pace: f64, secs: f64) -> Option<BarSpan> {
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

    /// A step of a chain from the end, at the tempo in hand.
    pub(super) fn chain(&mut self, today: &Today) -> Option<Turn> {
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
}

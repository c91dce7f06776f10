//! What opens a sitting, and what is new in it? Warm-up, a look through the page, slow readings.

use super::Maker;
use super::day::{Today, look_secs, warm_up_secs};
use super::{free, plain};
use crate::plan::ASKED_FOR;
use crate::plan::reading::Reading;
use crate::plan::tempo::first_rung;
use crate::plan::turn::TurnKind;
use notation::BarIndex;

impl Maker<'_> {
    /// Warm-up; and in the very first sitting a look through the page.
    pub(super) fn warm_up(&self, today: &mut Today) {
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
                // A call says which scales in words of its own: the seven major scales.
                let article = if name.starts_with("the ") { "" } else { "the " };
                turn.what = format!(
                    "long tones, softly; then {article}{name}, slurred and tongued, even from note to note"
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

    pub(super) fn log_is_empty(&self) -> bool {
        self.asked.log.is_empty()
    }

    /// What is new today.
    pub(super) fn read(&mut self, today: &mut Today) {
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
}

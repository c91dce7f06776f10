//! What lies between? Sight reading, mental practice, singing.

use super::Maker;
use super::day::Today;
use super::{TURN, free, plain};
use crate::BarSpan;
use crate::plan::asked::Occasion;
use crate::plan::calendar::Stage;
use crate::plan::passages::{Passage, PassageKind};
use crate::plan::turn::TurnKind;

impl Maker<'_> {
    /// Sight reading, mental practice, singing: where there is room, between the others.
    pub(super) fn fillers(&self, today: &mut Today) {
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
    pub(super) fn thought_of(&self, today: &Today) -> Option<(usize, BarSpan)> {
        let alone = |passage: &&Passage| !matches!(passage.kind, PassageKind::Pair(_));
        let ready = self.passages.iter().zip(&self.ready).filter(|(_, ready)| **ready);
        let known = ready.map(|(passage, _)| passage).filter(alone);
        let count = known.clone().count();
        let passage = known
            .clone()
            .nth((today.number + today.fillers.len()) % count.max(1))?;
        Some((passage.work, passage.span))
    }
}

//! Where are brackets? Around the spots that a player's study names, or around what the survey told to look at first.

use super::{Draft, Gather, free};
use crate::{Matter, worth};
use notation::{BarIndex, Place};

pub(super) fn gather(gather: &mut Gather) {
    let spots: Vec<(BarIndex, BarIndex, String)> = match gather.study {
        Some(study) => study
            .spots
            .iter()
            .map(|spot| {
                (
                    spot.from,
                    spot.to,
                    says(spot.slowly_first, &spot.reasons, spot.suggestion),
                )
            })
            .collect(),
        None => gather
            .survey
            .look_first
            .iter()
            .map(|look| {
                let reasons: Vec<String> = look.reasons.iter().map(|reason| reason.says.clone()).collect();
                (look.from, look.to, says(false, &reasons, look.suggestion))
            })
            .collect(),
    };
    let question = if gather.study.is_some() {
        "spots"
    } else {
        "look_first"
    };
    let mut value = worth::SPOT;
    for (from, to, reason) in spots {
        let end = gather.end_of(to);
        let mut draft = Draft::new(
            Matter::HardSpots,
            question,
            free(Place::start_of(from)),
            reason,
            value,
        );
        draft.to = Some(free(end));
        gather.add(draft);
        value -= worth::NEXT_SPOT;
    }
}

fn says(slowly_first: bool, reasons: &[String], suggestion: &str) -> String {
    let what = if slowly_first {
        "Read this slowly first"
    } else {
        "A hard spot"
    };
    format!("{what}: {} — {suggestion}", reasons.join("; "))
}

//! Is there a drill of that kind for these bars? What is heard names a kind; the bars say whether they give notes for it.

use super::{TakeAsked, ToPlay};
use crate::Opened;
use crate::practice::{DrillAsked, DrillPick, drills};
use take::heard::{Heard, WorkOn};

/// What stands in for a kind that the bars give nothing for, the likeliest first: slowly, then built up from what is sure.
const INSTEAD: [&str; 3] = ["half-speed", "add-from-end", "rhythm-only"];

/// Names for each thing to work on a drill that its bars give: the kind that was thought of, another, or none.
pub(super) fn fit(heard: &mut Heard, opened: &Opened, to_play: &ToPlay, asked: &TakeAsked) {
    for work in &mut heard.work {
        work.drill = fitting(work, opened, to_play, asked);
    }
}

fn fitting(work: &WorkOn, opened: &Opened, to_play: &ToPlay, asked: &TakeAsked) -> Option<&'static str> {
    let (kind, (from, to)) = work.drill.zip(work.bars)?;
    let label = |bar| to_play.opened.piece.label(bar);
    let offered = drills(
        opened,
        &DrillAsked {
            asked: asked.asked.clone(),
            written_for: asked.written_for.clone(),
            pick: DrillPick::Bars(format!("{}-{}", label(from), label(to))),
            ..DrillAsked::default()
        },
    );
    // That bars give no drill at all is no mistake: the words say what to do.
    let offers = offered.map(|drills| drills.offers).unwrap_or_default();
    let has = |kind: &&str| offers.iter().any(|offer| offer.kind.id() == *kind);
    let instead = || INSTEAD.into_iter().find(has);
    Some(kind)
        .filter(has)
        .or_else(instead)
        .or_else(|| offers.first().map(|offer| offer.kind.id()))
}

//! Which turns has a sitting, and how is each called in an address? A name that stays while the turn is the same turn.

use desk::Planned;
use practice::plan::{Date, Sitting, Turn, TurnKind};
use std::collections::BTreeMap;

/// A turn of a day.
pub(crate) struct Named<'a> {
    /// Its name, made of what it is: `spot-0-10-11-0`.
    pub name: String,
    /// The turn.
    pub turn: &'a Turn,
}

/// The sitting of a day, if it has one.
pub(crate) fn sitting(planned: &Planned, on: Date) -> Option<&Sitting> {
    planned.plan.sittings.iter().find(|sitting| sitting.date == on)
}

/// Its turns with their names.
pub(crate) fn named(sitting: &Sitting) -> Vec<Named<'_>> {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    sitting
        .turns
        .iter()
        .map(|turn| {
            let base = base(turn);
            let times = seen.entry(base.clone()).or_insert(0);
            let name = format!("{base}-{times}");
            *times += 1;
            Named { name, turn }
        })
        .collect()
}

fn base(turn: &Turn) -> String {
    let mut base = turn.kind.id().to_owned();
    if let Some(work) = turn.work {
        base.push_str(&format!("-{work}"));
    }
    for span in &turn.bars {
        base.push_str(&format!("-{}-{}", span.from.0, span.to.0));
    }
    base
}

/// What can be said of a turn when it is over.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Afterwards {
    /// A passage: right three times in a row or not, and how it felt.
    Passage,
    /// Bars that were played: how it felt.
    Bars,
    /// Only that it was done.
    Done,
}

/// What is asked after a turn.
pub(crate) fn afterwards(turn: &Turn) -> Afterwards {
    let plays = turn.kind.plays() && turn.work.is_some() && !turn.bars.is_empty();
    match turn.kind {
        TurnKind::Spot | TurnKind::Climb | TurnKind::Keep | TurnKind::LookAlikes if plays => {
            Afterwards::Passage
        }
        // No bars of a piece, but it was played.
        TurnKind::SightReading => Afterwards::Bars,
        _ if plays => Afterwards::Bars,
        _ => Afterwards::Done,
    }
}

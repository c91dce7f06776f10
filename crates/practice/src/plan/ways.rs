//! By which drill is a passage practised next? Each visit by another, and never first by those of the last visits.

use super::asked::{Offered, Work};
use super::history::Progress;
use super::passages::{Passage, PassageKind};
use super::words;
use crate::drill::DrillKind;

/// A way to practise a passage.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Way {
    /// By which drill.
    pub kind: DrillKind,
    /// How it goes, or what it is for.
    pub what_for: String,
    /// When to stop.
    pub when_to_stop: String,
}

/// The ways of every passage, in the order in which they are taken.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Ways {
    of: Vec<Vec<Way>>,
    next: Vec<usize>,
}

impl Ways {
    pub(super) fn of(works: &[Work], passages: &[Passage], progress: &[Progress]) -> Self {
        let of: Vec<Vec<Way>> = passages
            .iter()
            .map(|passage| {
                works
                    .get(passage.work)
                    .map_or_else(Vec::new, |work| ways(work, passage))
            })
            .collect();
        let next = of
            .iter()
            .zip(progress)
            .map(|(ways, progress)| first_unused(ways, &progress.drills))
            .collect();
        Self { of, next }
    }

    /// The next way of a passage.
    pub(super) fn next(&mut self, passage: usize) -> Way {
        let ways = self.of.get(passage).map_or(&[][..], Vec::as_slice);
        let at = self.next.get(passage).copied().unwrap_or(0);
        if let Some(next) = self.next.get_mut(passage) {
            *next += 1;
        }
        ways.get(at % ways.len().max(1))
            .cloned()
            .unwrap_or_else(|| plain(DrillKind::HalfSpeed))
    }
}

/// The first that none of the last visits took, the latest visit's mattering most.
fn first_unused(ways: &[Way], drills: &[DrillKind]) -> usize {
    let age = |way: &Way| {
        drills
            .iter()
            .position(|kind| *kind == way.kind)
            .unwrap_or(usize::MAX)
    };
    let mut best = 0;
    for (at, way) in ways.iter().enumerate() {
        if ways.get(best).is_some_and(|so_far| age(way) > age(so_far)) {
            best = at;
        }
    }
    best
}

fn plain(kind: DrillKind) -> Way {
    let (what, stop) = words::drill(kind);
    Way {
        kind,
        what_for: what.to_owned(),
        when_to_stop: stop.to_owned(),
    }
}

/// What is offered for these very bars, then what is offered for some of them, then what fits any bars.
fn ways(work: &Work, passage: &Passage) -> Vec<Way> {
    let span = passage.span;
    let mut ways: Vec<Way> = Vec::new();
    let mut add = |way: Way| {
        if !ways.iter().any(|known| known.kind == way.kind) {
            ways.push(way);
        }
    };
    let usual = |kind: DrillKind| {
        matches!(
            kind,
            DrillKind::Scale | DrillKind::Arpeggio | DrillKind::LookAlikes
        )
    };
    let touching = work
        .offers
        .iter()
        .filter(|offer| !usual(offer.kind) && offer.span.from <= span.to && span.from <= offer.span.to);
    let (own, others): (Vec<&Offered>, Vec<&Offered>) = touching.partition(|offer| offer.span == span);
    for offer in own.into_iter().chain(others) {
        add(plain(offer.kind));
    }
    if ways_are_few(&ways) {
        let doing = match passage.kind {
            PassageKind::Spot(rank) => work.spots.get(rank).map(|spot| spot.doing.as_str()),
            _ => None,
        };
        for kind in words::ANY_DRILL {
            let mut way = plain(kind);
            // What the spot itself asks for is tried first.
            if let Some(doing) = doing.filter(|doing| !doing.is_empty() && ways.is_empty()) {
                way.what_for = doing.to_owned();
            }
            if !ways.iter().any(|known| known.kind == way.kind) {
                ways.push(way);
            }
        }
    }
    slowest_last(&mut ways);
    ways
}

/// Slower still is for what no other way has helped: the first tempo is slow.
fn slowest_last(ways: &mut [Way]) {
    ways.sort_by_key(|way| way.kind == DrillKind::HalfSpeed);
}

/// Fewer than three are soon used up.
fn ways_are_few(ways: &[Way]) -> bool {
    ways.len() < 3
}

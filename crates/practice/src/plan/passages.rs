//! Into which passages does the work fall? Hard spots, sections that overlap by a bar, look-alikes, chains from the end.

use super::asked::{Work, WorkPair};
use super::chunks::{backward_chain, chunks};
use crate::BarSpan;
use notation::BarIndex;

/// Bars of a section: a phrase or two. Common practice.
const SECTION: u32 = 8;
/// Bars of a section where the work is short.
const SHORT_SECTION: u32 = 4;
/// Up to so many bars the work is short.
const SHORT: usize = 16;
/// The longest chain: what can be kept in one breath of attention. Ours.
const CHAIN: u32 = 33;

/// What kind of passage.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum PassageKind {
    /// A hard spot, by its rank from 0.
    Spot(usize),
    /// A section.
    Section,
    /// Look-alikes, by their number.
    Pair(usize),
}

/// A passage that is practised as one.
#[derive(Clone, PartialEq, Debug)]
pub struct Passage {
    /// Which work, by its number.
    pub work: usize,
    /// Its bars; of look-alikes the later ones.
    pub span: BarSpan,
    /// What it is.
    pub kind: PassageKind,
    /// How much it asks; only good for ordering.
    pub asks: f64,
}

/// The passages of a work, of which the bars in `kept` are practised.
pub(super) fn passages(number: usize, work: &Work, kept: &[BarSpan]) -> Vec<Passage> {
    let inside = |span: BarSpan| kept.iter().any(|run| run.from <= span.from && span.to <= run.to);
    let most = |span: BarSpan| {
        (span.from.0..=span.to.0)
            .map(|bar| work.asks_of(BarIndex(bar)))
            .fold(0.0, f64::max)
    };
    let passage = |span: BarSpan, kind: PassageKind| Passage {
        work: number,
        span,
        kind,
        asks: most(span),
    };
    let spots = work
        .spots
        .iter()
        .enumerate()
        .filter(|(_, spot)| inside(spot.span));
    let mut all: Vec<Passage> = spots
        .map(|(rank, spot)| passage(spot.span, PassageKind::Spot(rank)))
        .collect();
    let apart = |pair: &WorkPair| inside(pair.one) && inside(pair.other);
    let pairs = work.pairs.iter().enumerate().filter(|(_, pair)| apart(pair));
    all.extend(pairs.map(|(which, pair)| passage(pair.other, PassageKind::Pair(which))));
    let size = if kept.iter().map(bars).sum::<usize>() <= SHORT {
        SHORT_SECTION
    } else {
        SECTION
    };
    let sounds = |span: &BarSpan| (span.from.0..=span.to.0).any(|bar| work.notes_in(BarIndex(bar)) > 0);
    let is_spot = |span: &BarSpan| work.spots.iter().any(|spot| spot.span == *span);
    let sections = kept.iter().flat_map(|run| chunks(*run, size));
    all.extend(
        sections
            .filter(sounds)
            .filter(|span| !is_spot(span))
            .map(|span| passage(span, PassageKind::Section)),
    );
    all
}

fn bars(span: &BarSpan) -> usize {
    span.to.get() - span.from.get() + 1
}

/// Chains from the end, section by section, over each stretch that is kept.
pub(super) fn chains(work: &Work, kept: &[BarSpan]) -> Vec<BarSpan> {
    let size = if kept.iter().map(bars).sum::<usize>() <= SHORT {
        SHORT_SECTION / 2
    } else {
        SHORT_SECTION
    };
    let windows = kept.iter().flat_map(|run| chunks(*run, CHAIN));
    let sounds = |span: &BarSpan| (span.from.0..=span.to.0).any(|bar| work.notes_in(BarIndex(bar)) > 0);
    windows
        .flat_map(|window| backward_chain(window, size))
        .filter(|step| step.to > step.from)
        .filter(sounds)
        .collect()
}

//! Of which sections is the page made? Cut at double bars, repeats, rehearsal marks and changes at a double bar.

use super::grid::Grid;
use super::repeats::Block;
use super::signs::Signs;
use notation::Place;
use std::collections::{BTreeMap, BTreeSet};

/// What makes a section begin. In order of how strongly it is felt.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum SectionStart {
    /// The piece begins.
    Beginning,
    /// A final bar line stands before it.
    FinalBar,
    /// A double bar stands before it.
    DoubleBar,
    /// A repeat sign stands there.
    Repeat,
    /// A rehearsal mark.
    Rehearsal,
    /// A coda.
    Coda,
    /// The place where a jump is made stands before it.
    Jump,
}

/// A section of the written page.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Section {
    /// Where it starts.
    pub start: Place,
    /// Where it ends: the start of the next one.
    pub end: Place,
    /// What makes it begin, strongest first; never empty.
    pub because: Vec<SectionStart>,
    /// The key signature changes there.
    pub key_change: bool,
    /// The metre changes there.
    pub metre_change: bool,
    /// The rehearsal mark or heading printed there; empty if none.
    pub heading: String,
}

/// The sections in order.
pub(super) fn sections(
    signs: &Signs,
    blocks: &[Block],
    jumps: &[Place],
    codas: &[Place],
    grid: &Grid,
) -> Vec<Section> {
    let mut cuts: BTreeMap<Place, BTreeSet<SectionStart>> = BTreeMap::new();
    let mut cut = |at: Place, why: SectionStart| {
        if at < grid.end() {
            cuts.entry(at).or_default().insert(why);
        }
    };
    cut(Place::default(), SectionStart::Beginning);
    for line in &signs.lines {
        cut(
            line.at,
            if line.is_final {
                SectionStart::FinalBar
            } else {
                SectionStart::DoubleBar
            },
        );
    }
    for start in &signs.starts {
        cut(start.at, SectionStart::Repeat);
    }
    for block in blocks.iter().filter(|block| !block.ends.is_empty()) {
        // With endings the section ends after the last of them.
        cut(block.end, SectionStart::Repeat);
    }
    for (at, _) in &signs.rehearsals {
        cut(*at, SectionStart::Rehearsal);
    }
    for at in codas {
        cut(*at, SectionStart::Coda);
    }
    for at in jumps {
        cut(*at, SectionStart::Jump);
    }
    let starts: Vec<(Place, BTreeSet<SectionStart>)> = cuts.into_iter().collect();
    let ends = starts.iter().skip(1).map(|(at, _)| *at).chain([grid.end()]);
    let section = |((start, because), end): (&(Place, BTreeSet<SectionStart>), Place)| Section {
        start: *start,
        end,
        because: because.iter().copied().collect(),
        key_change: signs.changes.binary_search(&(*start, false)).is_ok(),
        metre_change: signs.changes.binary_search(&(*start, true)).is_ok(),
        heading: heading(signs, *start),
    };
    starts
        .iter()
        .zip(ends)
        .map(section)
        .filter(|section| section.start < section.end)
        .collect()
}

fn heading(signs: &Signs, at: Place) -> String {
    let first = |list: &[(Place, String)]| {
        let found = list.get(list.partition_point(|(place, _)| *place < at))?;
        (found.0 == at).then(|| found.1.clone())
    };
    first(&signs.rehearsals)
        .or_else(|| first(&signs.headings))
        .unwrap_or_default()
}

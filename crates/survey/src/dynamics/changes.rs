//! Which changes come without warning? Two levels and more with nothing between, and what is marked sudden.

use super::hairpins::{GradualWord, Hairpin};
use super::marks::DynamicMark;
use crate::Context;
use ::terms::dynamics::{DynamicKind, Loudness};
use notation::Quarters;

/// Ranks are two apart for neighbouring levels.
const PER_LEVEL: u8 = 2;
/// So many levels at once are sudden.
const SUDDEN: u8 = 2;

/// A change that nothing prepares.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct SuddenChange {
    /// The mark before, as an index into the marks.
    pub from: usize,
    /// The mark that changes.
    pub to: usize,
    /// Levels between (p to f is three: mp, mf, f).
    pub levels: u8,
    /// Louder.
    pub louder: bool,
    /// Marked sudden (`subito`).
    pub marked: bool,
}

impl SuddenChange {
    /// `p straight to f`, `mf to mp, marked sudden`.
    #[must_use]
    pub fn says(&self, marks: &[DynamicMark]) -> String {
        let plain = |index: usize| marks.get(index).map_or("", DynamicMark::plain);
        if self.marked {
            format!("{} to {}, marked sudden", plain(self.from), plain(self.to))
        } else {
            format!("{} straight to {}", plain(self.from), plain(self.to))
        }
    }
}

pub(super) fn sudden(
    ctx: &Context,
    marks: &[DynamicMark],
    hairpins: &[Hairpin],
    words: &[GradualWord],
) -> Vec<SuddenChange> {
    let prepared = Prepared::new(ctx, hairpins, words);
    let mut found = Vec::new();
    let mut level: Option<(usize, Loudness)> = None;
    for (to, mark) in marks.iter().enumerate() {
        let Some(here) = mark.level_after() else { continue };
        if let Some((from, before)) = level
            && mark.is_level()
            && here != before
        {
            let levels = here.0.abs_diff(before.0).div_ceil(PER_LEVEL);
            let marked = mark.kind == DynamicKind::Sudden;
            let louder = here > before;
            let span = marks
                .get(from)
                .map(|from| (ctx.onset(from.place), ctx.onset(mark.place)))
                .unwrap_or_default();
            if marked || levels >= SUDDEN && !prepared.between(span.0, span.1, louder) {
                found.push(SuddenChange {
                    from,
                    to,
                    levels,
                    louder,
                    marked,
                });
            }
        }
        level = Some((to, here));
    }
    found
}

/// Starts of hairpins and words, in order, louder and softer apart.
struct Prepared {
    louder: Vec<Quarters>,
    softer: Vec<Quarters>,
}

impl Prepared {
    fn new(ctx: &Context, hairpins: &[Hairpin], words: &[GradualWord]) -> Self {
        let mut prepared = Self {
            louder: Vec::new(),
            softer: Vec::new(),
        };
        for hairpin in hairpins {
            let list = if hairpin.opens {
                &mut prepared.louder
            } else {
                &mut prepared.softer
            };
            list.extend(hairpin.start.map(|anchor| ctx.onset(anchor.place)));
        }
        for word in words {
            let onset = ctx.onset(word.place);
            if word.louder != Some(false) {
                prepared.louder.push(onset);
            }
            if word.louder != Some(true) {
                prepared.softer.push(onset);
            }
        }
        prepared.louder.sort_unstable();
        prepared.softer.sort_unstable();
        prepared
    }

    /// True if something that goes the right way starts at or after the one mark and before the other.
    fn between(&self, from: Quarters, to: Quarters, louder: bool) -> bool {
        let list = if louder { &self.louder } else { &self.softer };
        let first = list.partition_point(|onset| *onset < from);
        list.get(first).is_some_and(|onset| *onset < to)
    }
}

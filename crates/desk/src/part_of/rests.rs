//! Which bars of rest does a printed part draw together? Runs in which nothing is to be played and nothing happens.

use notation::{BarGroup, BarGroupKind, BarIndex, BarSide, Change, EventKind, IdKind, Part, Piece, Place};
use std::collections::BTreeSet;

/// Draws runs of two bars of rest or more together, in place of the score's own groups of rests. A run ends wherever a
/// player has to know the bar: a change of tempo, metre, key or clef, words, a rehearsal mark, a fermata (the part's or
/// another's), a repeat, an ending, a double bar. Source: common practice; Gould, Behind Bars, "Parts" (from memory).
pub(super) fn draw_together(score: &Piece, alone: &mut Piece) {
    let Some(part) = alone.parts.first() else { return };
    let page = Page::of(score, alone, part);
    let runs = page.runs(alone, part);
    let groups: Vec<BarGroup> = runs
        .into_iter()
        .map(|(start, bars)| BarGroup {
            id: alone.ids.give(IdKind::Span),
            start,
            bars,
            kind: BarGroupKind::MultiRest,
        })
        .collect();
    if let Some(part) = alone.parts.first_mut() {
        part.bar_groups
            .retain(|group| group.kind != BarGroupKind::MultiRest);
        part.bar_groups.extend(groups);
        part.bar_groups.sort_by_key(|group| group.start);
    }
}

/// Where something is to be seen in bars of rest.
#[derive(Default)]
struct Page {
    /// Bars at whose beginning something stands: a run can begin there.
    begins: BTreeSet<BarIndex>,
    /// Bars at whose end something stands: a run can end there.
    ends: BTreeSet<BarIndex>,
    /// Bars inside which something stands: they are never drawn together.
    alone: BTreeSet<BarIndex>,
}

impl Page {
    fn of(score: &Piece, alone: &Piece, part: &Part) -> Self {
        let mut page = Self::default();
        page.changes(alone, &part.metres);
        page.changes(alone, &part.keys);
        page.changes(alone, &part.clefs);
        page.changes(alone, &part.transpositions);
        for direction in &part.directions {
            page.stands(alone, direction.place);
        }
        for span in &part.spans {
            for anchor in [span.start, span.end].into_iter().flatten() {
                page.stands(alone, anchor.place);
            }
        }
        for line in &alone.barlines {
            match line.side {
                BarSide::Left => page.begins.insert(line.place.bar),
                BarSide::Right if line.fermatas.is_empty() => page.ends.insert(line.place.bar),
                BarSide::Right | BarSide::Middle => page.alone.insert(line.place.bar),
            };
        }
        // Everybody holds where anybody holds.
        for other in &score.parts {
            let held = other.events.iter().filter(|event| !event.fermatas.is_empty());
            page.alone.extend(held.map(|event| event.place.bar));
        }
        for group in &part.bar_groups {
            if group.kind != BarGroupKind::MultiRest {
                let bars = (0..group.bars).map(|n| BarIndex(group.start.0.saturating_add(n)));
                page.alone.extend(bars);
            }
        }
        page
    }

    fn changes<T>(&mut self, piece: &Piece, changes: &[Change<T>]) {
        for change in changes.iter().filter(|change| change.printed) {
            self.stands(piece, change.place);
        }
    }

    fn stands(&mut self, piece: &Piece, place: Place) {
        let at_end = piece
            .bars
            .get(place.bar.get())
            .is_some_and(|bar| place.offset >= bar.length);
        if place.offset.is_zero() {
            self.begins.insert(place.bar);
        } else if at_end {
            self.ends.insert(place.bar);
        } else {
            self.alone.insert(place.bar);
        }
    }

    /// First bar and number of bars of each run.
    fn runs(&self, piece: &Piece, part: &Part) -> Vec<(BarIndex, u32)> {
        let mut runs: Vec<(BarIndex, u32)> = Vec::new();
        let mut run: Option<(BarIndex, u32)> = None;
        for index in 0..piece.bars.len() {
            let bar = BarIndex::from_usize(index);
            if self.alone.contains(&bar) || !is_rest(piece, part, bar) {
                runs.extend(run.take());
                continue;
            }
            if self.begins.contains(&bar) {
                runs.extend(run.take());
            }
            let (start, bars) = run.unwrap_or((bar, 0));
            run = Some((start, bars + 1));
            if self.ends.contains(&bar) {
                runs.extend(run.take());
            }
        }
        runs.extend(run);
        runs.retain(|(_, bars)| *bars > 1);
        runs
    }
}

/// A full bar (old music joins several under one metre) in which the player has nothing but rests: no cue, no hidden pickup.
fn is_rest(piece: &Piece, part: &Part, bar: BarIndex) -> bool {
    let Some(written) = piece.bars.get(bar.get()) else {
        return false;
    };
    let place = Place::start_of(bar);
    let full = part
        .metre_at(place)
        .is_none_or(|metre| metre.length().is_none_or(|length| length <= written.length));
    let events = part.bar_events(bar);
    full && !written.implicit
        && !events.is_empty()
        && events
            .iter()
            .all(|event| !matches!(event.kind, EventKind::Chord(_)))
        && events.iter().any(notation::Event::is_rest)
}

//! Which notes make one tuplet? The kern durations give each note's ratio; groups are told by when they fill their time.

use super::layout::Home;
use super::part::Reader;
use super::scan::Cell;
use notation::{Anchor, Quarters, Rational, SpanKind, TupletRatio};

/// A tuplet whose notes do not yet fill its time.
#[derive(Clone, Copy, Debug)]
pub(super) struct Group {
    ratio: TupletRatio,
    start: Anchor,
    last: Anchor,
    sum: Quarters,
    /// The shortest undotted value in it.
    shortest: Quarters,
    notes: u32,
}

impl<'a> Reader<'a, '_> {
    /// Takes an event into the tuplet of its voice.
    pub(super) fn tuplet(&mut self, cell: &Cell<'a>, home: Home, event: usize) {
        let Some(anchor) = self.anchor(home.part, event) else {
            return;
        };
        let Some(event) = self.parts[home.part].part.events.get(event) else {
            return;
        };
        if event.grace.is_some() {
            return;
        }
        let written = event.written.as_ref();
        let (length, value) = (event.duration, written.map(|w| w.value.quarters()));
        let ratio = written.and_then(|written| written.tuplets.first().copied());
        let open = self.slots[cell.slot].tuplet.take();
        let open = match open {
            Some(group) if ratio == Some(group.ratio) => Some(group),
            Some(group) => {
                self.end_tuplet(cell, home, group);
                None
            }
            None => None,
        };
        let (Some(ratio), Some(value)) = (ratio, value) else {
            return;
        };
        let mut group = open.unwrap_or(Group {
            ratio,
            start: anchor,
            last: anchor,
            sum: Quarters::ZERO,
            shortest: value,
            notes: 0,
        });
        group.last = anchor;
        group.sum += length;
        group.shortest = group.shortest.min(value);
        group.notes += 1;
        let unit = group.shortest * Rational::whole(i64::from(ratio.normal));
        if (group.sum / unit).is_whole() {
            self.end_tuplet(cell, home, group);
        } else {
            self.slots[cell.slot].tuplet = Some(group);
        }
    }

    fn end_tuplet(&mut self, cell: &Cell<'a>, home: Home, group: Group) {
        let spine = self.spine_of(cell);
        let kind = SpanKind::Tuplet {
            actual: group.ratio.actual,
            normal: group.ratio.normal,
            bracket: !self.spines[spine].tuplets_hidden,
        };
        if group.notes < 2 {
            return;
        }
        let staff = Some(home.staff);
        let span = self.span(cell, home.part, kind, Some(group.start), staff, None);
        self.parts[home.part].part.spans[span].end = Some(group.last);
    }
}

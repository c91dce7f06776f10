//! Which notes does a slur join to the next? By the slur's two ends and its voice.

use notation::{Anchor, Id, Part, Span, SpanKind};
use std::collections::BTreeMap;

/// For each event of a part: what slurs say of it.
#[derive(Debug, Default)]
pub(super) struct Connected {
    /// A slur leads from the event to the next note of its voice.
    on: Vec<bool>,
    /// The event stands under a slur, its last note included.
    under: Vec<bool>,
}

impl Connected {
    pub fn of(part: &Part) -> Self {
        let mut index: BTreeMap<Id, usize> = BTreeMap::new();
        for (at, event) in part.events.iter().enumerate() {
            index.insert(event.id, at);
            index.extend(event.heads().iter().map(|head| (head.id, at)));
        }
        let mut slurs: BTreeMap<u16, Vec<(usize, usize)>> = BTreeMap::new();
        for span in part.spans.iter().filter(|span| span.kind == SpanKind::Slur) {
            if let Some((first, last)) = ends(part, span, &index)
                && let Some(event) = part.events.get(first)
            {
                slurs.entry(event.voice).or_default().push((first, last));
            }
        }
        let mut found = Self {
            on: vec![false; part.events.len()],
            under: vec![false; part.events.len()],
        };
        for (voice, mut list) in slurs {
            list.sort_unstable();
            let mut until = 0;
            let mut reach = 0;
            for (first, last) in list {
                for at in first.max(until)..last {
                    found.mark(part, at, voice, true);
                }
                until = until.max(last);
                for at in first.max(reach)..=last {
                    found.mark(part, at, voice, false);
                }
                reach = reach.max(last + 1);
            }
        }
        found
    }

    fn mark(&mut self, part: &Part, at: usize, voice: u16, on: bool) {
        let flags = if on { &mut self.on } else { &mut self.under };
        if let (Some(event), Some(flag)) = (part.events.get(at), flags.get_mut(at))
            && event.voice == voice
        {
            *flag = true;
        }
    }

    pub fn on(&self, event: usize) -> bool {
        self.on.get(event).copied().unwrap_or(false)
    }

    pub fn under(&self, event: usize) -> bool {
        self.under.get(event).copied().unwrap_or(false)
    }
}

fn ends(part: &Part, span: &Span, index: &BTreeMap<Id, usize>) -> Option<(usize, usize)> {
    let (start, end) = (span.start?, span.end?);
    let named = |anchor: &Anchor| anchor.element.and_then(|id| index.get(&id)).copied();
    let first = named(&start).or_else(|| {
        let from = part.events.partition_point(|event| event.place < start.place);
        (from..part.events.len())
            .take(64)
            .find(|at| part.events.get(*at).is_some_and(notation::Event::is_note))
    })?;
    let last = named(&end).or_else(|| {
        let until = part.events.partition_point(|event| event.place <= end.place);
        (0..until)
            .rev()
            .take(64)
            .find(|at| part.events.get(*at).is_some_and(notation::Event::is_note))
    })?;
    (first < last).then_some((first, last))
}

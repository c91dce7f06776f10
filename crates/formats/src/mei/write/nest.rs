//! What holds what? Beams, tuplets and two-note tremolos of a layer as intervals that lie in each other.
//!
//! MEI's elements are a tree: a beam that starts in one tuplet and ends in another can't be an element and becomes a
//! `beamSpan`. Tuplets come first, because the durations hang on them.

use super::layer::Item;
use notation::{Beam, Event, Id, Part, Quarters, Rational, Span, SpanKind, TupletRatio};
use std::collections::{BTreeMap, BTreeSet};

/// What an interval is.
#[derive(Clone, Copy, Debug)]
pub(super) enum Kind {
    /// A tuplet; `None` for one that has no bracket or number of its own on the page.
    Tuplet {
        ratio: TupletRatio,
        span: Option<Id>,
        depth: usize,
    },
    Beam,
    /// A tremolo between two notes.
    Tremolo,
}

/// An interval of items, first and last.
#[derive(Clone, Copy, Debug)]
pub(super) struct Interval {
    pub from: usize,
    pub to: usize,
    pub kind: Kind,
}

/// The intervals of a layer, outer before inner, and what did not fit.
#[derive(Debug, Default)]
pub(super) struct Nesting {
    pub intervals: Vec<Interval>,
    /// Beams across tuplets: first and last item.
    pub beam_spans: Vec<(usize, usize)>,
    /// Notes whose beams do not start and end as they should.
    pub loose: BTreeSet<usize>,
}

/// Tuplet spans of a part by the event where they start.
pub(super) type TupletStarts<'p> = BTreeMap<Id, Vec<&'p Span>>;

/// Collects the tuplet spans of a part that both start and end at an event.
pub(super) fn tuplet_starts(part: &Part) -> TupletStarts<'_> {
    let mut starts: TupletStarts<'_> = BTreeMap::new();
    for span in part
        .spans
        .iter()
        .filter(|span| matches!(span.kind, SpanKind::Tuplet { .. }))
    {
        if let (Some(start), Some(_)) = (
            span.start.and_then(|start| start.element),
            span.end.and_then(|end| end.element),
        ) {
            starts.entry(start).or_default().push(span);
        }
    }
    starts
}

struct Tuplets<'a, 'p> {
    items: &'a [Item<'p>],
    starts: &'a TupletStarts<'p>,
    /// Where each event of the layer stands among the items.
    places: &'a BTreeMap<Id, usize>,
    used: BTreeSet<Id>,
    out: Vec<Interval>,
}

/// The intervals of a layer's items; `used` gains the tuplet spans that became elements.
pub(super) fn nest<'p>(items: &[Item<'p>], starts: &TupletStarts<'p>, used: &mut BTreeSet<Id>) -> Nesting {
    let places: BTreeMap<Id, usize> = items
        .iter()
        .enumerate()
        .filter_map(|(at, item)| item.event().map(|event| (event.id, at)))
        .collect();
    let mut tuplets = Tuplets {
        items,
        starts,
        places: &places,
        used: BTreeSet::new(),
        out: Vec::new(),
    };
    tuplets.group(0, items.len(), 0);
    let (mut intervals, taken) = (tuplets.out, tuplets.used);
    used.extend(taken);
    let mut nesting = Nesting::default();
    let parents = parents(items.len(), &intervals);
    for (from, to) in beams(items, &mut nesting.loose) {
        if crosses(from, to, &intervals, &parents) {
            nesting.beam_spans.push((from, to));
        } else {
            intervals.push(Interval {
                from,
                to,
                kind: Kind::Beam,
            });
        }
    }
    intervals.sort_by_key(|interval| {
        let inner = match interval.kind {
            Kind::Tuplet { depth, .. } => depth,
            Kind::Beam => usize::MAX - 1,
            Kind::Tremolo => usize::MAX,
        };
        (interval.from, usize::MAX - interval.to, inner)
    });
    nesting.intervals = intervals;
    nesting
}

fn chain(event: &Event) -> &[TupletRatio] {
    event.written.as_ref().map_or(&[], |written| &written.tuplets)
}

impl Tuplets<'_, '_> {
    /// Groups the items of a range by what stands at one level of their chains.
    fn group(&mut self, from: usize, to: usize, depth: usize) {
        let mut at = from;
        while at < to {
            let Some(event) = self.items.get(at).and_then(Item::event) else {
                at += 1;
                continue;
            };
            let Some(ratio) = chain(event).get(depth).copied() else {
                at += 1;
                continue;
            };
            if chain(event).len() == depth + 1 && self.is_tremolo(at, to, ratio) {
                self.out.push(Interval {
                    from: at,
                    to: at + 1,
                    kind: Kind::Tremolo,
                });
                at += 2;
                continue;
            }
            let (last, span) = match self.bracket(at, to, depth, ratio) {
                Some((last, span)) => (last, Some(span)),
                None => (self.run(at, to, depth, ratio), None),
            };
            self.out.push(Interval {
                from: at,
                to: last,
                kind: Kind::Tuplet { ratio, span, depth },
            });
            if depth < 16 {
                self.group(at, last + 1, depth + 1);
            }
            at = last + 1;
        }
    }

    /// Two notes with a tremolo between them, whose halved time stands at the end of the chain.
    fn is_tremolo(&self, at: usize, to: usize, ratio: TupletRatio) -> bool {
        let (Some(first), Some(second)) = (
            self.items.get(at).and_then(Item::event),
            self.items
                .get(at + 1)
                .filter(|_| at + 1 < to)
                .and_then(Item::event),
        ) else {
            return false;
        };
        ratio == (TupletRatio { actual: 2, normal: 1 })
            && first.is_note()
            && second.is_note()
            && super::marks::tremolo_between(first).is_some()
            && first.written == second.written
    }

    /// The end of the bracket that starts here on this level.
    fn bracket(&mut self, at: usize, to: usize, depth: usize, ratio: TupletRatio) -> Option<(usize, Id)> {
        let event = self.items.get(at)?.event()?;
        let fits = |last: usize| {
            self.items.get(at..=last).is_some_and(|items| {
                items
                    .iter()
                    .filter_map(Item::event)
                    .all(|event| chain(event).get(depth) == Some(&ratio))
            })
        };
        let found = self.starts.get(&event.id)?.iter().filter_map(|span| {
            let SpanKind::Tuplet { actual, normal, .. } = span.kind else {
                return None;
            };
            let last = *self.places.get(&span.end?.element?)?;
            let same = actual == ratio.actual && normal == ratio.normal && !self.used.contains(&span.id);
            (same && last >= at && last < to && fits(last)).then_some((last, span.id))
        });
        let found = found.max_by_key(|(last, _)| *last)?;
        self.used.insert(found.1);
        Some(found)
    }

    /// The end of a tuplet without a bracket: where its notes fill the time of so many of one value.
    fn run(&self, at: usize, to: usize, depth: usize, ratio: TupletRatio) -> usize {
        let mut sum = Quarters::ZERO;
        let mut last = at;
        for next in at..to {
            let Some(item) = self.items.get(next) else { break };
            let Some(event) = item.event() else {
                if matches!(item, Item::Gap(_)) {
                    break;
                }
                continue;
            };
            let starts_bracket = next > at && self.starts.contains_key(&event.id);
            if chain(event).get(depth) != Some(&ratio) || starts_bracket {
                break;
            }
            last = next;
            sum += event.duration;
            if is_plain(sum / Rational::whole(i64::from(ratio.normal.max(1)))) && next > at {
                break;
            }
        }
        last
    }
}

/// A power of two of a quarter note.
fn is_plain(length: Quarters) -> bool {
    let power = |n: i64| n > 0 && n & (n - 1) == 0;
    (length.num() == 1 && power(length.den())) || (length.den() == 1 && power(length.num()))
}

/// For each item the innermost interval that holds it, and for each interval the one around it.
struct Parents {
    of_item: Vec<Option<usize>>,
    of_interval: Vec<Option<usize>>,
}

fn parents(items: usize, intervals: &[Interval]) -> Parents {
    let mut order: Vec<usize> = (0..intervals.len()).collect();
    // Grouping made them outer before inner already.
    order.sort_by_key(|at| intervals.get(*at).map(|i| (i.from, usize::MAX - i.to)));
    let mut found = Parents {
        of_item: vec![None; items],
        of_interval: vec![None; intervals.len()],
    };
    let mut open: Vec<usize> = Vec::new();
    let mut next = order.into_iter().peekable();
    for item in 0..items {
        while open
            .last()
            .and_then(|at| intervals.get(*at))
            .is_some_and(|interval| interval.to < item)
        {
            open.pop();
        }
        while let Some(at) =
            next.next_if(|at| intervals.get(*at).is_some_and(|interval| interval.from == item))
        {
            if let Some(slot) = found.of_interval.get_mut(at) {
                *slot = open.last().copied();
            }
            open.push(at);
        }
        if let Some(slot) = found.of_item.get_mut(item) {
            *slot = open.last().copied();
        }
    }
    found
}

/// Whether a beam cuts a tuplet or tremolo in two.
fn crosses(from: usize, to: usize, intervals: &[Interval], parents: &Parents) -> bool {
    let around = |item: usize, bad: &dyn Fn(&Interval) -> bool| {
        let mut at = parents.of_item.get(item).copied().flatten();
        while let Some(index) = at {
            let Some(interval) = intervals.get(index) else {
                break;
            };
            if bad(interval) {
                return true;
            }
            at = parents.of_interval.get(index).copied().flatten();
        }
        false
    };
    around(from, &|interval| interval.from < from && interval.to < to)
        || around(to, &|interval| interval.to > to && interval.from > from)
        // Inside a tremolo there is room for two notes only.
        || around(from, &|interval| matches!(interval.kind, Kind::Tremolo) && (from, to) != (interval.from, interval.to) && to <= interval.to && from >= interval.from)
}

/// The beams of a layer, first and last item; notes whose beams are not in order are `loose`.
fn beams(items: &[Item<'_>], loose: &mut BTreeSet<usize>) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    for (at, item) in items.iter().enumerate() {
        let Some(event) = item.event() else { continue };
        match event.beams.first() {
            None => {}
            Some(Beam::Begin) => {
                loose.extend(open.drain(..));
                open.push(at);
            }
            Some(Beam::Continue) if !open.is_empty() => open.push(at),
            Some(Beam::End) if !open.is_empty() => {
                if let Some(first) = open.first() {
                    found.push((*first, at));
                }
                open.clear();
            }
            Some(_) => {
                loose.insert(at);
            }
        }
    }
    loose.extend(open);
    found
}

/// The beams of a few grace notes, first and last.
pub(super) fn grace_beams(graces: &[&Event]) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let mut open = None;
    for (at, event) in graces.iter().enumerate() {
        match (event.beams.first(), open) {
            (Some(Beam::Begin), _) => open = Some(at),
            (Some(Beam::End), Some(first)) => {
                found.push((first, at));
                open = None;
            }
            _ => {}
        }
    }
    found
}

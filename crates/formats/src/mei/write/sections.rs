//! In what order do the bars stand? Sections, endings, breaks and changes between bars; and what every bar needs to know.

use super::nest::{self, TupletStarts};
use super::xml::{Node, is_word};
use super::{Writer, engraving};
use notation::{
    BarGroup, BarGroupKind, BarIndex, BarSide, Barline, EndingKind, Event, EventKind, SoundHint, Span,
    SpanKind,
};
use std::collections::{BTreeMap, BTreeSet};

/// An ending: its bars, first and last, and the bar lines that say so.
#[derive(Clone, Copy, Debug)]
struct EndingBars<'p> {
    first: usize,
    last: usize,
    start: &'p Barline,
    stop: Option<&'p Barline>,
}

/// What stands where, sorted into the bars once.
pub(super) struct Layout<'p> {
    edges: BTreeMap<(usize, BarSide), Vec<&'p Barline>>,
    inside: BTreeMap<usize, Vec<&'p Barline>>,
    endings: Vec<EndingBars<'p>>,
    ending_lines: BTreeSet<notation::Id>,
    tuplets: Vec<TupletStarts<'p>>,
    pedals_up: BTreeMap<(usize, usize), Vec<&'p Span>>,
    hints: BTreeMap<(usize, usize), Vec<(usize, &'p SoundHint)>>,
    groups: BTreeMap<(usize, usize), Vec<&'p BarGroup>>,
    /// Signs that stand for what a part has in a bar.
    signs: BTreeMap<(usize, usize), Node>,
    /// Bars that a rest of several bars covers without standing in them.
    hidden: BTreeSet<usize>,
}

impl<'p> Layout<'p> {
    pub(super) fn lines(&self, bar: usize, side: BarSide) -> &[&'p Barline] {
        self.edges.get(&(bar, side)).map_or(&[], Vec::as_slice)
    }

    pub(super) fn inside(&self, bar: usize) -> &[&'p Barline] {
        self.inside.get(&bar).map_or(&[], Vec::as_slice)
    }

    /// True if a bar line has an end of a bracket that is not in an `ending`.
    pub(super) fn ending_alone(&self, line: &Barline) -> bool {
        line.ending.is_some() && !self.ending_lines.contains(&line.id)
    }

    pub(super) fn tuplets(&self, part: usize) -> &TupletStarts<'p> {
        const NONE: &TupletStarts<'static> = &BTreeMap::new();
        self.tuplets.get(part).unwrap_or(NONE)
    }

    pub(super) fn pedals_up(&self, part: usize, bar: usize) -> Vec<&'p Span> {
        self.pedals_up.get(&(part, bar)).cloned().unwrap_or_default()
    }

    pub(super) fn hints(&self, part: usize, bar: usize) -> Vec<(usize, &'p SoundHint)> {
        self.hints.get(&(part, bar)).cloned().unwrap_or_default()
    }

    pub(super) fn groups(&self, part: usize, bar: usize) -> Vec<&'p BarGroup> {
        self.groups.get(&(part, bar)).cloned().unwrap_or_default()
    }

    pub(super) fn bar_sign(&self, part: usize, bar: usize) -> Option<Node> {
        self.signs.get(&(part, bar)).cloned()
    }
}

impl<'p> Writer<'p> {
    /// The `score`: its definition and all bars.
    pub(super) fn score(&mut self, out: &mut String) {
        let layout = self.layout();
        let engraved = self.options.engraving.is_some();
        let def = self.first_score_def().fit_for(engraved);
        def.write(out, 1);
        let sections = self.named_sections(&layout);
        let section = Node::new("section").id("section");
        section.write_start(out, 1);
        self.expansions(&sections, out);
        let mut open_section = None;
        let mut open_ending: Option<usize> = None;
        for (index, bar) in self.piece.bars.iter().enumerate() {
            if let Some((nth, named)) = sections
                .iter()
                .enumerate()
                .find(|(_, named)| named.first == index)
            {
                section_node(nth, named.name).write_start(out, 1);
                open_section = Some(named.last);
            }
            // An engraver takes a break inside an ending for one that goes on.
            if engraved && !layout.hidden.contains(&index) {
                self.breaks(index, out);
            }
            if let Some(ending) = layout.endings.iter().find(|ending| ending.first == index) {
                let mut node = ending_node(ending).fit_for(engraved);
                if let (true, Some(said)) = (engraved, &ending.start.ending) {
                    node.set("n", engraving::ending_words(said));
                }
                node.write_start(out, 1);
                open_ending = Some(ending.last);
            }
            if !layout.hidden.contains(&index) {
                if !engraved {
                    self.breaks(index, out);
                }
                if index > 0
                    && let Some(changes) = self.changes_before(index, bar.id)
                {
                    changes.fit_for(engraved).write(out, 1);
                }
                let measure = self.measure(index, bar, &layout).fit_for(engraved);
                measure.write(out, 1);
            }
            if open_ending == Some(index) {
                Node::write_end("ending", out, 1);
                open_ending = None;
            }
            if open_section == Some(index) {
                Node::write_end("section", out, 1);
                open_section = None;
            }
        }
        Node::write_end("section", out, 1);
    }

    fn breaks(&self, index: usize, out: &mut String) {
        let Some(bar) = self.piece.bars.get(index) else {
            return;
        };
        if bar.new_page {
            let page = Node::new("pb").id(format!("{}-page", bar.id));
            // A page begins with a system in any case; whether the source says both is kept.
            let page = if bar.new_system {
                page.tagged("system")
            } else {
                page
            };
            page.write(out, 1);
        } else if bar.new_system {
            Node::new("sb").id(format!("{}-system", bar.id)).write(out, 1);
        }
    }

    fn layout(&mut self) -> Layout<'p> {
        let mut layout = Layout {
            edges: BTreeMap::new(),
            inside: BTreeMap::new(),
            endings: Vec::new(),
            ending_lines: BTreeSet::new(),
            tuplets: self
                .parts
                .iter()
                .map(|plan| nest::tuplet_starts(plan.part))
                .collect(),
            pedals_up: BTreeMap::new(),
            hints: BTreeMap::new(),
            groups: BTreeMap::new(),
            signs: BTreeMap::new(),
            hidden: BTreeSet::new(),
        };
        let last = self.piece.bars.len().saturating_sub(1);
        let plans: BTreeMap<usize, usize> = self
            .parts
            .iter()
            .enumerate()
            .map(|(nth, plan)| (plan.index, nth))
            .collect();
        for line in self
            .piece
            .barlines
            .iter()
            .filter(|line| plans.contains_key(&line.part))
        {
            let bar = line.place.bar.get().min(last);
            match line.side {
                BarSide::Middle => layout.inside.entry(bar).or_default().push(line),
                side => layout.edges.entry((bar, side)).or_default().push(line),
            }
        }
        self.one_line_each(&mut layout);
        endings(&mut layout, last);
        for (nth, hint) in self.piece.sound_hints.iter().enumerate() {
            if let Some(part) = plans.get(&hint.part) {
                layout
                    .hints
                    .entry((*part, hint.place.bar.get().min(last)))
                    .or_default()
                    .push((nth, hint));
            }
        }
        for (nth, plan) in self.parts.iter().enumerate() {
            for span in plan
                .part
                .spans
                .iter()
                .filter(|span| span.kind == SpanKind::Pedal && span.start.is_some())
            {
                if let Some(bar) = self.pedal_up_bar(span) {
                    layout.pedals_up.entry((nth, bar.get())).or_default().push(span);
                }
            }
            for group in &plan.part.bar_groups {
                layout
                    .groups
                    .entry((nth, group.start.get().min(last)))
                    .or_default()
                    .push(group);
            }
        }
        if self.options.bar_signs {
            self.bar_signs(&mut layout);
        }
        layout
    }

    /// Two bar lines of one part at one edge: the first is written.
    fn one_line_each(&mut self, layout: &mut Layout<'p>) {
        let mut extra: Vec<&'p Barline> = Vec::new();
        for lines in layout.edges.values_mut() {
            let mut seen = BTreeSet::new();
            lines.retain(|line| {
                let first = seen.insert(line.part);
                if !first {
                    extra.push(line);
                }
                first
            });
        }
        for line in extra {
            let part = self
                .parts
                .iter()
                .position(|plan| plan.index == line.part)
                .unwrap_or(0);
            self.lost(
                part,
                line.place,
                "two bar lines stand at one place; the second was left out",
            );
        }
    }

    /// Rests of several bars and measure repeats that can stand as one sign.
    fn bar_signs(&mut self, layout: &mut Layout<'p>) {
        let groups: Vec<(usize, &'p BarGroup)> = layout
            .groups
            .iter()
            .flat_map(|((part, _), groups)| groups.iter().map(|group| (*part, *group)))
            .collect();
        let mut taken: BTreeSet<(usize, notation::Id)> = BTreeSet::new();
        for (part, group) in &groups {
            let (first, bars) = (group.start.get(), group.bars as usize);
            match group.kind {
                BarGroupKind::MultiRest if *part == 0 && self.rest_can_be_one(layout, &groups, group) => {
                    for nth in 0..self.parts.len() {
                        let id = groups
                            .iter()
                            .find(|(of, other)| *of == nth && other.start == group.start);
                        let Some((_, own)) = id else { continue };
                        let sign = Node::new("multiRest").id(own.id).attr("num", own.bars);
                        layout.signs.insert((nth, first), sign);
                        taken.insert((nth, own.id));
                    }
                    layout.hidden.extend(first + 1..first + bars);
                }
                BarGroupKind::MeasureRepeat { pattern } if self.is_silent(*part, first, bars) => {
                    for bar in first..(first + bars).min(self.piece.bars.len()) {
                        let name = if bar == first {
                            group.id.to_string()
                        } else {
                            format!("{}-{}", group.id, bar - first + 1)
                        };
                        layout
                            .signs
                            .insert((*part, bar), repeat_sign(pattern, bar - first).id(name));
                    }
                    taken.insert((*part, group.id));
                }
                _ => {}
            }
        }
        for ((part, _), groups) in &mut layout.groups {
            groups.retain(|group| !taken.contains(&(*part, group.id)));
        }
        let gone: Vec<&Event> = self
            .parts
            .iter()
            .enumerate()
            .flat_map(|(nth, plan)| plan.part.events.iter().map(move |event| (nth, event)))
            .filter(|(nth, event)| {
                let bar = event.place.bar.get();
                layout.hidden.contains(&bar) || layout.signs.contains_key(&(*nth, bar))
            })
            .map(|(_, event)| event)
            .collect();
        for event in gone {
            self.written.remove(&event.id);
            event.heads().iter().for_each(|head| {
                self.written.remove(&head.id);
            });
        }
    }

    /// True if a rest of several bars says all that stands in its bars: the same in every part, and nothing beside it.
    fn rest_can_be_one(
        &self,
        layout: &Layout<'p>,
        groups: &[(usize, &'p BarGroup)],
        group: &BarGroup,
    ) -> bool {
        let (first, bars) = (group.start.get(), group.bars as usize);
        let end = first + bars;
        if bars < 2 || end > self.piece.bars.len() {
            return false;
        }
        let all = (0..self.parts.len()).all(|part| {
            groups.iter().any(|(of, other)| {
                *of == part
                    && other.start == group.start
                    && other.bars == group.bars
                    && other.kind == group.kind
            })
        });
        let quiet = |bar: usize| {
            self.parts.iter().all(|plan| {
                let nothing = plan.bars.get(bar).is_some_and(|things| {
                    things.directions.is_empty()
                        && things.spans.is_empty()
                        && things.clefs.is_empty()
                        && things.keys.is_empty()
                        && things.metres.is_empty()
                        && things.transpositions.is_empty()
                });
                let rests = plan
                    .part
                    .bar_events(BarIndex::from_usize(bar))
                    .iter()
                    .all(|event| {
                        matches!(event.kind, EventKind::Rest { whole_bar: true })
                            && event.fermatas.is_empty()
                            && event.printed
                    });
                rests && (nothing || bar == first)
            })
        };
        let plain_inside = (first..end).all(|bar| {
            (bar == first || layout.lines(bar, BarSide::Left).is_empty())
                && (bar == end - 1 || layout.lines(bar, BarSide::Right).is_empty())
                && layout.inside(bar).is_empty()
                && quiet(bar)
        });
        // The bar line after the rest can't be told on the bar before it.
        let closes = layout.lines(end - 1, BarSide::Right).is_empty();
        let unbroken = self
            .piece
            .bars
            .get(first + 1..end)
            .is_some_and(|bars| !bars.iter().any(|bar| bar.new_system || bar.new_page));
        all && plain_inside && closes && unbroken
    }

    fn is_silent(&self, part: usize, first: usize, bars: usize) -> bool {
        let Some(plan) = self.parts.get(part) else {
            return false;
        };
        let end = (first + bars).min(self.piece.bars.len());
        (first..end).all(|bar| {
            !plan
                .part
                .bar_events(BarIndex::from_usize(bar))
                .iter()
                .any(Event::is_note)
        })
    }
}

/// The sign in the n-th bar of a measure repeat.
fn repeat_sign(pattern: u32, nth: usize) -> Node {
    let nth = u32::try_from(nth).unwrap_or(u32::MAX);
    match pattern {
        0 | 1 => Node::new("mRpt"),
        _ if !nth.is_multiple_of(pattern) => Node::new("mSpace"),
        2 => Node::new("mRpt2"),
        more => Node::new("multiRpt").attr("num", more),
    }
}

/// Finds the bars of each ending: from its start to the stop that follows it.
fn endings(layout: &mut Layout<'_>, last: usize) {
    let of = |side: BarSide, start: bool| {
        layout
            .edges
            .iter()
            .filter(move |((_, of), _)| *of == side)
            .filter_map(move |((bar, _), lines)| {
                let line = lines.iter().find(|line| {
                    line.ending
                        .as_ref()
                        .is_some_and(|ending| (ending.kind == EndingKind::Start) == start)
                })?;
                Some((*bar, *line))
            })
    };
    let starts: Vec<(usize, &Barline)> = of(BarSide::Left, true).collect();
    let mut stops = of(BarSide::Right, false).peekable();
    let mut found = Vec::new();
    for (nth, (first, start)) in starts.iter().enumerate() {
        let next = starts.get(nth + 1).map_or(last + 1, |(bar, _)| *bar);
        while stops.next_if(|(bar, _)| bar < first).is_some() {}
        let stop = stops.next_if(|(bar, _)| *bar < next);
        let until = stop.map_or(*first, |(bar, _)| bar);
        found.push(EndingBars {
            first: *first,
            last: until,
            start,
            stop: stop.map(|(_, line)| line),
        });
    }
    let lines: BTreeSet<notation::Id> = found
        .iter()
        .flat_map(|ending| {
            [
                Some((ending.first, BarSide::Left)),
                ending.stop.map(|_| (ending.last, BarSide::Right)),
            ]
        })
        .flatten()
        .flat_map(|edge| layout.edges.get(&edge).into_iter().flatten().map(|line| line.id))
        .collect();
    layout.endings = found;
    layout.ending_lines = lines;
}

fn ending_node(ending: &EndingBars<'_>) -> Node {
    let mut node = Node::new("ending").id(ending.start.id);
    let Some(said) = &ending.start.ending else {
        return node;
    };
    if is_word(&said.number) {
        node.set("n", &said.number);
    } else if !said.number.is_empty() {
        // MEI's numbers have no spaces: one after each comma is told by a word.
        let close = said.number.replace(", ", ",");
        if !close.contains(char::is_whitespace) && said.number == close.replace(',', ", ") {
            node.tag("spaced");
        }
        node.set("n", close.split_whitespace().collect::<String>());
    }
    if !said.text.is_empty() {
        node.set("label", &said.text);
    }
    match ending.stop.and_then(|line| line.ending.as_ref()) {
        Some(stop) if stop.kind == EndingKind::Discontinue => node.set("lendsym", "none"),
        Some(_) => {}
        None => node.tag("open"),
    }
    let stop = ending.stop.and_then(|line| line.ending.as_ref());
    if stop.is_some_and(|stop| stop.number.is_empty() && !said.number.is_empty()) {
        node.tag("stop-unsaid");
    }
    node
}

/// A named section that is a row of whole bars.
struct NamedBars<'p> {
    name: &'p str,
    first: usize,
    last: usize,
}

fn section_node(nth: usize, name: &str) -> Node {
    Node::new("section")
        .id(format!("section-{}", nth + 1))
        .attr("label", name)
}

impl<'p> Writer<'p> {
    /// The named sections, if they are rows of whole bars one after the other, and no ending reaches over their edges.
    fn named_sections(&mut self, layout: &Layout<'p>) -> Vec<NamedBars<'p>> {
        let orders = &self.piece.section_orders;
        let bars = self.piece.bars.len();
        let mut named: Vec<NamedBars<'p>> = Vec::new();
        let mut fits = true;
        for section in &orders.sections {
            let (start, end) = (section.start, section.end);
            let first = start.bar.get();
            let whole = start.offset.is_zero()
                && end.offset.is_zero()
                && first < end.bar.get()
                && end.bar.get() <= bars;
            let after = named.last().is_none_or(|before| before.last < first);
            let cut = layout.endings.iter().any(|ending| {
                let inside = |bar: usize| (first..end.bar.get()).contains(&bar);
                inside(ending.first) != inside(ending.last)
            });
            fits &= whole && after && !cut;
            if fits {
                named.push(NamedBars {
                    name: &section.name,
                    first,
                    last: end.bar.get() - 1,
                });
            }
        }
        if !fits {
            let place = orders
                .sections
                .first()
                .map(|section| section.start)
                .unwrap_or_default();
            self.lost(
                0,
                place,
                "the named sections overlap or start inside bars; neither they nor their order were written",
            );
            return Vec::new();
        }
        named
    }

    /// The orders in which the sections are played.
    fn expansions(&self, sections: &[NamedBars<'p>], out: &mut String) {
        if sections.is_empty() {
            return;
        }
        for (nth, list) in self.piece.section_orders.lists.iter().enumerate() {
            let order: Vec<String> = list
                .order
                .iter()
                .map(|section| format!("#section-{}", section.saturating_add(1)))
                .collect();
            let mut node = Node::new("expansion")
                .id(format!("expansion-{}", nth + 1))
                .attr("plist", order.join(" "));
            if !list.name.is_empty() {
                node.set("label", &list.name);
            }
            if !list.followed {
                node.tag("not-followed");
            }
            if !list.written_out {
                node.tag("with-repeats");
            }
            node.write(out, 1);
        }
    }
}

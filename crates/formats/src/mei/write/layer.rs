//! What follows what in a layer? The events of one voice on one staff in a bar, gaps filled, signs in between, nested.

use super::beams::{self, Member};
use super::nest::{self, Interval, Kind, Nesting, TupletStarts};
use super::plan::end_of;
use super::xml::Node;
use super::{Writer, names, time};
use notation::{BarIndex, Event, Quarters, Rational, Severity};

/// More layers than any staff has; notes beyond are not written.
const MOST_LANES: usize = 32;

/// One thing in a layer.
#[derive(Debug)]
pub(super) enum Item<'p> {
    Event(&'p Event),
    /// Grace notes before their main note, or after it.
    Graces(Vec<&'p Event>, bool),
    /// Time in which the voice says nothing.
    Gap(Quarters),
    /// A clef, key, metre or bar line inside the bar.
    Sign(Node),
}

impl<'p> Item<'p> {
    /// The event, if it is one that takes time.
    pub(super) const fn event(&self) -> Option<&'p Event> {
        match self {
            Self::Event(event) => Some(event),
            _ => None,
        }
    }
}

/// A voice on a staff in a bar; one that overlaps itself needs several.
#[derive(Debug, Default)]
pub(super) struct Lane<'p> {
    pub voice: u16,
    /// The staff of the part, from 1.
    pub staff: u8,
    pub items: Vec<Item<'p>>,
    end: Quarters,
    /// Takes what another lane of the same voice has no room for.
    pub further: bool,
}

impl<'p> Lane<'p> {
    /// A lane without notes, for signs alone.
    pub(super) fn of_staff(staff: u8) -> Self {
        Self {
            staff,
            ..Self::default()
        }
    }

    fn fill_to(&mut self, offset: Quarters) {
        if offset > self.end {
            self.items.push(Item::Gap(offset - self.end));
            self.end = offset;
        }
    }

    fn put(&mut self, event: &'p Event) {
        self.fill_to(event.place.offset);
        self.items.push(Item::Event(event));
        self.end = self.end.max(end_of(event));
    }

    fn put_graces(&mut self, graces: &mut Vec<&'p Event>, after: bool) {
        let Some(first) = graces.first() else { return };
        self.fill_to(first.place.offset);
        self.items.push(Item::Graces(std::mem::take(graces), after));
    }

    /// Puts a sign before what starts at an offset or later.
    pub(super) fn insert(&mut self, offset: Quarters, sign: Node) {
        let mut start = Quarters::ZERO;
        let mut at = 0;
        while let Some(item) = self.items.get(at) {
            let length = match item {
                Item::Event(event) => event.duration,
                Item::Gap(length) => *length,
                // Before the grace notes of a note, but after what was put here already.
                Item::Graces(_, after) => {
                    if start >= offset && !after {
                        break;
                    }
                    Quarters::ZERO
                }
                Item::Sign(_) => Quarters::ZERO,
            };
            if start >= offset && length.is_positive() {
                break;
            }
            if let (Item::Gap(length), true) = (item, start + length > offset) {
                let (before, after) = (offset - start, *length - (offset - start));
                self.items
                    .splice(at..=at, [Item::Gap(before), Item::Sign(sign), Item::Gap(after)]);
                return;
            }
            start += length;
            at += 1;
        }
        if at == self.items.len() && start < offset {
            self.items.push(Item::Gap(offset - start));
            at += 1;
        }
        self.items.insert(at, Item::Sign(sign));
    }

    /// True if no note sounds across an offset.
    pub(super) fn has_boundary(&self, offset: Quarters) -> bool {
        !self
            .items
            .iter()
            .filter_map(Item::event)
            .any(|event| event.place.offset < offset && offset < event.end_offset())
    }
}

impl<'p> Writer<'p> {
    /// The lanes of a bar of a part, by staff and voice.
    pub(super) fn lanes(&mut self, part: usize, bar: BarIndex) -> Vec<Lane<'p>> {
        let Some(plan) = self.parts.get(part) else {
            return Vec::new();
        };
        let (events, staves, voices) = (
            plan.part.bar_events(bar),
            plan.staves,
            plan.part.voices.len().max(1),
        );
        let mut by_voice: Vec<Vec<&'p Event>> = vec![Vec::new(); voices];
        for event in events {
            by_voice
                .get_mut(usize::from(event.voice).min(voices - 1))
                .into_iter()
                .for_each(|list| list.push(event));
        }
        let mut lanes: Vec<Lane<'p>> = Vec::new();
        let mut left_out = None;
        for (voice, events) in by_voice
            .into_iter()
            .enumerate()
            .filter(|(_, events)| !events.is_empty())
        {
            let voice = u16::try_from(voice).unwrap_or(u16::MAX);
            let staff = home(&events).clamp(1, staves);
            let dropped = voice_lanes(voice, staff, events, &mut lanes);
            left_out = left_out.or(dropped);
        }
        lanes.sort_by_key(|lane| (lane.staff, lane.further));
        if let Some(event) = left_out {
            self.find(
                Severity::Problem,
                "not-in-mei",
                part,
                event.place,
                "more notes of one voice sound together here than can be written; the rest was left out",
                "check which notes belong to which voice",
            );
        }
        lanes
    }

    /// A layer with all that is in it; beams that can't be elements go to `spans`.
    pub(super) fn layer(
        &mut self,
        part: usize,
        lane: &Lane<'p>,
        starts: &TupletStarts<'p>,
        spans: &mut Vec<Node>,
    ) -> Vec<Node> {
        let nesting = nest::nest(&lane.items, starts, &mut self.used);
        let beamed = beam_words(&lane.items, &nesting);
        for (from, to) in &nesting.beam_spans {
            let events: Vec<&Event> = lane
                .items
                .iter()
                .take(to + 1)
                .skip(*from)
                .filter_map(Item::event)
                .collect();
            spans.push(self.beam_span(&events));
        }
        // Open elements, each with the last item it holds and how its time runs.
        let mut open: Vec<(usize, Node, Option<Rational>)> = vec![(usize::MAX, Node::new("layer"), None)];
        let mut next = nesting.intervals.iter().peekable();
        for (at, item) in lane.items.iter().enumerate() {
            while let Some(interval) = next.next_if(|interval| interval.from == at) {
                let node = self.open(part, &lane.items, interval);
                let ratio = match interval.kind {
                    Kind::Tuplet { ratio, .. } => {
                        Some(Rational::new(i64::from(ratio.actual), i64::from(ratio.normal)))
                    }
                    Kind::Tremolo => Some(Rational::whole(2)),
                    Kind::Beam => None,
                };
                open.push((interval.to, node, ratio));
            }
            let scale = open
                .iter()
                .filter_map(|(_, _, ratio)| *ratio)
                .fold(Rational::ONE, |all, one| all * one);
            let in_tremolo = open.last().is_some_and(|(_, node, _)| node.is("fTrem"));
            let nodes = self.item(part, lane, at, item, scale, in_tremolo, &beamed);
            if let Some((_, parent, _)) = open.last_mut() {
                nodes.into_iter().for_each(|node| parent.push(node));
            }
            while open.len() > 1 && open.last().is_some_and(|(to, ..)| *to <= at) {
                let Some((_, node, _)) = open.pop() else { break };
                if let Some((_, parent, _)) = open.last_mut() {
                    parent.push(node);
                }
            }
        }
        open.pop()
            .map(|(_, node, _)| node.into_children())
            .unwrap_or_default()
    }

    fn open(&mut self, part: usize, items: &[Item<'p>], interval: &Interval) -> Node {
        let first = items.get(interval.from).and_then(Item::event);
        let name = first.map_or_else(String::new, |event| event.id.to_string());
        match interval.kind {
            Kind::Beam => Node::new("beam").id(format!("{name}-beam")),
            Kind::Tremolo => {
                let strokes = first.and_then(super::marks::tremolo_between).unwrap_or(3);
                let pair = self.tremolo_span(part, first);
                let mut node = Node::new("fTrem")
                    .id(pair.map_or_else(|| format!("{name}-tremolo"), |id| id.to_string()));
                if (1..=6).contains(&strokes) {
                    node.set("beams", strokes);
                } else {
                    node.set("form", "unmeas");
                }
                if pair.is_none() {
                    node.tag("no-span");
                }
                if strokes > 6 {
                    node.tag(format!("strokes.{strokes}"));
                }
                if let Some(first) = first {
                    super::marks::tremolo_words(first, true, &mut node);
                }
                node
            }
            Kind::Tuplet { ratio, span, depth } => {
                let node = Node::new("tuplet");
                match span.and_then(|id| self.span(part, id)) {
                    Some(span) => Self::tuplet_attributes(span, node.id(span.id)),
                    None => node
                        .id(format!("{name}-tuplet{}", depth + 1))
                        .attr("num", ratio.actual)
                        .attr("numbase", ratio.normal)
                        .attr("num.visible", "false")
                        .attr("bracket.visible", "false")
                        .tagged("no-bracket"),
                }
            }
        }
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "what stands around an item decides how it is written"
    )]
    fn item(
        &mut self,
        part: usize,
        lane: &Lane<'p>,
        at: usize,
        item: &Item<'p>,
        scale: Rational,
        in_tremolo: bool,
        beamed: &[Option<BeamWords>],
    ) -> Vec<Node> {
        match item {
            Item::Event(event) => {
                let mut node = self.event(part, event, lane.staff, scale, in_tremolo);
                if let Some(words) = beamed.get(at).and_then(Option::as_ref) {
                    node.inner(|node| words.put(node));
                }
                vec![node]
            }
            Item::Graces(graces, after) => self.graces(part, graces, *after, lane.staff),
            Item::Gap(length) => self.gap(*length * scale, *length),
            Item::Sign(node) => vec![node.clone()],
        }
    }

    fn gap(&mut self, printed: Quarters, length: Quarters) -> Vec<Node> {
        let space = || Node::new("space").tagged("gap");
        if let Some(values) = time::split(printed) {
            let known = values.into_iter().filter_map(names::duration);
            return known.map(|value| space().attr("dur", value)).collect();
        }
        let nearest = names::duration(time::nearest_value(printed)).unwrap_or("4");
        vec![space().attr("dur", nearest).maybe("dur.ppq", self.ticks(length))]
    }

    /// Grace notes: one before its note stands alone, others in a group.
    fn graces(&mut self, part: usize, graces: &[&'p Event], after: bool, staff: u8) -> Vec<Node> {
        let mut nodes: Vec<Node> = Vec::new();
        let beams = nest::grace_beams(graces);
        let mut at = 0;
        while let Some(event) = graces.get(at) {
            let beam = beams.iter().find(|(first, _)| *first == at);
            let last = beam.map_or(at, |(_, last)| *last);
            let members: Vec<&Event> = graces.get(at..=last).map(<[_]>::to_vec).unwrap_or_default();
            let words = if beam.is_some() {
                words_of(&members)
            } else {
                Vec::new()
            };
            let mut written: Vec<Node> = Vec::new();
            for (nth, event) in members.iter().enumerate() {
                let mut node = self.event(part, event, staff, Rational::ONE, false);
                match words.get(nth) {
                    Some(words) => node.inner(|node| words.put(node)),
                    None if !event.beams.is_empty() => node.inner(|node| loose_words(event).put(node)),
                    None => {}
                }
                written.push(node);
            }
            if beam.is_some() {
                let mut group = Node::new("beam").id(format!("{}-beam", event.id));
                written.into_iter().for_each(|node| group.push(node));
                nodes.push(group);
            } else {
                nodes.append(&mut written);
            }
            at = last + 1;
        }
        if graces.len() == 1 && !after {
            return nodes;
        }
        let slash = graces
            .first()
            .and_then(|event| event.grace)
            .is_some_and(|grace| grace.slash);
        let mut group = Node::new("graceGrp")
            .maybe(
                "xml:id",
                graces.first().map(|event| format!("{}-graces", event.id)),
            )
            .attr("attach", if after { "pre" } else { "post" })
            .attr("grace", if slash { "unacc" } else { "acc" });
        nodes.into_iter().for_each(|node| group.push(node));
        vec![group]
    }

    /// A beam over notes of two tuplets.
    fn beam_span(&mut self, events: &[&Event]) -> Node {
        let beamed: Vec<&&Event> = events.iter().filter(|event| !event.beams.is_empty()).collect();
        let pointers: Vec<String> = beamed.iter().filter_map(|event| self.pointer(event.id)).collect();
        let mut node = Node::new("beamSpan");
        if let (Some(first), Some(from), Some(to)) = (beamed.first(), pointers.first(), pointers.last()) {
            node = node
                .id(format!("{}-beam", first.id))
                .attr("startid", from)
                .attr("endid", to)
                .attr("plist", pointers.join(" "));
        }
        node
    }
}

/// The staff on which most of a voice's events stand; the upper of two.
fn home(events: &[&Event]) -> u8 {
    let mut counts: std::collections::BTreeMap<u8, usize> = std::collections::BTreeMap::new();
    for event in events {
        *counts.entry(event.staff).or_default() += 1;
    }
    counts
        .into_iter()
        .max_by_key(|(staff, count)| (*count, u8::MAX - staff))
        .map_or(1, |(staff, _)| staff)
}

/// Puts a voice's events of a bar into lanes; returns the first event for which there was no room.
fn voice_lanes<'p>(
    voice: u16,
    staff: u8,
    events: Vec<&'p Event>,
    lanes: &mut Vec<Lane<'p>>,
) -> Option<&'p Event> {
    let new = |further| Lane {
        voice,
        staff,
        further,
        ..Lane::default()
    };
    let mut own = vec![new(false)];
    let mut graces: Vec<&'p Event> = Vec::new();
    let mut last = 0;
    let mut left_out = None;
    for event in events {
        if let Some(grace) = event.grace {
            let same = |before: &&Event| {
                before.place == event.place && before.grace.is_some_and(|g| g.after == grace.after)
            };
            if !graces.last().is_none_or(same) {
                let after = graces
                    .first()
                    .and_then(|event| event.grace)
                    .is_some_and(|grace| grace.after);
                own.get_mut(last)
                    .into_iter()
                    .for_each(|lane| lane.put_graces(&mut graces, after));
            }
            graces.push(event);
            continue;
        }
        let after = graces
            .first()
            .and_then(|event| event.grace)
            .is_some_and(|grace| grace.after);
        let waits = graces
            .first()
            .is_some_and(|first| !after && first.place == event.place);
        if !waits {
            own.get_mut(last)
                .into_iter()
                .for_each(|lane| lane.put_graces(&mut graces, after));
        }
        let free = own.iter().position(|lane| lane.end <= event.place.offset);
        last = match free {
            Some(lane) => lane,
            None if own.len() < MOST_LANES => {
                own.push(new(true));
                own.len() - 1
            }
            None => {
                left_out = left_out.or(Some(event));
                continue;
            }
        };
        if let Some(lane) = own.get_mut(last) {
            lane.put_graces(&mut graces, false);
            lane.put(event);
        }
    }
    let after = graces
        .first()
        .and_then(|event| event.grace)
        .is_some_and(|grace| grace.after);
    own.get_mut(last)
        .into_iter()
        .for_each(|lane| lane.put_graces(&mut graces, after));
    lanes.append(&mut own);
    left_out
}

/// What a note says of its beams beside the beam that it is in.
#[derive(Debug, Default)]
struct BeamWords {
    unbroken: Option<u8>,
    loose: Option<String>,
    code: Option<String>,
}

impl BeamWords {
    fn put(&self, node: &mut Node) {
        if let Some(unbroken) = self.unbroken {
            node.set("breaksec", unbroken);
        }
        if let Some(loose) = &self.loose {
            node.set("beam", loose);
        }
        if let Some(code) = &self.code {
            node.tag(code);
        }
    }
}

fn beam_words(items: &[Item<'_>], nesting: &Nesting) -> Vec<Option<BeamWords>> {
    let mut words: Vec<Option<BeamWords>> = items.iter().map(|_| None).collect();
    let elements = nesting
        .intervals
        .iter()
        .filter(|i| matches!(i.kind, Kind::Beam))
        .map(|i| (i.from, i.to, false));
    let spans = nesting.beam_spans.iter().map(|(from, to)| (*from, *to, true));
    for (from, to, span) in elements.chain(spans) {
        let event_at = |at: usize| items.get(at).and_then(Item::event);
        let (notes, others): (Vec<usize>, Vec<usize>) = (from..=to)
            .filter(|at| event_at(*at).is_some())
            .partition(|at| event_at(*at).is_some_and(Event::is_note));
        let members: Vec<&Event> = notes.iter().filter_map(|at| event_at(*at)).collect();
        for (at, mut said) in notes.into_iter().zip(words_of(&members)) {
            if span && let Some(event) = event_at(at) {
                // Nothing stands around it from which the levels would follow.
                said.code = Some(beams::code(&event.beams));
            }
            words
                .get_mut(at)
                .into_iter()
                .for_each(|slot| *slot = Some(said.copy()));
        }
        // Rests that say what beam they are under.
        for at in others {
            if let Some(event) = event_at(at).filter(|event| !event.beams.is_empty()) {
                let said = BeamWords {
                    code: Some(beams::code(&event.beams)),
                    ..BeamWords::default()
                };
                words
                    .get_mut(at)
                    .into_iter()
                    .for_each(|slot| *slot = Some(said.copy()));
            }
        }
    }
    for at in &nesting.loose {
        let event = items.get(*at).and_then(Item::event);
        if let (Some(event), Some(slot)) = (event, words.get_mut(*at)) {
            *slot = Some(loose_words(event));
        }
    }
    words
}

impl BeamWords {
    fn copy(&self) -> Self {
        Self {
            unbroken: self.unbroken,
            loose: self.loose.clone(),
            code: self.code.clone(),
        }
    }
}

/// Beams that start or end nowhere, told note by note. Source: MEI 5, `data.BEAM`.
fn loose_words(event: &Event) -> BeamWords {
    let letters = event.beams.iter().zip(1..=6).map(|(beam, level)| {
        let letter = match beam {
            notation::Beam::Begin | notation::Beam::ForwardHook => 'i',
            notation::Beam::Continue => 'm',
            notation::Beam::End | notation::Beam::BackwardHook => 't',
        };
        format!("{letter}{level}")
    });
    BeamWords {
        loose: Some(letters.collect::<Vec<_>>().join(" ")),
        code: Some(beams::code(&event.beams)),
        unbroken: None,
    }
}

/// Where the inner levels of a beam break, and what is unusual about its notes' beams.
fn words_of(events: &[&Event]) -> Vec<BeamWords> {
    // A source that tells the first level only leaves the inner ones to the values.
    let tells_levels = events.iter().any(|event| event.beams.len() > 1);
    let levels = |event: &Event| {
        event
            .written
            .as_ref()
            .map_or(1, |written| flags(written.value).max(1))
    };
    let mut members: Vec<Member> = events
        .iter()
        .map(|event| Member {
            levels: levels(event),
            unbroken: None,
        })
        .collect();
    if tells_levels {
        for at in 1..events.len() {
            let (Some(from), Some(to)) = (events.get(at - 1), events.get(at)) else {
                continue;
            };
            let shared = beams::going_on(&from.beams, &to.beams);
            let usual = levels(from).min(levels(to));
            if let Some(member) = members.get_mut(at - 1)
                && shared < usual
                && shared > 0
            {
                member.unbroken = Some(shared);
            }
        }
    }
    let usual = beams::usual(&members);
    events
        .iter()
        .zip(members)
        .zip(usual)
        .map(|((event, member), usual)| BeamWords {
            unbroken: member.unbroken,
            loose: None,
            code: (event.beams != usual).then(|| beams::code(&event.beams)),
        })
        .collect()
}

/// Flags of a note value.
fn flags(value: notation::NoteValue) -> u8 {
    let below = notation::NoteValue::Quarter as i16 - value as i16;
    u8::try_from(below.max(0)).unwrap_or(0)
}

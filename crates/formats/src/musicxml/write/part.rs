//! In what order is a part written? Bar by bar: breaks, bar lines, what comes into force, voice after voice, each with
//! steps back and forth; words and signs where the first voice passes them, the others afterwards.

use super::attributes::{Attributes, end_of_group};
use super::divisions::Divisions;
use super::losses::{Losses, Of};
use super::marks::{Mark, Marks, marks};
use super::out::Out;
use crate::assemble::{bar_length, is_loose};
use notation::{
    BarGroupKind, BarIndex, BarSide, DirectionKind, Event, EventKind, Id, Part, Piece, Place, Quarters,
    SpanKind,
};
use std::collections::BTreeMap;
use std::ops::Range;

/// Writes one part.
pub(super) struct PartWriter<'p, 'o> {
    pub out: &'o mut Out,
    pub losses: &'o mut Losses,
    pub part: &'p Part,
    pub of: Of<'p>,
    pub divisions: Divisions,
    pub marks: Marks,
    /// Where the next element stands in the bar.
    pub cursor: Quarters,
    /// Names of the instruments that the part changes to.
    pub instruments: Vec<String>,
    /// Signs that are written at a note, by its id.
    pub at_notes: BTreeMap<Id, Vec<usize>>,
    /// The text that stands at the start of a bracket of the principal voice, by the span.
    pub principal: BTreeMap<Id, String>,
    number: usize,
    items: Vec<(Place, Item)>,
    /// How far steps forward reach in this bar.
    stepped: Quarters,
}

/// Something that stands at a place, in the order in which it is written there.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Item {
    LeftLine(usize),
    First,
    Key(usize),
    Metre(usize),
    Clef(usize),
    Transposition(usize),
    AttributeSign(usize),
    GroupEnd(usize),
    GroupStart(usize),
    MiddleLine(usize),
    SpanEnd(usize),
    Direction(usize),
    SpanStart(usize),
    Sound(usize),
    RightLine(usize),
}

impl<'p, 'o> PartWriter<'p, 'o> {
    pub(super) fn new(
        out: &'o mut Out,
        losses: &'o mut Losses,
        piece: &'p Piece,
        number: usize,
        part: &'p Part,
        of: Of<'p>,
    ) -> Self {
        let marks = marks(of, part, losses);
        let mut writer = Self {
            out,
            losses,
            part,
            of,
            divisions: Divisions::of(piece, part, number),
            marks,
            cursor: Quarters::ZERO,
            instruments: super::header::changed_instruments(part),
            at_notes: BTreeMap::new(),
            principal: BTreeMap::new(),
            number,
            items: Vec::new(),
            stepped: Quarters::ZERO,
        };
        writer.gather();
        writer
    }

    /// All that stands at places, in their order.
    fn gather(&mut self) {
        let (part, piece, number) = (self.part, self.of.piece, self.number);
        let mut items: Vec<(Place, Item)> = vec![(Place::default(), Item::First)];
        let at = |index: usize, place: Place, item: fn(usize) -> Item| (place, item(index));
        items.extend(
            part.keys
                .iter()
                .enumerate()
                .map(|(n, c)| at(n, c.place, Item::Key)),
        );
        items.extend(
            part.metres
                .iter()
                .enumerate()
                .map(|(n, c)| at(n, c.place, Item::Metre)),
        );
        items.extend(
            part.clefs
                .iter()
                .enumerate()
                .map(|(n, c)| at(n, c.place, Item::Clef)),
        );
        items.extend(
            part.transpositions
                .iter()
                .enumerate()
                .map(|(n, c)| at(n, c.place, Item::Transposition)),
        );
        self.gather_groups(&mut items);
        self.gather_directions(&mut items);
        for (index, (place, mark)) in self.marks.places.iter().enumerate() {
            items.push((
                *place,
                if mark.start {
                    Item::SpanStart(index)
                } else {
                    Item::SpanEnd(index)
                },
            ));
        }
        let lines = piece
            .barlines
            .iter()
            .enumerate()
            .filter(|(_, line)| line.part == number);
        for (index, line) in lines {
            let (item, offset) = match line.side {
                BarSide::Left => (Item::LeftLine(index), Quarters::ZERO),
                BarSide::Middle => (Item::MiddleLine(index), line.place.offset),
                BarSide::Right => (Item::RightLine(index), self.length_of(line.place.bar)),
            };
            if offset != line.place.offset {
                let what = "a bar line stands elsewhere than at its side of the bar";
                self.losses.lost(self.of, line.place, Some(line.id), what);
            }
            items.push((Place { offset, ..line.place }, item));
        }
        let hints = piece
            .sound_hints
            .iter()
            .enumerate()
            .filter(|(_, hint)| hint.part == number);
        items.extend(hints.map(|(index, hint)| (hint.place, Item::Sound(index))));
        items.sort();
        let bars = piece.bars.len();
        for (place, item) in items.iter().filter(|(place, _)| place.bar.get() >= bars) {
            let what = format!("what stands after the last bar ({item:?})");
            self.losses.lost(self.of, *place, None, what);
        }
        self.items = items;
    }

    /// Whether a rest is written as one that fills its bar.
    pub(super) fn fills_bar(&mut self, event: &Event) -> bool {
        let fills = fills(self.of.piece, event);
        let whole = matches!(event.kind, EventKind::Rest { whole_bar: true });
        if whole && !fills && Some(event.duration) != self.metre_at(event.place.bar) {
            self.lost(event, "a rest that fills its bar is not as long as the bar");
        }
        fills
    }

    fn length_of(&self, bar: BarIndex) -> Quarters {
        self.of
            .piece
            .bars
            .get(bar.get())
            .map_or(Quarters::ZERO, |bar| bar.length)
    }

    fn gather_groups(&mut self, items: &mut Vec<(Place, Item)>) {
        let last = BarIndex::from_usize(self.of.piece.bars.len().saturating_sub(1));
        for (index, group) in self.part.bar_groups.iter().enumerate() {
            let known = match &group.kind {
                BarGroupKind::Other(name) => matches!(name.as_str(), "slash" | "beat-repeat"),
                _ => true,
            };
            if !known || group.bars == 0 || group.start > last {
                let place = Place::start_of(group.start);
                self.losses.lost(
                    self.of,
                    place,
                    Some(group.id),
                    "a sign over several bars of a kind that MusicXML has not",
                );
                continue;
            }
            items.push((Place::start_of(group.start), Item::GroupStart(index)));
            let alike =
                |kind: &BarGroupKind| std::mem::discriminant(kind) == std::mem::discriminant(&group.kind);
            let later = self.part.bar_groups.get(index + 1..).unwrap_or_default();
            let next = later
                .iter()
                .find(|next| alike(&next.kind))
                .map(|next| next.start.0);
            let end_bar = group.start.0.saturating_add(group.bars);
            // One that starts ends the one before.
            let ended = next.is_some_and(|next| next < end_bar);
            if ended && next.is_some_and(|next| next.saturating_sub(group.start.0).max(1) != group.bars) {
                let place = Place::start_of(group.start);
                self.losses.lost(
                    self.of,
                    place,
                    Some(group.id),
                    "a sign over several bars reaches into another one",
                );
            }
            if group.kind != BarGroupKind::MultiRest && !ended {
                let end = end_of_group(group.start.0, group.bars, last.0, self.length_of(last));
                items.push((end, Item::GroupEnd(index)));
            }
        }
    }

    fn gather_directions(&mut self, items: &mut Vec<(Place, Item)>) {
        let part = self.part;
        // The sign at the start of a bracket of the principal voice is written with it.
        let mut brackets: Vec<(Place, Id)> = Vec::new();
        for (place, mark) in &self.marks.places {
            if let Some(span) = part.spans.get(mark.span).filter(|_| mark.start)
                && span.kind == SpanKind::Other("principal-voice".to_owned())
            {
                brackets.push((*place, span.id));
            }
        }
        for (index, direction) in part.directions.iter().enumerate() {
            let item = match &direction.kind {
                DirectionKind::Sign { name, text } => match name.as_str() {
                    "footnote" | "staff-tuning" | "capo" | "interchangeable" => {
                        if direction.staff.is_some() || direction.voice.is_some() || direction.side.is_some()
                        {
                            self.lost_direction(
                                index,
                                format!("the staff, voice or side of the sign “{name}”"),
                            );
                        }
                        Item::AttributeSign(index)
                    }
                    "other-notation" => match self.note_at(direction.place) {
                        Some(id) => {
                            self.at_notes.entry(id).or_default().push(index);
                            continue;
                        }
                        None => Item::Direction(index),
                    },
                    "principal-voice" => {
                        match brackets.iter().position(|(place, _)| *place == direction.place) {
                            Some(at) => {
                                self.principal.insert(brackets.remove(at).1, text.clone());
                                continue;
                            }
                            None => Item::Direction(index),
                        }
                    }
                    _ => Item::Direction(index),
                },
                _ => Item::Direction(index),
            };
            items.push((direction.place, item));
        }
    }

    fn note_at(&self, place: Place) -> Option<Id> {
        let events = &self.part.events;
        let from = events.partition_point(|event| event.place < place);
        let here = events
            .get(from..)?
            .iter()
            .take_while(|event| event.place == place);
        here.filter(|event| event.kind != EventKind::Space)
            .map(|event| event.id)
            .next()
    }

    /// Writes all bars.
    pub(super) fn write(&mut self) {
        if !self.divisions.exact {
            let what = "the lengths of this part need more divisions of a quarter note than MusicXML programs can count; they were rounded";
            self.losses.lost(self.of, Place::default(), None, what);
        }
        let items = std::mem::take(&mut self.items);
        let order = self.in_order();
        let (mut next_item, mut next_event) = (0, 0);
        for (index, bar) in self.of.piece.bars.iter().enumerate() {
            let run = |next: &mut usize, length: usize, is_here: &dyn Fn(usize) -> bool| -> Range<usize> {
                let start = *next;
                while *next < length && is_here(*next) {
                    *next += 1;
                }
                start..*next
            };
            let here = run(&mut next_item, items.len(), &|at| items[at].0.bar.get() <= index);
            let events = run(&mut next_event, order.len(), &|at| {
                order[at].place.bar.get() <= index
            });
            let label = bar.label.trim();
            let number = if label.is_empty() {
                (index + 1).to_string()
            } else {
                label.to_owned()
            };
            self.out
                .tag("measure")
                .attr("number", number)
                .yes("implicit", bar.implicit)
                .maybe("id", (self.number == 0).then_some(bar.id))
                .open();
            if self.number == 0 && (bar.new_system || bar.new_page) {
                self.out
                    .tag("print")
                    .yes("new-system", bar.new_system)
                    .yes("new-page", bar.new_page)
                    .empty();
            }
            if self.number == 0 && label.is_empty() {
                let place = Place::start_of(BarIndex::from_usize(index));
                self.losses.told_otherwise(
                    self.of,
                    place,
                    Some(bar.id),
                    "a bar without a number was given one: MusicXML wants it",
                );
            }
            self.bar(index, &items[here], &order[events]);
            self.out.close("measure");
        }
        for event in order.get(next_event..).unwrap_or_default() {
            self.lost(event, "a note or rest stands after the last bar");
        }
    }

    /// The events in order of place; nearly always they are already.
    fn in_order(&self) -> Vec<&'p Event> {
        let mut events: Vec<&Event> = self.part.events.iter().collect();
        let key = |event: &&Event| {
            let (class, order) = match event.grace {
                Some(grace) if !grace.after => (0, grace.order),
                None => (1, 0),
                Some(grace) => (2, grace.order),
            };
            (event.place, class, order, event.voice)
        };
        if !events.is_sorted_by_key(key) {
            events.sort_by_key(key);
        }
        events
    }

    fn bar(&mut self, index: usize, items: &[(Place, Item)], events: &[&'p Event]) {
        (self.cursor, self.stepped) = (Quarters::ZERO, Quarters::ZERO);
        let mut voices: BTreeMap<u16, Vec<&Event>> = BTreeMap::new();
        for event in events {
            voices.entry(event.voice).or_default().push(event);
        }
        let mut left = items;
        let mut later: Vec<(Place, Item)> = Vec::new();
        let mut voices = voices.into_values();
        for event in voices.next().unwrap_or_default() {
            self.step_to(event, &mut left, &mut later);
            self.event(event);
        }
        self.pass(&mut left, &mut later);
        later.extend_from_slice(left);
        // Bar lines at the end come last of all.
        let lines = later
            .iter()
            .position(|(_, item)| matches!(item, Item::RightLine(_)))
            .unwrap_or(later.len());
        let lines = later.split_off(lines);
        // Back through what was passed over, then on to what comes after: steps forward would make the bar longer.
        let passed = later.partition_point(|(place, _)| place.offset < self.cursor);
        let (before, after) = later.split_at(passed);
        let same = |a: &(Place, Item), b: &(Place, Item)| a.0 == b.0;
        for run in before.chunk_by(same).rev().chain(after.chunk_by(same)) {
            if let Some((place, _)) = run.first() {
                self.go_to(place.offset);
                self.items_here(run);
            }
        }
        for event in voices.flatten() {
            self.go_to_event(event);
            self.event(event);
        }
        self.fill(index);
        self.items_here(&lines);
    }

    /// Goes on to an event of the first voice, with what stands on the way.
    fn step_to(&mut self, event: &Event, left: &mut &[(Place, Item)], later: &mut Vec<(Place, Item)>) {
        self.pass(left, later);
        self.go_to_event(event);
        self.pass(left, later);
    }

    fn go_to_event(&mut self, event: &Event) {
        // Grace notes after their note are written where it ends.
        if event.grace.is_some_and(|grace| grace.after) && self.cursor > event.place.offset {
            self.lost(
                event,
                "grace notes after a note can't be told from those before the next",
            );
        } else {
            self.go_to(event.place.offset);
        }
    }

    /// Writes what stands where the cursor is; what stands before it is kept for later.
    fn pass(&mut self, left: &mut &[(Place, Item)], later: &mut Vec<(Place, Item)>) {
        let before = left.partition_point(|(place, _)| place.offset < self.cursor);
        let upto = left.partition_point(|(place, _)| place.offset <= self.cursor);
        later.extend_from_slice(&left[..before]);
        let here = &left[before..upto];
        let lines = here
            .iter()
            .position(|(_, item)| matches!(item, Item::RightLine(_)))
            .unwrap_or(here.len());
        *left = &left[before + lines..];
        self.items_here(&here[..lines]);
    }

    /// Writes what stands at one place.
    fn items_here(&mut self, items: &[(Place, Item)]) {
        let mut attributes = Attributes::default();
        let mut open = false;
        for (_, item) in items {
            match item {
                Item::First => attributes.first = true,
                Item::Key(at) => attributes.keys.push(*at),
                Item::Metre(at) => attributes.metres.push(*at),
                Item::Clef(at) => attributes.clefs.push(*at),
                Item::Transposition(at) => attributes.transpositions.push(*at),
                Item::AttributeSign(at) => attributes.signs.push(*at),
                Item::GroupEnd(at) => attributes.ends.push(*at),
                Item::GroupStart(at) => attributes.starts.push(*at),
                _ => {
                    if std::mem::take(&mut open) {
                        self.attributes(&std::mem::take(&mut attributes));
                    }
                    self.item(*item);
                    continue;
                }
            }
            open = true;
        }
        if open {
            self.attributes(&attributes);
        }
    }

    fn item(&mut self, item: Item) {
        let piece = self.of.piece;
        match item {
            Item::LeftLine(at) | Item::MiddleLine(at) | Item::RightLine(at) => {
                if let Some(line) = piece.barlines.get(at) {
                    self.bar_line(line);
                }
            }
            Item::Direction(at) => self.direction(at),
            Item::SpanEnd(at) | Item::SpanStart(at) => {
                let mark: Option<Mark> = self.marks.places.get(at).map(|(_, mark)| *mark);
                mark.into_iter().for_each(|mark| self.place_mark(mark));
            }
            Item::Sound(at) => {
                if let Some(hint) = piece.sound_hints.get(at) {
                    self.sound(hint);
                }
            }
            _ => {}
        }
    }

    /// Moves the cursor without a sound.
    fn go_to(&mut self, offset: Quarters) {
        let offset = if offset.is_negative() || offset.is_overflow() {
            Quarters::ZERO
        } else {
            offset
        };
        let steps = self.divisions.count(offset) - self.divisions.count(self.cursor);
        self.cursor = offset;
        if steps > 0 {
            self.stepped = self.stepped.max(offset);
        }
        let name = if steps < 0 { "backup" } else { "forward" };
        if steps != 0 {
            self.out.open(name);
            self.out.leaf("duration", steps.unsigned_abs());
            self.out.close(name);
        }
    }

    /// The length that the metre in force at the start of a bar asks for.
    fn metre_at(&self, bar: BarIndex) -> Option<Quarters> {
        let metres = &self.part.metres;
        let upto = metres.partition_point(|change| change.place <= Place::start_of(bar));
        let mut before = metres.get(..upto).unwrap_or_default().iter();
        let change = before.rfind(|change| change.staff.is_none_or(|staff| staff == 1))?;
        change.value.length()
    }

    /// Makes the bar as long as it is, where its notes in all parts don't.
    fn fill(&mut self, index: usize) {
        let piece = self.of.piece;
        let place = Place::start_of(BarIndex::from_usize(index));
        let metre = self.metre_at(place.bar);
        let Some(bar) = piece.bars.get(index) else { return };
        let (content, rest, beside) = content(piece, BarIndex::from_usize(index));
        let content = content.max(self.stepped);
        let loose = is_loose(bar.implicit, index, beside);
        let is_mine = self.number == 0 || self.stepped.is_positive();
        if !is_mine || bar_length(content, rest, metre, loose) == bar.length {
            return;
        }
        let with_step = content.max(bar.length);
        if bar_length(with_step, rest, metre, loose) == bar.length {
            // At the end of a whole bar's rest there is no step left to write.
            if self.cursor == bar.length {
                self.go_to(Quarters::ZERO);
            }
            self.go_to(bar.length);
        } else {
            let what = "the bar is shorter than its notes, or empty and yet not as long as its metre";
            self.losses.lost(self.of, place, Some(bar.id), what);
        }
    }
}

/// True for a rest that is said to fill its bar: one that is as long. A shorter one, in a part whose metre is not that of
/// the others, is known by standing alone.
fn fills(piece: &Piece, event: &Event) -> bool {
    matches!(event.kind, EventKind::Rest { whole_bar: true })
        && event.place.offset.is_zero()
        && piece
            .bars
            .get(event.place.bar.get())
            .is_some_and(|bar| bar.length == event.duration)
}

/// How far notes and silences of all parts reach in a bar, how long the longest whole-bar rest is, and whether one part has both.
fn content(piece: &Piece, bar: BarIndex) -> (Quarters, Option<Quarters>, bool) {
    let mut reach = Quarters::ZERO;
    let mut rest = None;
    let mut beside = false;
    for part in &piece.parts {
        let (mut rests, mut own) = (false, Quarters::ZERO);
        for event in part.bar_events(bar) {
            if fills(piece, event) {
                rests = true;
                rest = Some(rest.map_or(event.duration, |rest: Quarters| rest.max(event.duration)));
            } else {
                own = own.max(event.end_offset());
            }
        }
        beside |= rests && own.is_positive();
        reach = reach.max(own);
    }
    (reach, rest, beside)
}

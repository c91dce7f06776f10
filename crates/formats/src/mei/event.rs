//! What does a note, chord, rest or space say? How long it is, and the event that it becomes.

use super::layer::Layer;
use super::music::{Music, Target};
use super::values::{is_false, is_true, note_value, number, short};
use crate::assemble::LONGEST_BAR;
use crate::xml::El;
use notation::{Event, EventKind, Grace, NoteValue, Quarters, Rational, Severity, TupletRatio, Written};

/// More tuplets around one note than any page has.
const MOST_TUPLETS: usize = 16;
/// More heads than any chord has.
const MOST_HEADS: usize = 1_000;

impl<'a> Music<'a> {
    /// Reads a note, chord, rest or space.
    pub(super) fn timed(&mut self, el: El<'_, 'a>, layer: &mut Layer) {
        self.score.taken += 1;
        let heads = if el.name() == "chord" {
            self.notes_of(el)
        } else {
            Vec::new()
        };
        let grace = self.grace(el, &heads, layer);
        let spans = self.begin_tuplet_spans(el, &heads, layer);
        let attr_ratio = self.begin_attr_tuplet(el, layer);
        let (written, duration) = self.timing(el, &heads, layer, &spans, attr_ratio, grace.is_some());
        let duration = self.own_length(el, duration);
        let kind = match el.name() {
            "rest" => EventKind::Rest { whole_bar: false },
            "space" => EventKind::Space,
            _ => EventKind::Chord(Vec::new()),
        };
        let mut event = self.blank_event(el, kind, layer.cursor, duration, written);
        event.grace = grace;
        event.cue = layer.cue || is_true(el, "cue") || el.attr("size") == Some("cue");
        event.printed = if el.name() == "chord" && !heads.is_empty() {
            Self::is_printed(el) && heads.iter().any(|head| !is_false(*head, "visible"))
        } else {
            Self::is_printed(el)
        };
        if el.name() == "note" {
            let head = self.head(el, None, layer);
            event.staff = head.staff;
            event.kind = EventKind::Chord(vec![head]);
        } else if el.name() == "chord" {
            let read: Vec<notation::Head> = heads
                .iter()
                .map(|note| self.head(*note, Some(el), layer))
                .collect();
            event.staff = read.first().map_or(layer.staff, |head| head.staff);
            // A chord without notes holds its time all the same.
            event.kind = if read.is_empty() {
                EventKind::Space
            } else {
                EventKind::Chord(read)
            };
        } else {
            event.staff = self.staff_of(el, layer);
        }
        self.own_event(el, &heads, &mut event);
        if event.grace.is_none() {
            layer.graces = 0;
        }
        let at = self.push_event(el, event, layer);
        for (nth, head) in heads.iter().enumerate() {
            self.name_head(*head, layer.part, at, nth);
            self.octave_sounding(*head, layer.part, at, nth);
        }
        if el.name() == "note" {
            self.name_head(el, layer.part, at, 0);
            self.octave_sounding(el, layer.part, at, 0);
        }
        self.note_marks(el, at, 0, layer);
        for (nth, head) in heads.iter().enumerate() {
            self.note_marks(*head, at, nth, layer);
        }
        self.attr_beam(el, layer, at);
        self.own_beams(el, layer.part, at);
        self.end_attr_tuplet(el, layer, at);
        self.end_tuplet_spans(el, &heads, layer, at);
        self.advance(layer, duration);
    }

    fn notes_of<'t>(&mut self, chord: El<'t, 'a>) -> Vec<El<'t, 'a>> {
        let mut notes = self.content(chord);
        notes.retain(|child| child.name() == "note");
        notes.truncate(MOST_HEADS);
        notes
    }

    /// Adds an event to its part.
    pub(super) fn push_event(&mut self, el: El<'_, 'a>, mut event: Event, layer: &Layer) -> usize {
        event.voice = layer.voice;
        if !event.is_note() && event.staff == 1 {
            event.staff = layer.staff;
        }
        let Some(state) = self.parts.get_mut(layer.part) else {
            return 0;
        };
        let at = state.part.events.len();
        state.part.events.push(event);
        let target = Target::Event {
            part: u32::try_from(layer.part).unwrap_or(u32::MAX),
            event: u32::try_from(at).unwrap_or(u32::MAX),
            head: None,
        };
        if el.name() != "note" {
            self.name(el, target);
        }
        at
    }

    fn name_head(&mut self, el: El<'_, 'a>, part: usize, event: usize, head: usize) {
        let target = Target::Event {
            part: u32::try_from(part).unwrap_or(u32::MAX),
            event: u32::try_from(event).unwrap_or(u32::MAX),
            head: u32::try_from(head).ok(),
        };
        self.name(el, target);
    }

    /// The staff of the part on which an element is drawn.
    pub(super) fn staff_of(&mut self, el: El<'_, 'a>, layer: &Layer) -> u8 {
        let Some(said) = el.attr("staff") else {
            return layer.staff;
        };
        let number = said.split_whitespace().next().unwrap_or_default();
        let known = self.staff_numbers.get(number).and_then(|at| self.staves.get(*at));
        known
            .filter(|staff| staff.part == layer.part)
            .map_or(layer.staff, |staff| staff.index)
    }

    /// A grace note: one by itself, or in a group. Its stroke is stated, or meant by “unacc” (an acciaccatura).
    fn grace(&mut self, el: El<'_, 'a>, heads: &[El<'_, 'a>], layer: &mut Layer) -> Option<Grace> {
        let said = el
            .attr("grace")
            .or_else(|| heads.iter().find_map(|head| head.attr("grace")));
        let group = layer.grace;
        if said.is_none() && group.is_none() || el.name() == "space" {
            return None;
        }
        if el.attr("grace.time").is_some() {
            self.unread("@grace.time", el.name(), crate::report::Why::NoPlace);
        }
        let stroke = |el: El<'_, 'a>| match el.attr("stem.mod") {
            Some(stroke) => stroke.ends_with("slash"),
            None => el.attr("grace") == Some("unacc"),
        };
        let order = layer.graces;
        layer.graces = order.saturating_add(1);
        Some(Grace {
            slash: stroke(el) || heads.iter().any(|head| stroke(*head)) || group == Some(true),
            order,
            after: false,
        })
    }

    /// What is printed for the duration, and the duration in quarter notes.
    fn timing(
        &mut self,
        el: El<'_, 'a>,
        heads: &[El<'_, 'a>],
        layer: &mut Layer,
        spans: &[TupletRatio],
        attr_ratio: Option<TupletRatio>,
        grace: bool,
    ) -> (Option<Written>, Quarters) {
        let first = |name: &str| {
            let own = el.attr(name);
            own.or_else(|| heads.iter().find_map(|head| head.attr(name)))
        };
        let default = self
            .staves
            .get(layer.staff_at)
            .and_then(|staff| staff.default_dur);
        let said = first("dur").filter(|dur| !dur.is_empty());
        let value = said.and_then(note_value);
        let mut tuplets: Vec<TupletRatio> = layer.ratios.iter().chain(spans).copied().collect();
        // A note may repeat the numbers of the tuplet that it stands in.
        let own = own_ratio(el).filter(|own| tuplets.last() != Some(own));
        tuplets.extend(attr_ratio.or(own));
        tuplets.truncate(MOST_TUPLETS);
        let dots = self.dots(el, heads);
        let ticks = self.in_ticks(first("dur.ppq").or(first("dur.ges")));
        let value = match (value, said) {
            (Some(value), _) => Some(value),
            (None, Some(unknown)) => {
                self.find(
                    Severity::Caution,
                    "note-value-unknown",
                    Some(layer.part),
                    layer.cursor,
                    format!("“{}” is no note value that is known here", short(unknown)),
                    "check this note against the page",
                );
                None
            }
            (None, None) if grace => default.or(Some(NoteValue::Eighth)),
            (None, None) if ticks.is_some() => first("dur.ges").and_then(note_value),
            (None, None) => default.or_else(|| first("dur.ges").and_then(note_value)),
        };
        let written = value.map(|value| Written { value, dots, tuplets });
        if grace {
            return (written, Quarters::ZERO);
        }
        let printed = written.as_ref().map(Written::quarters);
        let Some(duration) = printed.or(ticks) else {
            self.find(
                Severity::Caution,
                "duration-missing",
                Some(layer.part),
                layer.cursor,
                "a note has no duration; it was kept without one",
                "check the rhythm of this bar against the page",
            );
            return (written, Quarters::ZERO);
        };
        if duration.is_overflow() || duration > LONGEST_BAR || duration.is_negative() {
            self.find(
                Severity::Caution,
                "duration-unusable",
                Some(layer.part),
                layer.cursor,
                "the duration of a note is no length of time that can be counted",
                "check the rhythm of this bar against the page",
            );
            return (None, Quarters::ZERO);
        }
        (written, duration)
    }

    fn dots(&mut self, el: El<'_, 'a>, heads: &[El<'_, 'a>]) -> u8 {
        let said = el
            .attr("dots")
            .or_else(|| heads.iter().find_map(|head| head.attr("dots")));
        let drawn = el
            .children()
            .filter(|child| child.name() == "dot")
            .take(10)
            .count();
        let said = said.and_then(|dots| dots.parse::<u8>().ok());
        said.map_or_else(|| u8::try_from(drawn).unwrap_or(0), |dots| dots.min(10))
    }

    /// A duration in ticks (`48`, older `48p`) as quarter notes.
    fn in_ticks(&self, said: Option<&str>) -> Option<Quarters> {
        let said = said?;
        let ticks = Rational::parse(said.strip_suffix('p').unwrap_or(said))?;
        let length = ticks
            / self
                .ppq
                .filter(|_| note_value(said).is_none() || said.ends_with('p'))
                .or(self.ppq)?;
        (!length.is_overflow() && !length.is_negative()).then_some(length)
    }
}

/// So many in the time of so many, by the note's own attributes.
pub(super) fn own_ratio(el: El<'_, '_>) -> Option<TupletRatio> {
    let whole = |name: &str| {
        let n = number(el, name)?;
        u16::try_from(n.num()).ok().filter(|n2| *n2 > 0 && n.is_whole())
    };
    let ratio = TupletRatio {
        actual: whole("num")?,
        normal: whole("numbase")?,
    };
    (ratio.actual != ratio.normal).then_some(ratio)
}

//! Where does each end of a span stand in the file? At a note, in a direction at a place, or on a bar line.

use super::losses::{Losses, Of};
use super::numbers::{Ends, Order, numbers};
use notation::{Anchor, BarIndex, Event, Id, Part, Place, Quarters, Span, SpanKind};
use std::collections::BTreeMap;

/// One end of a span as it is written.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mark {
    /// Index of the span in its part.
    pub span: usize,
    pub number: u8,
    pub start: bool,
}

/// All ends of spans of a part.
#[derive(Debug, Default)]
pub(super) struct Marks {
    /// At notes: by the event, the head if it belongs to one, in order of writing.
    notes: BTreeMap<Id, Vec<Mark>>,
    /// At places: in directions, or for wavy lines on bar lines.
    pub places: Vec<(Place, Mark)>,
}

impl Marks {
    /// The marks at a note.
    pub(super) fn at(&self, id: Id) -> &[Mark] {
        self.notes.get(&id).map_or(&[], Vec::as_slice)
    }
}

/// What is paired with what: spans of one family are told apart by numbers.
fn family(kind: &SpanKind) -> Option<u8> {
    Some(match kind {
        SpanKind::Slur => 0,
        SpanKind::Crescendo { .. } | SpanKind::Diminuendo { .. } => 1,
        SpanKind::Ottava { .. } => 2,
        SpanKind::Tuplet { .. } => 3,
        SpanKind::TrillLine => 4,
        SpanKind::Glissando => 5,
        SpanKind::Slide => 6,
        SpanKind::Pedal => 7,
        SpanKind::Dashes => 8,
        SpanKind::Bracket => 9,
        SpanKind::TremoloPair { .. } => 10,
        SpanKind::Other(name) => match name.as_str() {
            "hammer-on" => 11,
            "pull-off" => 12,
            "principal-voice" => 13,
            _ => return None,
        },
    })
}

const FAMILIES: u8 = 14;

/// True for what is written at notes rather than in directions.
fn at_notes(kind: &SpanKind) -> bool {
    matches!(
        kind,
        SpanKind::Slur
            | SpanKind::Tuplet { .. }
            | SpanKind::TrillLine
            | SpanKind::Glissando
            | SpanKind::Slide
            | SpanKind::TremoloPair { .. }
    ) || matches!(kind, SpanKind::Other(name) if name == "hammer-on" || name == "pull-off")
}

/// An end that was found: where it is written, and its order in reading.
#[derive(Clone, Copy)]
struct Found {
    order: Order,
    /// The event or head; none for a free place.
    element: Option<Id>,
    place: Place,
}

/// Notes and heads by their ids.
struct Finder<'p> {
    part: &'p Part,
    by_id: BTreeMap<Id, usize>,
}

impl<'p> Finder<'p> {
    fn new(part: &'p Part) -> Self {
        let mut by_id = BTreeMap::new();
        for (index, event) in part.events.iter().enumerate() {
            by_id.insert(event.id, index);
            by_id.extend(event.heads().iter().map(|head| (head.id, index)));
        }
        Self { part, by_id }
    }

    fn event(&self, id: Id) -> Option<&'p Event> {
        self.part.events.get(*self.by_id.get(&id)?)
    }

    /// The note at a place, on a staff if one is said; a rest if there is no note.
    fn note_at(&self, place: Place, staff: Option<u8>) -> Option<&'p Event> {
        let events = &self.part.events;
        let from = events.partition_point(|event| event.place < place);
        let here = events
            .get(from..)
            .unwrap_or_default()
            .iter()
            .take_while(|event| event.place == place);
        let on_staff =
            here.filter(|event| staff.is_none_or(|staff| event.staff == staff) && event.grace.is_none());
        on_staff.max_by_key(|event| (event.is_note(), std::cmp::Reverse(event.voice)))
    }

    fn find(&self, anchor: Anchor, span: &Span, is_end: bool) -> Option<Found> {
        let event = anchor.element.and_then(|id| self.event(id));
        if at_notes(&span.kind) {
            let on_bar_line = span.kind == SpanKind::TrillLine && event.is_none();
            let event = event.or_else(|| self.note_at(anchor.place, span.staff).filter(|_| !on_bar_line));
            if let Some(event) = event {
                let element = anchor
                    .element
                    .filter(|id| self.by_id.contains_key(id))
                    .unwrap_or(event.id);
                return Some(Found {
                    order: order(event),
                    element: Some(element),
                    place: event.place,
                });
            }
            return on_bar_line.then_some(free(anchor.place));
        }
        // An octave sign holds to the end of its last note; in MusicXML its end stands after that.
        let place = match (event, &span.kind) {
            (Some(event), SpanKind::Ottava { .. }) if is_end => Place {
                offset: event.end_offset(),
                ..event.place
            },
            _ => anchor.place,
        };
        Some(free(place))
    }
}

fn free(place: Place) -> Found {
    Found {
        order: (place.bar, place.offset, 1, 0),
        element: None,
        place,
    }
}

fn order(event: &Event) -> Order {
    let (class, order) = event.grace.map_or((1, 0), |grace| (0, grace.order));
    (event.place.bar, event.place.offset, class, order)
}

/// Places and numbers all spans of a part.
pub(super) fn marks(of: Of<'_>, part: &Part, losses: &mut Losses) -> Marks {
    let finder = Finder::new(part);
    let mut found: Vec<(usize, Option<Found>, Option<Found>)> = Vec::with_capacity(part.spans.len());
    for (index, span) in part.spans.iter().enumerate() {
        let start = span.start.and_then(|anchor| finder.find(anchor, span, false));
        let end = span.end.and_then(|anchor| finder.find(anchor, span, true));
        let inside = |found: &Found| found.place.bar.get() < of.piece.bars.len();
        let lost = start.is_none() && span.start.is_some()
            || end.is_none() && span.end.is_some()
            || family(&span.kind).is_none()
            || start.is_none() && end.is_none()
            || ![start, end].iter().flatten().all(inside);
        if lost {
            lose(
                of,
                span,
                losses,
                "can't be written: it stands at no note, or is of no kind that MusicXML has",
            );
        } else {
            found.push((index, start, end));
        }
    }
    let mut marks = Marks::default();
    for family_number in 0..FAMILIES {
        let kind = |index: usize| part.spans.get(index).and_then(|span| family(&span.kind));
        let of_family: Vec<_> = found
            .iter()
            .filter(|(index, ..)| kind(*index) == Some(family_number))
            .collect();
        let ends: Vec<Ends> = of_family
            .iter()
            .map(|(_, start, end)| Ends {
                start: start.map(|found| found.order),
                end: end.map(|found| found.order),
            })
            .collect();
        for ((index, start, end), number) in of_family.into_iter().zip(numbers(&ends)) {
            let Some(number) = number else {
                if let Some(span) = part.spans.get(*index) {
                    lose(
                        of,
                        span,
                        losses,
                        "can't be written: it ends before it starts, or more than 16 are open at once",
                    );
                }
                continue;
            };
            let ends = [(end, false), (start, true)];
            for (found, start) in ends
                .into_iter()
                .filter_map(|(found, start)| Some(((*found)?, start)))
            {
                let mark = Mark {
                    span: *index,
                    number,
                    start,
                };
                match found.element {
                    Some(id) => marks.notes.entry(id).or_default().push(mark),
                    None => marks.places.push((found.place, mark)),
                }
            }
        }
    }
    let far = |mark: &Mark| {
        part.spans
            .get(mark.span)
            .and_then(|span| span.end)
            .map(|anchor| anchor.place)
    };
    for marks in marks.notes.values_mut() {
        // Ends first; of what starts together the longest first, so that nested brackets are told outermost first.
        marks.sort_by_key(|mark| (mark.start, std::cmp::Reverse(far(mark)), mark.number));
    }
    marks.places.sort_by_key(|(place, mark)| (*place, mark.start));
    marks
}

fn lose(of: Of<'_>, span: &Span, losses: &mut Losses, why: &str) {
    let place = span.start.or(span.end).map_or(
        Place {
            bar: BarIndex(0),
            offset: Quarters::ZERO,
        },
        |anchor| anchor.place,
    );
    losses.lost(of, place, Some(span.id), format!("{} {why}", name(&span.kind)));
}

/// What a span is called in a message.
fn name(kind: &SpanKind) -> String {
    match kind {
        SpanKind::Slur => "a slur".to_owned(),
        SpanKind::Crescendo { .. } | SpanKind::Diminuendo { .. } => "a hairpin".to_owned(),
        SpanKind::Ottava { .. } => "an ottava".to_owned(),
        SpanKind::Tuplet { .. } => "a tuplet's bracket".to_owned(),
        SpanKind::TrillLine => "a wavy line".to_owned(),
        SpanKind::Glissando => "a glissando".to_owned(),
        SpanKind::Slide => "a slide".to_owned(),
        SpanKind::Pedal => "a pedal mark".to_owned(),
        SpanKind::Dashes => "a dashed line".to_owned(),
        SpanKind::Bracket => "a bracket".to_owned(),
        SpanKind::TremoloPair { .. } => "a tremolo between two notes".to_owned(),
        SpanKind::Other(name) => format!("a line called “{name}”"),
    }
}

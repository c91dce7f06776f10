//! What stands where? Each part's staves and voices by MEI's numbers, and its things sorted into the bars.

use notation::{
    Change, Clef, Direction, Event, Id, KeySignature, Metre, Part, Piece, Place, Quarters, Rational, Span,
    SpanKind, Transposition,
};
use std::collections::BTreeMap;

/// A part that is written.
pub(super) struct PartPlan<'p> {
    /// Its place in the score.
    pub index: usize,
    pub part: &'p Part,
    /// How it is called in messages.
    pub name: String,
    /// The number of its first staff in the MEI.
    pub first_staff: usize,
    pub staves: u8,
    /// The number of each voice in the MEI, by its name.
    pub voices: BTreeMap<String, usize>,
    pub bars: Vec<BarThings<'p>>,
    /// Brackets of tuplets by their own id, two-note tremolos by the event where they start.
    pub groups: BTreeMap<Id, &'p Span>,
    /// Wavy lines by the event where they start.
    pub trill_lines: BTreeMap<Id, &'p Span>,
    /// Ties by the head that starts them.
    pub ties: super::ties::Ties,
}

/// What stands in one bar of a part, events left out.
#[derive(Default)]
pub(super) struct BarThings<'p> {
    pub clefs: Vec<&'p Change<Clef>>,
    pub keys: Vec<&'p Change<KeySignature>>,
    pub metres: Vec<&'p Change<Metre>>,
    pub transpositions: Vec<&'p Change<Transposition>>,
    pub directions: Vec<&'p Direction>,
    pub spans: Vec<&'p Span>,
    /// Ottavas over some of the bar, as many as can be told apart.
    pub ottavas: Vec<&'p Span>,
}

impl PartPlan<'_> {
    /// The MEI number of a staff of the part, from 1.
    pub(super) fn staff(&self, staff: u8) -> usize {
        self.first_staff + usize::from(staff.clamp(1, self.staves)) - 1
    }

    /// The number and, if it has another name than that, the name of a voice.
    pub(super) fn voice(&self, voice: u16) -> (usize, Option<&str>) {
        let name = self
            .part
            .voices
            .get(usize::from(voice))
            .map_or("1", String::as_str);
        let number = self.voices.get(name).copied().unwrap_or(1);
        (number, Some(name).filter(|name| *name != number.to_string()))
    }
}

/// The parts that are written, with their staves numbered through.
pub(super) fn parts(piece: &Piece, only: Option<usize>) -> Vec<PartPlan<'_>> {
    let mut next_staff = 1;
    let chosen = piece
        .parts
        .iter()
        .enumerate()
        .filter(|(index, _)| only.is_none_or(|only| only == *index));
    let mut plans = Vec::new();
    for (index, part) in chosen {
        let used = part.events.iter().map(|event| {
            event
                .heads()
                .iter()
                .map(|head| head.staff)
                .fold(event.staff, u8::max)
        });
        let staves = used.fold(part.staves.max(1), u8::max);
        let name = if part.name.trim().is_empty() {
            format!("part {}", index + 1)
        } else {
            part.name.clone()
        };
        plans.push(PartPlan {
            index,
            part,
            name,
            first_staff: next_staff,
            staves,
            voices: voices(part),
            bars: things(piece, part),
            groups: groups(part),
            trill_lines: trill_lines(part),
            ties: super::ties::pair(piece, part),
        });
        next_staff += usize::from(staves);
    }
    plans
}

/// The heads that are the only one of their event, with the event's id.
pub(super) fn alone(part: &Part) -> impl Iterator<Item = (Id, Id)> + '_ {
    part.events.iter().filter_map(|event| match event.heads() {
        [head] => Some((head.id, event.id)),
        _ => None,
    })
}

fn trill_lines(part: &Part) -> BTreeMap<Id, &Span> {
    let lines = part
        .spans
        .iter()
        .filter(|span| span.kind == SpanKind::TrillLine)
        .rev();
    lines
        .filter_map(|span| Some((span.start?.element?, span)))
        .collect()
}

fn groups(part: &Part) -> BTreeMap<Id, &Span> {
    let of_span = |span: &Span| match span.kind {
        SpanKind::Tuplet { .. } => Some(span.id),
        SpanKind::TremoloPair { .. } => span.start.and_then(|start| start.element),
        _ => None,
    };
    part.spans
        .iter()
        .filter_map(|span| Some((of_span(span)?, span)))
        .collect()
}

/// A number for each voice: its name, if that is one; otherwise the next that is free.
fn voices(part: &Part) -> BTreeMap<String, usize> {
    let plain = |name: &str| {
        name.parse::<usize>()
            .ok()
            .filter(|n| (1..=9_999).contains(n) && n.to_string() == *name)
    };
    let named = part
        .directions
        .iter()
        .filter_map(|direction| direction.voice.as_ref());
    let all: Vec<&String> = part.voices.iter().chain(named).collect();
    let mut numbers: BTreeMap<String, usize> = BTreeMap::new();
    let mut taken: std::collections::BTreeSet<usize> = std::collections::BTreeSet::new();
    for name in &all {
        if let Some(number) = plain(name) {
            numbers.insert((*name).clone(), number);
            taken.insert(number);
        }
    }
    let mut next = 1;
    for name in all {
        if !numbers.contains_key(name) {
            while taken.contains(&next) {
                next += 1;
            }
            taken.insert(next);
            numbers.insert(name.clone(), next);
        }
    }
    numbers
}

/// Sorts into the bars; what lies past the last bar stands in it.
fn things<'p>(piece: &Piece, part: &'p Part) -> Vec<BarThings<'p>> {
    let mut bars: Vec<BarThings<'p>> = piece.bars.iter().map(|_| BarThings::default()).collect();
    let last = bars.len().saturating_sub(1);
    let mut at = |place: Place, put: &mut dyn FnMut(&mut BarThings<'p>)| {
        bars.get_mut(place.bar.get().min(last)).into_iter().for_each(put);
    };
    for change in &part.clefs {
        at(change.place, &mut |bar| bar.clefs.push(change));
    }
    for change in &part.keys {
        at(change.place, &mut |bar| bar.keys.push(change));
    }
    for change in &part.metres {
        at(change.place, &mut |bar| bar.metres.push(change));
    }
    for change in &part.transpositions {
        at(change.place, &mut |bar| bar.transpositions.push(change));
    }
    for direction in &part.directions {
        at(direction.place, &mut |bar| bar.directions.push(direction));
    }
    for span in &part.spans {
        if let Some(anchor) = span.start.or(span.end) {
            at(anchor.place, &mut |bar| bar.spans.push(span));
        }
    }
    for span in part
        .spans
        .iter()
        .filter(|span| matches!(span.kind, SpanKind::Ottava { .. }))
    {
        let Some(start) = span.start else { continue };
        let until = span.end.map_or(last, |end| end.place.bar.get().min(last));
        for bar in bars.iter_mut().take(until + 1).skip(start.place.bar.get()) {
            if bar.ottavas.len() < MOST_OTTAVAS {
                bar.ottavas.push(span);
            }
        }
    }
    bars
}

/// More ottavas than cover one bar of a part.
const MOST_OTTAVAS: usize = 64;

impl PartPlan<'_> {
    /// Octaves by which an ottava draws a note away from its sound, as [`Part::ottava_at`] has it.
    pub(super) fn ottava(&self, staff: u8, place: Place) -> i8 {
        let covers = |span: &&&Span| {
            span.staff.is_none_or(|of| of == staff)
                && span.start.is_some_and(|start| start.place <= place)
                && span
                    .end
                    .is_none_or(|end| place < end.place || place == end.place && end.element.is_some())
        };
        let spans = self.bars.get(place.bar.get()).map_or(&[][..], |bar| &bar.ottavas);
        spans.iter().find(covers).map_or(0, |span| match span.kind {
            SpanKind::Ottava { octaves } => octaves,
            _ => 0,
        })
    }
}

/// Whether the print of an event says how long it lasts.
pub(super) fn print_tells(event: &Event) -> bool {
    event.is_grace()
        || event
            .written
            .as_ref()
            .is_some_and(|written| written.quarters() == event.duration)
}

/// The parts of a quarter note in which lengths are told that the print does not tell; 0 if there are none.
pub(super) fn ppq(piece: &Piece, parts: &[PartPlan<'_>]) -> i64 {
    let mut needed = false;
    let mut common = 1_i64;
    let mut take = |length: Quarters| {
        let den = length.den().max(1);
        let next = common / gcd(common, den) * den;
        if next <= 1_000_000 {
            common = next;
        }
    };
    for plan in parts {
        for event in &plan.part.events {
            take(event.duration);
            take(event.place.offset);
            let length = piece.bars.get(event.place.bar.get()).map(|bar| bar.length);
            let fills = matches!(event.kind, notation::EventKind::Rest { whole_bar: true })
                && Some(event.duration) == length;
            let usual = plan
                .part
                .metre_at(Place::start_of(event.place.bar))
                .and_then(Metre::length);
            needed |= if fills {
                usual != length
            } else {
                !print_tells(event)
            };
        }
    }
    if needed { common } else { 0 }
}

fn gcd(a: i64, b: i64) -> i64 {
    let (mut a, mut b) = (a, b);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

/// Where in the bar an event ends, or its start for a grace note.
pub(super) fn end_of(event: &Event) -> Rational {
    if event.is_grace() {
        event.place.offset
    } else {
        event.end_offset()
    }
}

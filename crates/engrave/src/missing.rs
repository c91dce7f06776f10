//! What of the page did the engraver not draw? Everything that should have a box and has none, as findings.

use crate::printable::Printable;
use job::Engraved;
use notation::{
    BarGroupKind, Direction, DirectionKind, Event, EventKind, Finding, Head, Id, OrnamentKind, Part, Piece,
    Place, Severity, Span, SpanKind,
};
use std::collections::BTreeSet;
use std::ops::Range;

/// A finding for each thing of the piece's part in these bars that is printed and was not drawn.
pub(crate) fn findings(
    piece: &Piece,
    printable: &Printable,
    engraved: &Engraved,
    bars: &[Range<u32>],
) -> Vec<Finding> {
    let boxes = engraved.systems.iter().flat_map(|system| &system.boxes);
    let drawn: BTreeSet<&str> = boxes
        .filter(|boxed| boxed.rect.w > 0.0 || boxed.rect.h > 0.0)
        .map(|boxed| boxed.id.as_str())
        .collect();
    let Some(part) = piece.parts.first() else {
        return Vec::new();
    };
    let mut missing = Missing {
        printable,
        drawn,
        found: Vec::new(),
    };
    for event in part.events.iter().filter(|event| shown(event, part)) {
        missing.event(event);
    }
    let printed = part.directions.iter().filter(|direction| direction.printed);
    for direction in printed.filter(|direction| says_something(direction)) {
        missing.look(direction.id, direction.place, || direction_name(direction));
    }
    for span in &part.spans {
        if let (Some(start), Some(name)) = (span.start, span_name(span)) {
            missing.look(span.id, start.place, || name.to_owned());
        }
    }
    let finding = |(place, what): (Place, String)| {
        Finding::new(
            Severity::Caution,
            "not-engraved",
            format!("{what} could not be engraved and is missing on the printed page"),
            "write it in by hand from the original",
        )
        .at_bar(place.bar, piece.label(place.bar))
        .at_offset(place.offset)
    };
    let asked = |place: &Place| bars.iter().any(|range| range.contains(&place.bar.0));
    missing
        .found
        .into_iter()
        .filter(|(place, _)| asked(place))
        .map(finding)
        .collect()
}

struct Missing<'a> {
    printable: &'a Printable,
    drawn: BTreeSet<&'a str>,
    found: Vec<(Place, String)>,
}

impl Missing<'_> {
    fn is_drawn(&self, id: Id) -> bool {
        self.is_drawn_as(
            &self
                .printable
                .drawn_as
                .get(&id)
                .copied()
                .unwrap_or(id)
                .to_string(),
        )
    }

    fn is_drawn_as(&self, id: &str) -> bool {
        self.drawn.contains(id)
    }

    fn look(&mut self, id: Id, place: Place, what: impl Fn() -> String) {
        if !self.is_drawn(id) {
            self.found.push((place, what()));
        }
    }

    fn event(&mut self, event: &Event) {
        // A chord has no box of its own; its heads have.
        let lost = event
            .heads()
            .iter()
            .filter(|head| !self.is_drawn(head.id))
            .count();
        if lost > 0 {
            let whole = lost == event.heads().len();
            self.found.push((
                event.place,
                if whole { "a note" } else { "a note of a chord" }.to_owned(),
            ));
            return;
        }
        if event.is_rest() {
            self.look(event.id, event.place, || "a rest".to_owned());
        }
        let id = |what: &str, nth: usize| format!("{}-{what}{}", event.id, nth + 1);
        let mut marks: Vec<(String, String)> = Vec::new();
        // What a rest can't have was told when it was written.
        let articulations = event.articulations.iter().enumerate();
        for (nth, mark) in articulations.filter(|(_, mark)| event.is_note() || mark.kind.is_break()) {
            marks.push((
                id("artic", nth),
                format!("an articulation ({})", mark.kind.mark()),
            ));
        }
        for (nth, ornament) in event.ornaments.iter().enumerate() {
            // A tremolo is drawn with the stem; a trill with a line has the line's name.
            if !matches!(
                ornament.kind,
                OrnamentKind::Tremolo { .. } | OrnamentKind::Trill | OrnamentKind::WavyLine
            ) {
                marks.push((
                    id("ornament", nth),
                    format!("an ornament ({})", ornament.kind.mark()),
                ));
            }
        }
        for nth in 0..event.fermatas.len() {
            marks.push((id("fermata", nth), "a fermata".to_owned()));
        }
        for (nth, mark) in event.technical.iter().enumerate() {
            marks.push((
                id("technical", nth),
                format!("a mark ({})", mark.name.replace('-', " ")),
            ));
        }
        for (nth, letters) in event.dynamics.iter().enumerate() {
            marks.push((id("dynam", nth), format!("the dynamic “{letters}”")));
        }
        event.heads().iter().for_each(|head| of_head(head, &mut marks));
        for (id, what) in marks {
            if !self.is_drawn_as(&id) {
                self.found.push((event.place, what));
            }
        }
    }
}

fn of_head(head: &Head, marks: &mut Vec<(String, String)>) {
    if head.accidental.is_some() {
        marks.push((format!("{}-accid", head.id), "an accidental".to_owned()));
    }
    for (nth, mark) in head.technical.iter().enumerate() {
        let what = match mark.name.as_str() {
            "fingering" => format!("the fingering {}", mark.text),
            name => format!("a mark ({})", name.replace('-', " ")),
        };
        marks.push((format!("{}-technical{}", head.id, nth + 1), what));
    }
}

/// Whether an event is to be seen: not one that the source hides, nor one under a sign for several bars.
fn shown(event: &Event, part: &Part) -> bool {
    let under_sign = part.bar_groups.iter().any(|group| {
        let covers = (group.start.0..group.start.0.saturating_add(group.bars)).contains(&event.place.bar.0);
        covers && !matches!(group.kind, BarGroupKind::Other(_))
    });
    event.printed && event.kind != EventKind::Space && !under_sign
}

/// Words without letters can't be missed.
fn says_something(direction: &Direction) -> bool {
    match &direction.kind {
        DirectionKind::Words(text) | DirectionKind::Dynamic(text) | DirectionKind::Rehearsal(text) => {
            !text.trim().is_empty()
        }
        _ => true,
    }
}

fn direction_name(direction: &Direction) -> String {
    match &direction.kind {
        DirectionKind::Words(text) => format!("the words “{}”", text.trim()),
        DirectionKind::Dynamic(letters) => format!("the dynamic “{letters}”"),
        DirectionKind::Metronome(_) => "a metronome mark".to_owned(),
        DirectionKind::Rehearsal(text) => format!("the rehearsal mark “{text}”"),
        DirectionKind::Segno => "a segno sign".to_owned(),
        DirectionKind::Coda => "a coda sign".to_owned(),
        DirectionKind::Sign { name, .. } => format!("a sign ({})", name.replace('-', " ")),
    }
}

/// What a span is called, unless it is shown by something else (a tuplet by its number).
fn span_name(span: &Span) -> Option<&'static str> {
    span.end?;
    Some(match span.kind {
        SpanKind::Slur => "a slur",
        SpanKind::Crescendo { .. } | SpanKind::Diminuendo { .. } => "a hairpin",
        SpanKind::Ottava { .. } => "an octave line",
        SpanKind::Glissando | SpanKind::Slide => "a glissando",
        SpanKind::Pedal => "a pedal sign",
        SpanKind::Dashes | SpanKind::Bracket => "a line",
        SpanKind::TrillLine => "a trill's line",
        SpanKind::Tuplet { .. } | SpanKind::TremoloPair { .. } | SpanKind::Other(_) => return None,
    })
}

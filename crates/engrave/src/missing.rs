//! What of the page did the engraver not draw? Everything that should have a box and has none, as findings.

use crate::printable::Printable;
use job::Engraved;
use notation::{
    BarGroupKind, Direction, DirectionKind, Event, EventKind, Finding, Id, Part, Piece, Place, Severity,
    Span, SpanKind,
};
use std::collections::BTreeSet;

/// A finding for each thing of the piece's part that is printed and was not drawn.
pub(crate) fn findings(piece: &Piece, printable: &Printable, engraved: &Engraved) -> Vec<Finding> {
    let drawn: BTreeSet<&str> = engraved
        .systems
        .iter()
        .flat_map(|system| &system.boxes)
        .map(|boxed| boxed.id.as_str())
        .collect();
    let Some(part) = piece.parts.first() else {
        return Vec::new();
    };
    let is_drawn = |id: Id| {
        let as_id = printable.drawn_as.get(&id).copied().unwrap_or(id);
        drawn.contains(as_id.to_string().as_str())
    };
    let mut findings = Vec::new();
    let mut miss = |place: Place, what: &str| {
        findings.push(
            Finding::new(
                Severity::Caution,
                "not-engraved",
                format!("{what} could not be engraved and is missing on the printed page"),
                "write it in by hand from the original",
            )
            .at_bar(place.bar, piece.label(place.bar))
            .at_offset(place.offset),
        );
    };
    for event in part.events.iter().filter(|event| shown(event, part)) {
        // A chord has no box of its own; its heads have.
        let lost = event.heads().iter().filter(|head| !is_drawn(head.id)).count();
        if lost > 0 {
            miss(
                event.place,
                if lost == event.heads().len() {
                    "a note"
                } else {
                    "a note of a chord"
                },
            );
        } else if event.is_rest() && !is_drawn(event.id) {
            miss(event.place, "a rest");
        }
    }
    for direction in part
        .directions
        .iter()
        .filter(|direction| direction.printed && !said_by_nothing(direction))
    {
        if !is_drawn(direction.id) {
            miss(direction.place, &direction_name(direction));
        }
    }
    for span in &part.spans {
        if let (Some(start), Some(name)) = (span.start, span_name(span))
            && !is_drawn(span.id)
        {
            miss(start.place, name);
        }
    }
    findings
}

/// Whether an event is to be seen: not one that the source hides, nor one under a sign for several bars.
fn shown(event: &Event, part: &Part) -> bool {
    let under_sign = part.bar_groups.iter().any(|group| {
        let covers = (group.start.0..group.start.0.saturating_add(group.bars)).contains(&event.place.bar.0);
        covers && !matches!(group.kind, BarGroupKind::Other(_))
    });
    event.printed && event.kind != EventKind::Space && !under_sign
}

/// Signs without a text or glyph of their own can't be missed.
fn said_by_nothing(direction: &Direction) -> bool {
    match &direction.kind {
        DirectionKind::Words(text) | DirectionKind::Dynamic(text) | DirectionKind::Rehearsal(text) => {
            text.trim().is_empty()
        }
        _ => false,
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

/// What a span is called, unless it is shown by something else (a tuplet by its number, a trill's line by the trill).
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

//! Which signs of the page are not played? Said plainly, each kind once with its first bar: nothing is dropped in silence.

use notation::{ArticulationKind, Finding, OrnamentKind, Part, Piece, Place, Severity, SpanKind};
use std::collections::BTreeMap;

/// One finding for each kind of sign that is printed but not sounded.
pub(super) fn unheard(piece: &Piece, part: &Part) -> Vec<Finding> {
    let mut found: BTreeMap<String, (Place, usize)> = BTreeMap::new();
    let mut note = |name: &str, place: Place| {
        let entry = found.entry(name.to_owned()).or_insert((place, 0));
        entry.0 = entry.0.min(place);
        entry.1 += 1;
    };
    for event in part.events.iter().filter(|event| event.is_note() && !event.cue) {
        for mark in &event.articulations {
            use ArticulationKind::{Doit, Falloff, Other, Plop, Scoop};
            if matches!(mark.kind, Scoop | Plop | Doit | Falloff | Other(_)) {
                note(mark.kind.mark(), event.place);
            }
        }
        for sign in &event.ornaments {
            if let OrnamentKind::Other(name) = &sign.kind {
                note(name, event.place);
            }
        }
        if event.arpeggio.is_some() {
            note("arpeggio", event.place);
        }
    }
    for span in &part.spans {
        let name = match span.kind {
            SpanKind::Glissando => "glissando",
            SpanKind::Slide => "slide",
            SpanKind::Pedal => "pedal",
            _ => continue,
        };
        if let Some(anchor) = span.start.or(span.end) {
            note(name, anchor.place);
        }
    }
    let said = |(name, (place, count)): (String, (Place, usize))| {
        let times = if count == 1 {
            String::new()
        } else {
            format!(" ({count} times)")
        };
        Finding::new(
            Severity::Note,
            "sign-not-sounded",
            format!("{name}{times}: the sign is not played; the notes sound plain"),
            "",
        )
        .in_part(part.name.clone())
        .at_bar(place.bar, piece.label(place.bar))
    };
    found.into_iter().map(said).collect()
}

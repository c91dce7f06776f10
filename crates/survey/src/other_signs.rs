//! Which signs does none of the twelve questions speak of? Each is named with its place, so that nothing is passed
//! over in silence.

use crate::Context;
use notation::{BarGroupKind, BarIndex, DirectionKind, Finding, Severity, SpanKind};

/// Signs beyond the twelve questions: one finding for each kind of sign and bar.
#[must_use]
pub fn other_signs(ctx: &Context) -> Vec<Finding> {
    let mut told: Vec<(BarIndex, String)> = Vec::new();
    let mut tell = |bar: BarIndex, what: String| {
        if !told.contains(&(bar, what.clone())) {
            told.push((bar, what));
        }
    };
    for direction in &ctx.part.directions {
        if let DirectionKind::Sign { name, text } = &direction.kind
            // Words in such a sign are asked of the dictionary, metric modulations of the tempo question.
            && name != "other-direction"
            && name != "metronome"
        {
            let text = if text.is_empty() {
                String::new()
            } else {
                format!(" ({})", text.replace('\n', " "))
            };
            tell(direction.place.bar, format!("{}{text}", sign_name(name)));
        }
    }
    for span in &ctx.part.spans {
        let name = match &span.kind {
            SpanKind::Glissando => "a glissando: slide through the notes between".to_owned(),
            SpanKind::Slide => "a slide from one note to the next".to_owned(),
            SpanKind::Pedal => "a pedal sign".to_owned(),
            SpanKind::Bracket => "a bracket over several notes".to_owned(),
            SpanKind::Other(name) => format!("a sign over several notes: {}", name.replace('-', " ")),
            _ => continue,
        };
        if let Some(place) = span.start.or(span.end).map(|anchor| anchor.place) {
            tell(place.bar, name);
        }
    }
    for event in &ctx.part.events {
        if event.arpeggio.is_some() {
            tell(event.place.bar, "an arpeggio sign: break the chord".to_owned());
        }
        for shape in event.heads().iter().filter_map(|head| head.shape.as_ref()) {
            tell(
                event.place.bar,
                format!("a note head of another shape: {}", shape.replace('-', " ")),
            );
        }
    }
    for group in &ctx.part.bar_groups {
        if let BarGroupKind::Other(name) = &group.kind {
            tell(group.start, name.replace('-', " "));
        }
    }
    told.sort_by_key(|(bar, _)| *bar);
    told.into_iter()
        .map(|(bar, what)| {
            let advice = "no question of the survey speaks of it: ask your teacher what it asks for";
            Finding::new(Severity::Note, "other-sign", what, advice).at_bar(bar, ctx.label(bar))
        })
        .collect()
}

/// The trade's name of a sign. Source: MusicXML 4.0, direction-type.
fn sign_name(name: &str) -> String {
    let plain = match name {
        "damp" => "damp: stop the string or instrument from ringing",
        "damp-all" => "damp all strings",
        "eyeglasses" => "eyeglasses: look up here",
        "string-mute" => "a mute sign",
        "harp-pedals" => "harp pedals",
        "scordatura" => "another tuning of the strings (scordatura)",
        "accordion-registration" => "an accordion registration",
        "percussion" => "a percussion sign",
        "staff-divide" => "a sign that the staff divides",
        "symbol" => "a sign",
        other => return format!("a sign: {}", other.replace('-', " ")),
    };
    plain.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::{Direction, IdKind, Place, sketch};

    #[test]
    fn a_sign_that_no_question_asks_about_is_named_once_in_its_bar() {
        let mut piece = sketch("metre:4/4 C4/w | D4/w |.").unwrap();
        for _ in 0..2 {
            let id = piece.ids.give(IdKind::Direction);
            let kind = DirectionKind::Sign {
                name: "eyeglasses".into(),
                text: String::new(),
            };
            let place = Place::start_of(BarIndex(1));
            let direction = Direction {
                id,
                place,
                staff: None,
                voice: None,
                side: None,
                printed: true,
                kind,
            };
            piece.parts[0].directions.push(direction);
        }
        let found = other_signs(&Context::new(&piece, 0).unwrap());
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].bar_label.as_deref(), Some("2"));
        assert!(found[0].what.starts_with("eyeglasses"));
    }
}

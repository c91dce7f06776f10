//! Which notes lie outside the player's range, and which stand on many ledger lines?

use super::{Costs, Line};
use crate::Player;
use crate::keys::key_of;
use notation::{Rational, Span, SpanKind};

/// Costs of notes outside the player's range: one movement, and a quarter for each semitone beyond (ours).
pub(super) fn range(line: &Line, player: &Player, costs: &mut Costs) {
    let Some((low, high)) = player.written_range() else {
        return;
    };
    // Voices have sounding ranges; their octave clefs are applied in the pitch already.
    for note in 0..line.len() {
        let Some(pitch) = line.pitch(note) else { continue };
        let (beyond, end, way) = if pitch < low {
            (key_of(low) - key_of(pitch), low, "below")
        } else if pitch > high {
            (key_of(pitch) - key_of(high), high, "above")
        } else {
            continue;
        };
        let cost = 1.0 + 0.25 * f64::from(beyond.max(0));
        let why = format!(
            "{} lies {way} the range, which ends at {}",
            pitch.sign(),
            end.sign()
        );
        costs.add(line, note, "outside-range", cost, why);
    }
}

/// Fewest ledger lines that slow a reader: from three on they are counted (common practice).
const COUNTED: u32 = 3;

/// Costs of ledger lines: a fifth of a movement for each line from the third on (ours).
pub(super) fn ledger_lines(line: &Line, costs: &mut Costs) {
    let part = line.ctx.part;
    let ottavas: Vec<&Span> = part
        .spans
        .iter()
        .filter(|span| matches!(span.kind, SpanKind::Ottava { .. }))
        .collect();
    for (note, place) in line.places.iter().enumerate() {
        let (Some(pitch), Some(event)) = (
            line.pitch(note),
            line.ctx.line.get(note).and_then(|n| line.ctx.event(n)),
        ) else {
            continue;
        };
        let Some(clef) = part.clef_at(event.staff, *place) else {
            continue;
        };
        let octaves = if ottavas.is_empty() {
            0
        } else {
            i32::from(part.ottava_at(event.staff, *place))
        };
        let drawn = pitch.transposed(-7 * octaves, Rational::whole(i64::from(-12 * octaves)));
        let lines = clef.ledger_lines(drawn);
        if lines >= COUNTED {
            let cost = 0.2 * f64::from(lines + 1 - COUNTED);
            costs.add(
                line,
                note,
                "ledger-lines",
                cost,
                format!("{} on {lines} ledger lines", pitch.sign()),
            );
        }
    }
}

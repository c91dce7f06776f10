//! How far does the line leap, and which register breaks does it cross?

use super::{Costs, Line};
use crate::Player;
use crate::intervals::interval;
use crate::keys::key_of;
use instruments::Family;

/// Leaps of a fifth and more count.
/// Source: Chiu & Chen's displacement weight counts intervals of 7 semitones and more (formula from memory).
const AT_LEAST: i32 = 7;

/// Costs of leaps, in finger movements: on brass and for voices by a third of an octave, elsewhere by half an octave (ours).
pub(super) fn leaps(line: &Line, family: Option<Family>, costs: &mut Costs) {
    let each = match family {
        Some(Family::Brass | Family::Voice) => 4.0,
        _ => 7.0,
    };
    for note in 1..line.len() {
        let semitones = line.notes.leap(note);
        if semitones.abs() < AT_LEAST || line.prepared(note) {
            continue;
        }
        let cost = f64::from(semitones.abs() - AT_LEAST + 4) / each;
        costs.add(line, note, "leap", cost, leap_words(line, note, semitones));
    }
}

/// `a leap of a tenth down to B♭1`.
fn leap_words(line: &Line, note: usize, semitones: i32) -> String {
    let to = line.pitch(note).map(notation::Pitch::sign).unwrap_or_default();
    let steps = line
        .pitch(note)
        .zip(note.checked_sub(1).and_then(|before| line.pitch(before)))
        .map_or(0, |(here, before)| {
            (here.diatonic() - before.diatonic()).unsigned_abs()
        });
    let way = if semitones < 0 { "down" } else { "up" };
    format!("a leap of {} {way} to {to}", interval(steps))
}

/// Costs of register breaks crossed. Source of the breaks: the instrument's facts. The cost of each, 1.5 movements, and
/// half as much again under a slur: `judgement`.
pub(super) fn breaks(line: &Line, player: &Player, costs: &mut Costs) {
    let Some(instrument) = player.instrument else {
        return;
    };
    let breaks: Vec<(i32, i32)> = instrument
        .register_breaks()
        .into_iter()
        .map(|(low, high)| (key_of(low), key_of(high)))
        .collect();
    for note in 1..line.len() {
        let (Some(from), Some(to)) = (line.pitch(note - 1), line.pitch(note)) else {
            continue;
        };
        let (low, high) = (key_of(from).min(key_of(to)), key_of(from).max(key_of(to)));
        let crossed = breaks
            .iter()
            .filter(|(below, above)| low <= *below && high >= *above)
            .count();
        if crossed == 0 || line.prepared(note) {
            continue;
        }
        let slurred = line.slurred_to(note);
        let cost = 1.5 * super::count(crossed) * if slurred { 1.5 } else { 1.0 };
        let way = if to > from { "up" } else { "down" };
        let how = if slurred { "slurred over" } else { "over" };
        let why = format!("{how} the break {way} to {}", to.sign());
        costs.add(line, note, "register-break", cost, why);
    }
}

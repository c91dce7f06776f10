//! Over how many partials do the lips leap? Brass notes as partials of the tube, by rule.
//!
//! A note is taken as the lowest partial that stands no more than six semitones above it: the rule by which the usual
//! fingering or slide position follows from the harmonic series (a tube of valves or slide lowers each by up to six). The
//! cost is the difference of the partials (from memory, as are the tubes): two partials apart are half a movement, and half
//! a movement for each more; twice as much as a slur, where the tongue doesn't help. Neighbouring partials cost nothing.

use super::{Costs, Line, leaps};
use crate::Player;
use crate::keys::key_of;
use instruments::{Family, Instrument};

/// The sounding key number of the open tube's fundamental, where the instrument is built so; `None` for others.
fn fundamental(instrument: &Instrument) -> Option<i32> {
    match instrument.id {
        "trumpet-c" => Some(48),
        "trumpet-bb" => Some(46),
        // The F side; players change to the B-flat side above.
        "horn" => Some(29),
        "trombone-tenor" | "trombone-bass" | "euphonium" => Some(34),
        "tuba" => Some(22),
        _ => None,
    }
}

/// Costs of leaps for a brass player: by partials where the tube is known, else by the interval.
pub(super) fn lips(line: &Line, player: &Player, costs: &mut Costs) {
    let Some(tube) = player.instrument.and_then(fundamental) else {
        leaps::leaps(line, Some(Family::Brass), costs);
        return;
    };
    let mut before: Option<i32> = None;
    for note in 0..line.len() {
        let partial = partial(line, note, tube);
        if let (Some(from), Some(to)) = (before, partial)
            && (from - to).abs() >= 2
            && !line.prepared(note)
        {
            let apart = (from - to).abs();
            let slurred = line.slurred_to(note);
            let cost = 0.5 * f64::from(apart - 1) * if slurred { 2.0 } else { 1.0 };
            let how = if slurred { "slurred over" } else { "over" };
            let way = if to > from { "up" } else { "down" };
            let pitch = line.pitch(note).map(notation::Pitch::sign).unwrap_or_default();
            let between = apart - 1;
            let s = if between == 1 { "" } else { "s" };
            costs.add(
                line,
                note,
                "lip-leap",
                cost,
                format!("{how} {between} partial{s} {way} to {pitch}"),
            );
        }
        before = partial;
    }
}

/// The partial on which a note lies: the lowest from the second on no more than six semitones above it.
fn partial(line: &Line, note: usize, tube: i32) -> Option<i32> {
    let place = line.places.get(note).copied()?;
    let transposition = line.ctx.part.transposition_at(place);
    let semitones = i32::try_from(transposition.chromatic.floor())
        .ok()?
        .clamp(-128, 128)
        + 12 * transposition.octaves.clamp(-10, 10);
    let written_as_sounding = line.ctx.piece.concert_pitch;
    let sounding = key_of(line.pitch(note)?) + if written_as_sounding { 0 } else { semitones };
    (2..=20).find(|partial| {
        let above = above_fundamental(*partial);
        let gap = tube + above - sounding;
        (0..=6).contains(&gap)
    })
}

/// Semitones from the fundamental up to a partial, rounded.
fn above_fundamental(partial: i32) -> i32 {
    const SEMITONES: [i32; 20] = [
        0, 12, 19, 24, 28, 31, 34, 36, 38, 40, 42, 43, 44, 46, 47, 48, 49, 50, 51, 52,
    ];
    usize::try_from(partial - 1)
        .ok()
        .and_then(|at| SEMITONES.get(at))
        .copied()
        .unwrap_or(52)
}

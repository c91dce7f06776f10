//! How many notes a second are tongued, against the player's tongue? Short bursts and long runs apart.
//!
//! Slurred and tied notes don't count. A run of up to eight notes is held against the burst, one of 24 and more against
//! the sustained speed, between them in proportion (that the two differ: practice facts; the numbers are ours). Double and triple tonguing
//! are offered on brass and flutes only: easiest on brass and usual on the flute, harder and less usual on reeds (practice
//! facts). They carry about a third further: a tuba's single tongue is 9 to 10 notes a second, double and triple 12 and
//! more (contemporarytuba.com/tonguing).

use super::{Costs, Line};
use crate::Player;
use instruments::Family;
use notation::Quarters;

/// Notes further apart than this many seconds are no run.
const TOGETHER: f64 = 0.5;
/// So many notes in a row are a burst, so many are kept up for long.
const BURST: f64 = 8.0;
const SUSTAINED: f64 = 24.0;
/// How much further double and triple tonguing carry.
const MULTIPLE: f64 = 4.0 / 3.0;
/// Below this share of the limit the tongue is no matter.
const EASY: f64 = 0.5;

/// Costs of tonguing: at the limit each note is one movement, growing with the square of the speed (ours).
pub(super) fn tongue(line: &Line, player: &Player, costs: &mut Costs) {
    let can_double = player
        .instrument
        .is_some_and(|instrument| matches!(instrument.family, Family::Flute | Family::Brass));
    let mut start = 0;
    while start < line.len() {
        let end = run_end(line, start);
        run(line, player, can_double, start, end, costs);
        start = end;
    }
}

/// The end of a run of tongued notes close together that begins at a note.
fn run_end(line: &Line, start: usize) -> usize {
    let mut end = start + 1;
    while end < line.len() && !line.slurred_to(end) && line.time_to(end) <= TOGETHER {
        end += 1;
    }
    end
}

fn run(line: &Line, player: &Player, can_double: bool, start: usize, end: usize, costs: &mut Costs) {
    if end - start < 3 {
        return;
    }
    let long = ((super::count(end - start) - BURST) / (SUSTAINED - BURST)).clamp(0.0, 1.0);
    let sustained = long >= 1.0;
    let single = player.tongue.burst + (player.tongue.sustained - player.tongue.burst) * long;
    let limit = if can_double && player.tongue.multiple {
        single * MULTIPLE
    } else {
        single
    };
    if limit <= 0.0 || limit.is_nan() {
        return;
    }
    for note in start + 1..end {
        let speed = 1.0 / line.time_to(note).max(0.01);
        let ratio = speed / limit;
        if ratio <= EASY {
            continue;
        }
        let (kind, why) = words(
            line,
            note,
            speed,
            limit,
            single,
            (sustained, can_double, player.tongue.multiple),
        );
        costs.add(line, note, kind, ratio * ratio, why);
    }
}

fn words(
    line: &Line,
    note: usize,
    speed: f64,
    limit: f64,
    single: f64,
    (sustained, can_double, doubles): (bool, bool, bool),
) -> (&'static str, String) {
    let long = if sustained { " for long" } else { "" };
    let said = format!("{speed:.1} tongued notes a second{long}");
    let name = if in_threes(line, note) { "triple" } else { "double" };
    if speed > limit {
        let help = if can_double && !doubles {
            format!("; more than a single tongue of {single:.1}, {name} tonguing would do it")
        } else {
            format!("; more than the tongue's {limit:.1}")
        };
        ("tongue-too-fast", said + &help)
    } else if speed > single {
        ("tongue", format!("{said}: {name} tonguing"))
    } else {
        ("tongue", said)
    }
}

/// True if three such notes fill the beat.
fn in_threes(line: &Line, note: usize) -> bool {
    let beat = line.notes.beat(note);
    let length = line
        .ctx
        .line
        .get(note)
        .map_or(Quarters::ONE, |note| note.duration);
    let parts = beat / length;
    parts.is_whole() && parts.num() % 3 == 0
}

//! In what order and for how long is each note blown? The line as played, with seconds and air at two tempi.

use super::air;
use super::{Material, Tempi};
use crate::Player;
use instruments::Experience;
use notation::{Place, Quarters};
use survey::Context;
use survey::tempo::Speed;
use terms::dynamics::Loudness;

/// How fast it goes from where on, in written order.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Pace {
    /// Quarter notes a minute from each place on.
    changes: Vec<(Place, f64)>,
}

impl Pace {
    /// One tempo throughout, in quarter notes a minute.
    #[must_use]
    pub fn steady(quarters_a_minute: f64) -> Self {
        Self {
            changes: vec![(Place::default(), quarters_a_minute)],
        }
    }

    /// The middle of each speed that the survey of the tempo found.
    #[must_use]
    pub fn of_speeds(speeds: &[Speed]) -> Self {
        let mut changes: Vec<(Place, f64)> = speeds
            .iter()
            .map(|speed| (speed.place, f64::midpoint(speed.low, speed.high)))
            .filter(|(_, speed)| speed.is_finite() && *speed > 0.0)
            .collect();
        changes.sort_by_key(|change| change.0);
        Self { changes }
    }

    /// The same, so many times as fast.
    #[must_use]
    pub fn times(mut self, times: f64) -> Self {
        for (_, speed) in &mut self.changes {
            *speed *= times;
        }
        self
    }

    /// True if no speed is known at all.
    #[must_use]
    pub fn is_unknown(&self) -> bool {
        self.changes.is_empty()
    }

    /// Quarter notes a minute at a place; the first known speed before any, 90 if none is known (common practice).
    #[must_use]
    pub fn at(&self, place: Place) -> f64 {
        let known = self.changes.partition_point(|(from, _)| *from <= place);
        let speed = self.changes.get(known.saturating_sub(1)).map(|change| change.1);
        speed.filter(|speed| *speed > 0.0).unwrap_or(90.0)
    }
}

/// One note as played.
#[derive(Clone, Copy, Debug)]
pub(super) struct Blown {
    /// Which note of the line.
    pub note: usize,
    /// Seconds of breath it takes, at the first and at the final tempo.
    pub air: [f64; 2],
    /// Seconds from its beginning to that of the next played note, at both tempi.
    pub secs: [f64; 2],
    /// Seconds of rest after it, before the next played note, at the faster tempo of the two.
    pub rest: f64,
    /// Quarter notes it sounds.
    pub quarters: f64,
    /// The rest in quarter notes.
    pub rest_quarters: Quarters,
}

/// A held note is taken for half as long again, but the last one lasts as long as the breath. Common practice; nobody's
/// fermata is a number.
const HELD: f64 = 1.5;

/// The notes of the line in the order in which they are played.
pub(super) fn blown(ctx: &Context, player: &Player, tempi: &Tempi, material: &Material) -> Vec<Blown> {
    let appetite = air::appetite(player.instrument);
    let compass = player
        .instrument
        .and_then(|instrument| instrument.ranges.of(Experience::Professional));
    let levels: Vec<(Place, Loudness)> = material
        .dynamics
        .into_iter()
        .flat_map(|dynamics| &dynamics.marks)
        .filter_map(|mark| Some((mark.place, mark.level_after()?)))
        .collect();
    let places: Vec<Place> = ctx
        .line
        .iter()
        .map(|note| ctx.event(note).map(|event| event.place).unwrap_or_default())
        .collect();
    let mut times: Vec<(usize, Quarters)> = Vec::with_capacity(places.len());
    let unfolding = material.unfolding;
    for (played, onset) in unfolding.played.iter().zip(&unfolding.onsets) {
        let first = places.partition_point(|place| place.bar < played.bar);
        let in_bar = places.iter().enumerate().skip(first);
        for (note, place) in in_bar.take_while(|(_, place)| place.bar == played.bar) {
            if played.from <= place.offset && place.offset < played.to {
                times.push((note, *onset + place.offset - played.from));
            }
        }
    }
    let end = unfolding.quarters_played();
    let next = times.iter().skip(1).map(|(_, onset)| *onset).chain([end]);
    let last = times.len().saturating_sub(1);
    times
        .iter()
        .zip(next)
        .enumerate()
        .filter_map(|(at, ((index, onset), next))| {
            let note = ctx.line.get(*index)?;
            let place = *places.get(*index)?;
            let until = next - *onset;
            let sounding = note.duration.min(until);
            let rest = until - sounding;
            let held = ctx.event(note).is_some_and(|event| !event.fermatas.is_empty());
            let held = if held && at < last { HELD } else { 1.0 };
            let level = levels.partition_point(|(from, _)| *from <= place);
            let loudness = level
                .checked_sub(1)
                .and_then(|at| levels.get(at))
                .map(|(_, level)| *level);
            let rate = air::rate(&appetite, compass, note.pitch, loudness);
            let speeds = [tempi.first.at(place), tempi.last.at(place)];
            let secs = |quarters: Quarters, speed: f64| quarters.to_f64().max(0.0) * 60.0 / speed;
            Some(Blown {
                note: *index,
                air: speeds.map(|speed| secs(sounding, speed) * held * rate),
                secs: speeds.map(|speed| secs(sounding, speed) * held + secs(rest, speed)),
                rest: secs(rest, speeds[0].max(speeds[1])),
                quarters: sounding.to_f64().max(0.0),
                rest_quarters: rest,
            })
        })
        .collect()
}

//! Which tones sound, from when to when, at what pitch and how loud? The performance in seconds and hertz.

use crate::numbers::count;
use crate::request::{DroneTonic, SoundRequest, Tuning};
use crate::timbre::{DRONE, Timbre};
use notation::Rational;
use performance::play::{Attack, Performance, PlayedNote, just_cents};

/// One tone to be made.
#[derive(Clone, PartialEq, Debug)]
pub struct Tone {
    /// First sample.
    pub(crate) from: u64,
    /// The sample at which it is let go.
    pub(crate) to: u64,
    /// Frequency; `None` for a stroke without pitch.
    pub(crate) hertz: Option<f64>,
    /// Loudness points: sample from the start, decibels from mf.
    pub(crate) loudness: Vec<(u64, f64)>,
    /// Decibels by which the beginning stands out.
    pub(crate) accent: f64,
    pub(crate) attack: Attack,
    pub(crate) joined_on: bool,
    pub(crate) timbre: Timbre,
}

/// The frequency of a pitch in semitones by MIDI's numbers. Source: equal temperament, A4 = 69.
#[must_use]
pub fn hertz(semitones: f64, a4: f64) -> f64 {
    a4 * ((semitones - 69.0) / 12.0).exp2()
}

/// The tonic in force at each time, as a sounding pitch class.
fn tonic(performance: &Performance, request: &SoundRequest, at: notation::Quarters) -> Option<Rational> {
    match request.drone.map(|drone| drone.tonic) {
        Some(DroneTonic::Given(tonic)) => Some(tonic.modulo(Rational::whole(12))),
        Some(DroneTonic::Follows) | None => {
            let index = performance.keys.partition_point(|key| key.from <= at);
            performance.keys.get(index.saturating_sub(1)).map(|key| key.tonic)
        }
        Some(DroneTonic::First) => performance.keys.first().map(|key| key.tonic),
    }
}

/// The frequency at which a note sounds, tuning and concert pitch applied; `None` without pitch.
#[must_use]
pub fn note_hertz(performance: &Performance, request: &SoundRequest, note: &PlayedNote) -> Option<f64> {
    let pitch = note.pitch?;
    let mut semitones = pitch.to_f64();
    if request.tuning == Tuning::Just
        && let Some(tonic) = tonic(performance, request, note.onset)
    {
        let above = (pitch - tonic).modulo(Rational::whole(12));
        // Microtones keep the place between the pure degrees that they have between equal ones: that of the degree below.
        semitones += just_cents(usize::try_from(above.floor()).unwrap_or(0)) / 100.0;
    }
    let hertz = hertz(semitones, request.a4.hertz());
    (hertz.is_finite() && hertz > 8.0 && hertz < 16_000.0).then_some(hertz)
}

/// The tones of the part, by their beginning.
pub(crate) fn part_tones(performance: &Performance, request: &SoundRequest, timbre: Timbre) -> Vec<Tone> {
    let rate = f64::from(request.rate.get());
    let mut tones: Vec<Tone> = performance
        .notes
        .iter()
        .map(|note| {
            let (start, end) = performance.seconds_of(note);
            let from = count(start * rate);
            let loudness = note.loudness.iter().map(|(at, level)| {
                let seconds = performance.clock.ends((note.onset + *at).max(note.onset));
                (
                    count(seconds * rate).saturating_sub(from),
                    level.clamp(-60.0, 20.0),
                )
            });
            Tone {
                from,
                to: count(end * rate).max(from + 1),
                hertz: note_hertz(performance, request, note),
                loudness: loudness.collect(),
                accent: note.accent.clamp(-12.0, 20.0),
                attack: note.attack,
                joined_on: note.joined_on,
                timbre,
            }
        })
        .collect();
    tones.sort_by_key(|tone| tone.from);
    tones
}

/// How much softer than the part the drone is, in decibels. Judgement.
const DRONE_LEVEL: f64 = -10.0;

/// The drone's tones: the tonic below the part (and its fifth), one for each stretch of one key.
pub(crate) fn drone_tones(performance: &Performance, request: &SoundRequest) -> Vec<Tone> {
    let Some(drone) = request.drone else {
        return Vec::new();
    };
    let rate = f64::from(request.rate.get());
    let end = count(performance.seconds() * rate);
    let mut changes: Vec<(u64, Rational)> = match drone.tonic {
        DroneTonic::Follows => performance
            .keys
            .iter()
            .map(|key| (count(performance.clock.begins(key.from) * rate), key.tonic))
            .collect(),
        _ => tonic(performance, request, notation::Quarters::ZERO)
            .into_iter()
            .map(|tonic| (0, tonic))
            .collect(),
    };
    if let Some(first) = changes.first_mut() {
        // It sounds through the count-in, too.
        first.0 = 0;
    }
    changes.dedup_by_key(|(_, tonic)| *tonic);
    let octave = octave_below(performance);
    let fifth = if request.tuning == Tuning::Just {
        7.0 + just_cents(7) / 100.0
    } else {
        7.0
    };
    let mut tones = Vec::new();
    for (n, (from, tonic)) in changes.iter().enumerate() {
        let to = changes.get(n + 1).map_or(end, |(next, _)| *next);
        if to <= *from {
            continue;
        }
        let semitones = tonic.to_f64() + octave;
        for (above, level) in [(0.0, 0.0), (12.0, -4.0), (fifth, -4.0)] {
            if above == fifth && !drone.fifth {
                continue;
            }
            tones.push(Tone {
                from: *from,
                to,
                hertz: Some(hertz(semitones + above, request.a4.hertz())),
                loudness: vec![(0, DRONE_LEVEL + level + drone.level.clamp(-40.0, 12.0))],
                accent: 0.0,
                attack: Attack::Soft,
                joined_on: true,
                timbre: DRONE,
            });
        }
    }
    tones
}

/// The C from which the drone's pitch class is counted up: about an octave below the middle of the part, in a range that
/// small loudspeakers still give (from C3 on; C2 for low parts).
fn octave_below(performance: &Performance) -> f64 {
    let mut pitches: Vec<Rational> = performance.notes.iter().filter_map(|note| note.pitch).collect();
    pitches.sort_unstable();
    let middle = pitches
        .get(pitches.len() / 2)
        .map_or(67.0, |pitch| pitch.to_f64());
    if middle < 52.0 { 36.0 } else { 48.0 }
}

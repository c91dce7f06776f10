//! Sounds for tests: tones of known pitch and beginning.

use crate::numbers::{count, narrow, real};
use crate::recording::Recording;
use std::f64::consts::TAU;

pub(crate) const RATE: u32 = 22_050;

/// One tone: beginning and length in seconds, key number, and what it does.
#[derive(Clone, Copy)]
pub(crate) struct Tone {
    pub from: f64,
    pub secs: f64,
    pub key: f64,
    /// Seconds of attack and of release.
    pub attack: f64,
    pub release: f64,
    /// Semitones to both sides, 5.5 times a second.
    pub vibrato: f64,
}

impl Tone {
    pub fn new(from: f64, secs: f64, key: f64) -> Self {
        Self {
            from,
            secs,
            key,
            attack: 0.02,
            release: 0.03,
            vibrato: 0.0,
        }
    }
}

/// The tones together, ten partials each at 1/n, the loudest at about a fifth of full scale, and silence to `secs`.
pub(crate) fn sound(tones: &[Tone], secs: f64) -> Recording {
    let rate = f64::from(RATE);
    let mut samples = vec![0.0_f64; count(secs * rate)];
    for tone in tones {
        let mut phase = 0.0;
        let hertz = crate::track::hertz_of(tone.key);
        for (n, sample) in samples.iter_mut().enumerate().skip(count(tone.from * rate)) {
            let t = real(n) / rate - tone.from;
            if t >= tone.secs + tone.release {
                break;
            }
            let fade = |t: f64, over: f64| 0.5 - 0.5 * (0.5 * TAU * (t / over).clamp(0.0, 1.0)).cos();
            let gain = fade(t, tone.attack) * (1.0 - fade(t - tone.secs, tone.release));
            let now = hertz * (tone.vibrato / 12.0 * (TAU * 5.5 * t).sin()).exp2();
            phase += TAU * now / rate;
            for partial in (1..=10)
                .map(real)
                .take_while(|partial| partial * hertz < rate * 0.45)
            {
                *sample += 0.12 * gain * (partial * phase).sin() / partial;
            }
        }
    }
    Recording {
        rate: RATE,
        samples: samples.into_iter().map(narrow).collect(),
    }
}

/// The same with white noise so many decibels under its own mean level (xorshift, Marsaglia 2003; sums of four for a bell shape).
pub(crate) fn with_noise(mut recording: Recording, below: f64) -> Recording {
    let mean = recording
        .samples
        .iter()
        .map(|sample| f64::from(*sample).powi(2))
        .sum::<f64>()
        / real(recording.samples.len().max(1));
    let level = mean.sqrt() * 10.0_f64.powf(-below / 20.0);
    let mut state = 0x2545_F491_u32;
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        f64::from(state) / f64::from(u32::MAX) - 0.5
    };
    for sample in &mut recording.samples {
        // The sum of four has a variance of a third.
        let noise = next() + next() + next() + next();
        *sample += narrow(noise * 3.0_f64.sqrt() * level);
    }
    recording
}

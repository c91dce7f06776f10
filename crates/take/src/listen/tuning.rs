//! How high is the player's A? The tuning to which most of what is played lies nearest.

use crate::numbers::{count, real};
use crate::track::Frame;
use std::f64::consts::TAU;

/// Seconds in the mean over which a vibrato cancels itself: a cycle of the slowest common one.
const CYCLE_SECS: f64 = 0.2;
/// Semitones of room for a vibrato in that time; what moves further is a step or a glide, and says nothing about tuning.
const SHAKE: f64 = 1.3;
/// Tones too short for that are measured over so many seconds …
const QUICK_SECS: f64 = 0.06;
/// … if they move by no more than this, in semitones.
const STILL: f64 = 0.12;
/// At least so many seconds must have a steady pitch.
const ENOUGH_SECS: f64 = 0.2;
/// How far the takes' notes must agree about the tuning, from 0 (not at all) to 1.
const AGREED: f64 = 0.1;

/// Hertz of A4, by how far the followed pitches lie from the nearest semitone of 440 Hz: within half a semitone of 440. None
/// where too little has a steady pitch, or what is played agrees on no tuning.
///
/// Source: circular mean of the deviation, common practice.
pub(super) fn a4(frames: &[Frame], hop_secs: f64) -> Option<f64> {
    let slow = lie(frames, count(CYCLE_SECS / hop_secs), SHAKE);
    // Who plays nothing so long is measured by shorter tones, if they stand still and agree better.
    let quick = lie(frames, count(QUICK_SECS / hop_secs), STILL);
    let better = quick.agrees() > slow.agrees();
    let (first, second) = if better { (quick, slow) } else { (slow, quick) };
    first.a4(hop_secs).or_else(|| second.a4(hop_secs))
}

/// Where pitches lie between the semitones of 440 Hz: the sum of so many unit vectors.
struct Lie {
    x: f64,
    y: f64,
    steady: f64,
}

impl Lie {
    /// How far they agree, from 0 to 1.
    fn agrees(&self) -> f64 {
        self.x.hypot(self.y) / self.steady.max(1.0)
    }

    fn a4(&self, hop_secs: f64) -> Option<f64> {
        let enough = 2.0 * self.steady * hop_secs >= ENOUGH_SECS && self.agrees() > AGREED;
        enough.then(|| 440.0 * (self.y.atan2(self.x) / TAU / 12.0).exp2())
    }
}

/// The lie of what moves by no more than `room` semitones over so many frames.
fn lie(frames: &[Frame], span: usize, room: f64) -> Lie {
    let span = span.max(1);
    let mut lie = Lie {
        x: 0.0,
        y: 0.0,
        steady: 0.0,
    };
    for near in frames.windows(span).step_by(2) {
        let mut keys = near.iter().map(|frame| frame.key);
        let all = keys.try_fold(
            (0.0, f64::INFINITY, f64::NEG_INFINITY),
            |(sum, low, high), key| {
                let key = key?;
                Some((sum + key, f64::min(low, key), f64::max(high, key)))
            },
        );
        let Some((sum, low, high)) = all else { continue };
        if high - low > room {
            continue;
        }
        let angle = sum / real(span) * TAU;
        lie.x += angle.cos();
        lie.y += angle.sin();
        lie.steady += 1.0;
    }
    lie
}

//! How high is the player's A? The tuning to which most of what is played lies nearest.

use crate::numbers::{count, real};
use crate::track::Frame;
use std::f64::consts::TAU;

/// Seconds in the mean over which a vibrato cancels itself: a cycle of the slowest common one.
const CYCLE_SECS: f64 = 0.2;
/// Semitones of room for a vibrato in that time; what moves further is a step or a glide, and says nothing about tuning.
const SHAKE: f64 = 1.3;
/// At least so many seconds must have a steady pitch.
const ENOUGH_SECS: f64 = 0.2;
/// How far the takes' notes must agree about the tuning, from 0 (not at all) to 1.
const AGREED: f64 = 0.1;

/// Hertz of A4, by how far the followed pitches lie from the nearest semitone of 440 Hz: within half a semitone of 440. None
/// where too little has a steady pitch, or what is played agrees on no tuning.
///
/// Source: circular mean of the deviation, common practice.
pub(super) fn a4(frames: &[Frame], hop_secs: f64) -> Option<f64> {
    let span = count(CYCLE_SECS / hop_secs).max(1);
    let (mut x, mut y, mut steady) = (0.0, 0.0, 0.0);
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
        if high - low > SHAKE {
            continue;
        }
        let angle = sum / real(span) * TAU;
        x += angle.cos();
        y += angle.sin();
        steady += 1.0;
    }
    let enough = 2.0 * steady * hop_secs >= ENOUGH_SECS && x.hypot(y) > AGREED * steady;
    enough.then(|| 440.0 * (y.atan2(x) / TAU / 12.0).exp2())
}

//! How loud is it, finely in time, and how loud when nobody plays?

use crate::numbers::{count, narrow, real};
use crate::track::Frame;

/// The energy of a recording in steps of about half a millisecond.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct Fine {
    /// Samples in a step.
    step: usize,
    /// Seconds in a step.
    pub secs: f64,
    /// Mean square in each step.
    pub energy: Vec<f32>,
    sum: f64,
    seen: usize,
}

impl Fine {
    pub fn new(rate: f64) -> Self {
        let step = count(rate * 0.0005).max(1);
        Self {
            step,
            secs: real(step) / rate,
            ..Self::default()
        }
    }

    /// Takes in the next sample.
    pub fn push(&mut self, sample: f32) {
        self.sum += f64::from(sample).powi(2);
        self.seen += 1;
        if self.seen == self.step {
            self.energy.push(narrow(self.sum / real(self.step)));
            self.sum = 0.0;
            self.seen = 0;
        }
    }
}

/// Decibels of a mean square, from full scale; −120 for silence.
pub(crate) fn decibels(energy: f64) -> f32 {
    narrow(10.0 * energy.max(1e-12).log10())
}

/// The level when nobody plays: that under which the softest twentieth of all frames lies, but at least 15 dB under the loudest
/// twentieth, for one who never rests.
pub(super) fn floor(frames: &[Frame]) -> f32 {
    let mut levels: Vec<f32> = frames.iter().map(|frame| frame.level_db).collect();
    if levels.is_empty() {
        return -120.0;
    }
    levels.sort_by(f32::total_cmp);
    let at = |part: f64| {
        levels
            .get(count(real(levels.len() - 1) * part))
            .copied()
            .unwrap_or(-120.0)
    };
    at(0.05).min(at(0.95) - 15.0)
}

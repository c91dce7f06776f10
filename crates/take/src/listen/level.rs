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

/// The level when nobody plays: the middle of all frames without pitch, if there are any to speak of, else far under what is
/// played.
pub(super) fn floor(frames: &[Frame]) -> f32 {
    let sorted = |frames: &mut dyn Iterator<Item = &Frame>| {
        let mut levels: Vec<f32> = frames.map(|frame| frame.level_db).collect();
        levels.sort_by(f32::total_cmp);
        levels
    };
    let at = |levels: &[f32], part: f64| {
        levels
            .get(count(real(levels.len().saturating_sub(1)) * part))
            .copied()
            .unwrap_or(-120.0)
    };
    let all = sorted(&mut frames.iter());
    let without = sorted(&mut frames.iter().filter(|frame| frame.key.is_none()));
    let far = at(&all, 0.95) - FAR_DB;
    if without.len() * 100 > all.len() {
        at(&without, 0.3).min(at(&all, 0.5))
    } else {
        far.min(at(&all, 0.0))
    }
}

/// Somebody who never rests is heard in a room so many decibels softer.
const FAR_DB: f32 = 40.0;

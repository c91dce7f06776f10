//! How do more samples become fewer? A low-pass filter, then every so-and-so-many-th sample, block by block.

use crate::numbers::{narrow, real};
use std::f64::consts::PI;

/// At least so many samples a second stay: the second partial of a piccolo's C8 (8,372 Hz) is still there.
const ENOUGH: u32 = 22_050;
/// Filter taps to each side, for each sample that falls together with others into one.
const REACH: usize = 16;

/// By how much a rate can be thinned.
pub(super) fn factor(rate: u32) -> u32 {
    (rate / ENOUGH).max(1)
}

/// Thins a stream of samples by a whole factor. Output sample n stands at input sample n × factor: nothing is delayed.
pub(super) struct Thinner {
    factor: usize,
    taps: Vec<f32>,
    waiting: Vec<f32>,
    /// Where in `waiting` the next window begins.
    next: usize,
}

impl Thinner {
    pub fn new(factor: u32) -> Self {
        let factor = usize::try_from(factor).unwrap_or(1).max(1);
        let reach = if factor == 1 { 0 } else { REACH * factor };
        Self {
            factor,
            taps: taps(factor, reach),
            waiting: vec![0.0; reach],
            next: 0,
        }
    }

    /// Takes samples in and appends what is finished.
    pub fn push(&mut self, samples: &[f32], out: &mut Vec<f32>) {
        if self.factor == 1 {
            out.extend_from_slice(samples);
            return;
        }
        self.waiting.extend_from_slice(samples);
        while let Some(window) = self.waiting.get(self.next..self.next + self.taps.len()) {
            out.push(
                window
                    .iter()
                    .zip(&self.taps)
                    .map(|(sample, tap)| sample * tap)
                    .sum(),
            );
            self.next += self.factor;
        }
        let done = self.next.min(self.waiting.len());
        self.waiting.drain(..done);
        self.next -= done;
    }

    /// Appends what the last samples still give.
    pub fn finish(&mut self, out: &mut Vec<f32>) {
        let reach = vec![0.0; self.taps.len() / 2];
        self.push(&reach, out);
    }
}

/// A windowed sinc (Blackman), −6 dB at 0.46 of the new rate, adding up to 1.
///
/// Source: windowed design of low-pass filters, Oppenheim & Schafer, Discrete-Time Signal Processing, ch. 7 (from memory).
fn taps(factor: usize, reach: usize) -> Vec<f32> {
    let cutoff = 0.46 / real(factor);
    let side = real(reach) + 1.0;
    let raw: Vec<f64> = (0..=2 * reach)
        .map(|n| {
            let t = real(n) - real(reach);
            let sinc = if n == reach {
                2.0 * cutoff
            } else {
                (2.0 * PI * cutoff * t).sin() / (PI * t)
            };
            sinc * (0.42 + 0.5 * (PI * t / side).cos() + 0.08 * (2.0 * PI * t / side).cos())
        })
        .collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|tap| narrow(tap / sum)).collect()
}

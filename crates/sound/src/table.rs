//! One period of a tone, summed from its partials: additive synthesis done once for each pitch.

use crate::numbers::{fraction, real, sample, table_index};
use std::f64::consts::TAU;
use std::sync::OnceLock;

/// Table size as a power of two.
pub(crate) const BITS: u32 = 11;
const SIZE: usize = 1 << BITS;

/// One period, with a sample before it and two behind for the interpolation.
#[derive(Debug)]
pub(crate) struct Table {
    samples: Vec<f32>,
}

fn sine() -> &'static [f64] {
    static SINE: OnceLock<Vec<f64>> = OnceLock::new();
    SINE.get_or_init(|| {
        (0..SIZE)
            .map(|n| (TAU * real(n as u64) / real(SIZE as u64)).sin())
            .collect()
    })
}

impl Table {
    /// The sum of partials with the given amplitudes, fundamental first. All start at zero, every other one turned, which
    /// keeps the peaks down.
    pub fn new(partials: &[f64]) -> Self {
        let sine = sine();
        let mut sum = vec![0.0_f64; SIZE];
        for (n, amplitude) in partials.iter().enumerate() {
            let number = n + 1;
            // Schroeder's phases (1970, from memory) spread the energy over the period: a quadratic in the partial's number.
            let shift = (number * n * SIZE / (2 * partials.len().max(1))) % SIZE;
            let mut at = shift;
            for value in &mut sum {
                *value += amplitude * sine.get(at).copied().unwrap_or(0.0);
                at = (at + number) & (SIZE - 1);
            }
        }
        let at = |n: usize| sample(sum.get(n % SIZE).copied().unwrap_or(0.0));
        let samples = (0..SIZE + 3).map(|n| at(n + SIZE - 1)).collect();
        Self { samples }
    }

    /// The value at a phase (the whole range of the number is one period), between samples by a cubic.
    #[inline]
    pub fn at(&self, phase: u64) -> f32 {
        let index = table_index(phase, BITS);
        let t = fraction(phase, BITS);
        let Some(&[a, b, c, d]) = self
            .samples
            .get(index..index + 4)
            .and_then(|four| four.first_chunk::<4>())
        else {
            return 0.0;
        };
        // Catmull-Rom.
        let (p, q, r) = (
            0.5 * (c - a),
            a - 2.5 * b + 2.0 * c - 0.5 * d,
            0.5 * (d - a) + 1.5 * (b - c),
        );
        ((r * t + q) * t + p) * t + b
    }
}

/// What to add to a phase for each sample of a frequency: exact to 2^−64 of a period.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a part of a period, scaled to the whole range"
)]
pub(crate) fn step(hertz: f64, rate: f64) -> u64 {
    // 2^64 as a number; frequencies lie far below half the rate.
    ((hertz / rate).clamp(0.0, 0.5) * 18_446_744_073_709_551_616.0) as u64
}

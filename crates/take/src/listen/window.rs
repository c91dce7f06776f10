//! Which samples lie around an instant? The recording without its rumble, passed by once, so that no second copy is kept.

use crate::numbers::{narrow, real};
use std::f64::consts::{PI, SQRT_2};

/// The samples around an instant that moves forward.
pub(super) struct Window<'a> {
    samples: &'a [f32],
    /// Filtered samples; the first stands at `start`.
    held: Vec<f32>,
    /// The recording's sample at which `held` begins, counted from `pad` samples before its beginning.
    start: usize,
    /// Filtered so far, of the recording.
    done: usize,
    /// Room before the beginning and after the end.
    pad: usize,
    /// Where the middle is, counted as `start` is.
    centre: usize,
    rumble: Biquad,
    hiss: Option<Biquad>,
}

impl<'a> Window<'a> {
    /// Over a recording, for frames of at most `widest` samples, without what lies under the first cutoff (hertz) and above the
    /// second, if there is one.
    pub fn new(samples: &'a [f32], rate: f64, (low, high): (f64, Option<f64>), widest: usize) -> Self {
        let pad = widest / 2 + 1;
        Self {
            samples,
            held: vec![0.0; pad],
            start: 0,
            done: 0,
            pad,
            centre: 0,
            rumble: Biquad::high_pass(rate, low),
            hiss: high.map(|high| Biquad::low_pass(rate, high)),
        }
    }

    /// Moves on so that the middle is at a sample of the recording; each sample that comes in on the way is shown once.
    pub fn centre_on(&mut self, sample: usize, mut seen: impl FnMut(f32)) {
        self.centre = sample + self.pad;
        let until = self.centre + self.pad;
        let first = self.centre.saturating_sub(self.pad);
        // Let go of what lies behind, seldom.
        if first > self.start + 8 * self.pad {
            let gone = (first - self.start).min(self.held.len());
            self.held.drain(..gone);
            self.start += gone;
        }
        while self.start + self.held.len() < until {
            let next = match self.samples.get(self.done) {
                Some(sample) => {
                    let mut filtered = self.rumble.next(*sample);
                    if let Some(hiss) = &mut self.hiss {
                        filtered = hiss.next(filtered);
                    }
                    seen(filtered);
                    filtered
                }
                None => 0.0,
            };
            self.done += 1;
            self.held.push(next);
        }
    }

    /// The `size` samples around the middle.
    pub fn middle(&self, size: usize) -> &[f32] {
        let from = (self.centre - self.start).saturating_sub(size / 2);
        self.held.get(from..from + size).unwrap_or(&[])
    }

    /// The mean square of the `size` samples around the middle.
    pub fn energy(&self, size: usize) -> f64 {
        let middle = self.middle(size);
        let sum: f64 = middle.iter().map(|sample| f64::from(*sample).powi(2)).sum();
        sum / real(middle.len().max(1))
    }
}

/// A Butterworth filter of second order.
///
/// Source: bilinear transform of the analogue filter, Oppenheim & Schafer, Discrete-Time Signal Processing, ch. 7 (from memory).
struct Biquad {
    b: (f64, f64),
    a: (f64, f64),
    x: (f64, f64),
    y: (f64, f64),
}

impl Biquad {
    fn high_pass(rate: f64, cutoff: f64) -> Self {
        let (norm, a, _) = poles(rate, cutoff);
        Self {
            b: (norm, -2.0 * norm),
            a,
            x: (0.0, 0.0),
            y: (0.0, 0.0),
        }
    }

    fn low_pass(rate: f64, cutoff: f64) -> Self {
        let (norm, a, k) = poles(rate, cutoff);
        let b = k * k * norm;
        Self {
            b: (b, 2.0 * b),
            a,
            x: (0.0, 0.0),
            y: (0.0, 0.0),
        }
    }

    fn next(&mut self, sample: f32) -> f32 {
        let x = f64::from(sample);
        let (outer, inner) = self.b;
        let mut y = outer * (x + self.x.1) + inner * self.x.0 - self.a.0 * self.y.0 - self.a.1 * self.y.1;
        if y.abs() < 1e-20 {
            // No numbers so small that the processor slows down.
            y = 0.0;
        }
        self.x = (x, self.x.0);
        self.y = (y, self.y.0);
        narrow(y)
    }
}

/// What both filters share: the scale, the feedback and the warped cutoff.
fn poles(rate: f64, cutoff: f64) -> (f64, (f64, f64), f64) {
    let k = (PI * (cutoff / rate).min(0.45)).tan();
    let norm = 1.0 / (1.0 + SQRT_2 * k + k * k);
    (
        norm,
        (2.0 * (k * k - 1.0) * norm, (1.0 - SQRT_2 * k + k * k) * norm),
        k,
    )
}

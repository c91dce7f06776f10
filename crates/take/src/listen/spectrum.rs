//! What does a short frame hold of each frequency? A tapered Fourier transform that keeps its room from frame to frame.

use crate::numbers::{narrow, real};
use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};
use std::f64::consts::TAU;
use std::sync::Arc;

/// The spectrum of one frame after another.
pub(super) struct Spectrum {
    taper: Vec<f32>,
    transform: Arc<dyn RealToComplex<f32>>,
    input: Vec<f32>,
    output: Vec<Complex<f32>>,
    scratch: Vec<Complex<f32>>,
}

impl Spectrum {
    /// Of frames of so many samples, padded with silence to at least so many: Hann's window, a full-scale sine of magnitude 1.
    pub fn new(size: usize, padded: usize) -> Self {
        let transform = RealFftPlanner::<f32>::new().plan_fft_forward(padded.max(size).next_power_of_two());
        let taper = (0..size)
            .map(|n| narrow((0.5 - 0.5 * (TAU * (real(n) + 0.5) / real(size)).cos()) * 4.0 / real(size)));
        Self {
            taper: taper.collect(),
            input: transform.make_input_vec(),
            output: transform.make_output_vec(),
            scratch: transform.make_scratch_vec(),
            transform,
        }
    }

    /// Samples in a frame.
    pub fn size(&self) -> usize {
        self.taper.len()
    }

    /// Samples that are transformed: a bin is the sample rate divided by this.
    pub fn length(&self) -> usize {
        self.transform.len()
    }

    /// The bins of a frame; none if it could not be transformed.
    pub fn of(&mut self, frame: &[f32]) -> &[Complex<f32>] {
        self.input.fill(0.0);
        for ((to, from), taper) in self.input.iter_mut().zip(frame).zip(&self.taper) {
            *to = from * taper;
        }
        let done = self
            .transform
            .process_with_scratch(&mut self.input, &mut self.output, &mut self.scratch);
        if done.is_ok() { &self.output } else { &[] }
    }
}

//! Do partials begin or grow? Spectral flux in bands of a quarter tone, deaf to vibrato.
//!
//! Source: Böck & Widmer 2013, Maximum filter vibrato suppression for onset detection, DAFx: log-magnitude in 24 bands an
//! octave, each compared with the loudest of itself and its neighbours a little earlier; only growth counts.

use super::spectrum::Spectrum;
use crate::numbers::{count, real, single};
use realfft::num_complex::Complex;
use std::collections::VecDeque;

/// Seconds looked at.
const WINDOW_SECS: f64 = 0.023;
/// Frames between what is compared: 10 ms.
const BACK: usize = 2;
const BANDS_AN_OCTAVE: f64 = 24.0;
const LOWEST: f64 = 60.0;
/// Levels under this magnitude (of a full-scale sine) count as silence.
const QUIET: f32 = 0.001;

/// The flux of one frame after another.
pub(super) struct Flux {
    spectrum: Spectrum,
    /// First and last bin of each band.
    bands: Vec<(usize, usize)>,
    past: VecDeque<Vec<f32>>,
}

impl Flux {
    pub fn new(rate: f64) -> Self {
        let size = count(WINDOW_SECS * rate).max(32) / 2 * 2;
        let spectrum = Spectrum::new(size, 2 * size);
        Self {
            bands: bands(rate, spectrum.length()),
            past: VecDeque::new(),
            spectrum,
        }
    }

    /// Samples in a frame.
    pub fn size(&self) -> usize {
        self.spectrum.size()
    }

    /// By how many decibels the bands grow here, in the mean.
    pub fn next(&mut self, frame: &[f32]) -> f32 {
        let spectrum = self.spectrum.of(frame);
        if spectrum.is_empty() {
            return 0.0;
        }
        let level = |band: &(usize, usize)| {
            let bins = spectrum.get(band.0..=band.1).unwrap_or(&[]);
            let loudest = bins.iter().map(Complex::norm_sqr).fold(0.0, f32::max);
            10.0 * ((loudest + QUIET * QUIET) / (QUIET * QUIET)).log10()
        };
        let now: Vec<f32> = self.bands.iter().map(level).collect();
        let grown = self.past.front().map_or(0.0, |past| growth(past, &now));
        if self.past.len() == BACK {
            self.past.pop_front();
        }
        self.past.push_back(now);
        grown
    }
}

/// The mean of what grew.
fn growth(past: &[f32], now: &[f32]) -> f32 {
    let mut sum = 0.0;
    for (n, level) in now.iter().enumerate() {
        let near = past
            .get(n.saturating_sub(1)..(n + 2).min(past.len()))
            .unwrap_or(&[]);
        let before = near.iter().copied().fold(0.0, f32::max);
        sum += (level - before).max(0.0);
    }
    sum / single(now.len().max(1))
}

/// Bands a quarter tone wide; the lowest ones, narrower than a bin, share it.
fn bands(rate: f64, length: usize) -> Vec<(usize, usize)> {
    let bin = rate / real(length);
    let top = (rate * 0.45).min(10_000.0);
    let mut made: Vec<(usize, usize)> = Vec::new();
    let mut edge = LOWEST;
    while edge < top {
        let next = edge * (1.0 / BANDS_AN_OCTAVE).exp2();
        let band = (
            count(edge / bin),
            count(next / bin).max(count(edge / bin) + 1) - 1,
        );
        if made.last() != Some(&band) {
            made.push(band);
        }
        edge = next;
    }
    made
}

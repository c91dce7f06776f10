//! How unlike is a frame to itself, shifted by each lag? The difference function of YIN, by Fourier transform, on a fine grid.
//!
//! Source: de Cheveigné & Kawahara 2002, YIN, JASA 111:1917, equations 6 and 8. Two departures. The sum over a lag τ runs over
//! all pairs inside the frame and is divided by their number (McLeod & Wyvill 2005, A smarter way to find pitch, type II), so
//! that whatever the lag, it looks at the frame's middle: a change of pitch is seen when it happens. And the lags lie closer
//! than the samples: the autocorrelation of a band-limited sound is itself band-limited, so a longer inverse transform gives it
//! in between.

use crate::numbers::{narrow, real, single};
use realfft::num_complex::Complex;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};
use std::sync::Arc;

/// The noise of a recording, as the difference function hears it.
pub(super) struct Noise {
    /// Mean energy of a pair of samples.
    pub pair_energy: f32,
    /// Mean squared difference at each grid lag.
    pub plain: Vec<f32>,
}

/// At most this part of the noise is taken out …
const MOST_TAKEN: f64 = 0.9;
/// … and from nothing to that between these energies, as multiples of the noise's own.
const SOFT: (f64, f64) = (1.15, 1.6);

/// The difference function of one frame after another.
pub(super) struct Difference {
    /// Samples in a frame.
    pub size: usize,
    /// Grid points to a sample.
    pub fine: usize,
    forward: Arc<dyn RealToComplex<f32>>,
    inverse: Arc<dyn ComplexToReal<f32>>,
    /// What sounds when nobody plays, if it is known.
    pub noise: Option<Noise>,
    padded: Vec<f32>,
    spectrum: Vec<Complex<f32>>,
    power: Vec<Complex<f32>>,
    correlation: Vec<f32>,
    scratch: (Vec<Complex<f32>>, Vec<Complex<f32>>),
    energy: Vec<f64>,
    /// Mean squared difference at each grid lag, from 0 to half the frame.
    pub plain: Vec<f32>,
    /// The same divided by its mean over all shorter lags: 1 is no likeness, 0 a perfect period.
    pub normed: Vec<f32>,
    /// Mean energy of a pair of samples, for comparing `plain` with.
    pub pair_energy: f32,
    /// The value of `plain` under which a lag counts as a period.
    pub alike: f32,
}

impl Difference {
    /// For frames of `size` samples and lags up to half of that.
    pub fn new(size: usize, fine: usize) -> Self {
        let longest = size / 2 + 1;
        let mut planner = RealFftPlanner::<f32>::new();
        // Long enough that no shifted copy comes round.
        let length = (size + longest + 1).next_power_of_two();
        let forward = planner.plan_fft_forward(length);
        let inverse = planner.plan_fft_inverse(length * fine);
        Self {
            size,
            fine,
            noise: None,
            padded: forward.make_input_vec(),
            spectrum: forward.make_output_vec(),
            power: inverse.make_input_vec(),
            correlation: inverse.make_output_vec(),
            scratch: (forward.make_scratch_vec(), inverse.make_scratch_vec()),
            energy: vec![0.0; longest + 2],
            plain: vec![0.0; longest * fine],
            normed: vec![1.0; longest * fine],
            pair_energy: 0.0,
            alike: 0.0,
            forward,
            inverse,
        }
    }

    /// Looks at a frame of `size` samples; false where there is nothing but silence.
    pub fn look(&mut self, frame: &[f32]) -> bool {
        if frame.len() != self.size {
            return false;
        }
        self.padded.fill(0.0);
        for (to, from) in self.padded.iter_mut().zip(frame) {
            *to = *from;
        }
        let length = single(self.padded.len());
        let done =
            self.forward
                .process_with_scratch(&mut self.padded, &mut self.spectrum, &mut self.scratch.0);
        self.power.fill(Complex::default());
        for (to, from) in self.power.iter_mut().zip(&self.spectrum) {
            to.re = from.norm_sqr() / length;
        }
        let back =
            self.inverse
                .process_with_scratch(&mut self.power, &mut self.correlation, &mut self.scratch.1);
        if done.is_err() || back.is_err() {
            return false;
        }
        self.energies(frame);
        self.pair_energy > 1e-10 && {
            self.differences();
            true
        }
    }

    /// How much of the noise's difference is taken out of this frame's: nothing from one as soft as the noise, for what is left of
    /// noise without its noise is chance.
    fn taken(&self) -> f64 {
        let Some(noise) = &self.noise else { return 0.0 };
        let over = f64::from(self.pair_energy / noise.pair_energy.max(f32::MIN_POSITIVE));
        MOST_TAKEN * ((over - SOFT.0) / (SOFT.1 - SOFT.0)).clamp(0.0, 1.0)
    }

    /// The energy of all pairs at each whole lag: what drops out at both ends as the lag grows.
    fn energies(&mut self, frame: &[f32]) {
        let all: f64 = frame.iter().map(|sample| f64::from(*sample).powi(2)).sum();
        let mut left = 2.0 * all;
        let ends = frame.iter().zip(frame.iter().rev());
        let dropped = ends.map(|(first, last)| f64::from(*first).powi(2) + f64::from(*last).powi(2));
        for (energy, gone) in self.energy.iter_mut().zip(dropped) {
            *energy = left;
            left -= gone;
        }
        self.pair_energy = narrow(2.0 * all / real(self.size.max(1)));
    }

    fn differences(&mut self) {
        let step = 1.0 / real(self.fine);
        let taken = self.taken();
        let noise = self.noise.as_ref();
        let noise_at = |n: usize| {
            noise
                .and_then(|noise| noise.plain.get(n))
                .map_or(0.0, |noise| taken * f64::from(*noise))
        };
        let pairs_noise = narrow(taken) * noise.map_or(0.0, |noise| noise.pair_energy);
        self.alike = STILL_ALIKE * (self.pair_energy - pairs_noise) + pairs_noise;
        let (mut sum, mut seen) = (0.0_f64, 0.0_f64);
        let grid = self.plain.iter_mut().zip(self.normed.iter_mut());
        for (n, ((plain, normed), correlation)) in grid.zip(&self.correlation).enumerate() {
            let (whole, part) = (n / self.fine, real(n % self.fine) * step);
            let at = |lag: usize| self.energy.get(lag).copied().unwrap_or(0.0);
            let energy = at(whole) * (1.0 - part) + at(whole + 1) * part;
            let pairs = real(self.size) - real(n) * step;
            let difference = ((energy - 2.0 * f64::from(*correlation)) / pairs).max(0.0);
            *plain = narrow(difference);
            let clean = difference - noise_at(n);
            if n > 0 {
                sum += clean;
                seen += 1.0;
            }
            *normed = if sum > 0.0 {
                narrow(clean * seen / sum)
            } else {
                1.0
            };
        }
    }
}

/// A trough further out is believed to be the same period many times over if it is not shallower than this part of full unlikeness.
const STILL_ALIKE: f32 = 0.4;

/// Where the least value lies between three neighbours, as an offset in grid points from the middle one, and that value.
///
/// Source: parabolic interpolation, de Cheveigné & Kawahara 2002, step 5.
pub(super) fn least(before: f32, at: f32, after: f32) -> (f32, f32) {
    let bend = before - 2.0 * at + after;
    if bend <= f32::EPSILON {
        return (0.0, at);
    }
    let offset = (0.5 * (before - after) / bend).clamp(-1.0, 1.0);
    (offset, at - 0.25 * (before - after) * offset)
}

//! How do several forecasts become one? A product of powers, each forecast weighing by what it goes on.
//!
//! P(x) ∝ ∏ pₘ(x)^w: the weighted geometric mean of Pearce, Conklin & Wiggins. Theirs weighs a forecast by its entropy alone;
//! ours by the model it comes from, how long a context it knew, whether only one thing ever followed there, and for how
//! long the piece has been repeating itself, with weights fitted on tunes that the long-term model had not seen. (Aird's
//! airs left out, the same viewpoints: 2.23 bits a pitch and 1.31 a value by entropy, 1.92 and 0.82 by fitted weights.)
//!
//! Source: M. Pearce, D. Conklin & G. Wiggins, "Methods for combining statistical models of music", CMMR 2004 (LNCS 3310).

use super::ppm::Known;
use super::viewpoints::{PITCH, RHYTHM};

/// Kinds of evidence a forecast can rest on.
pub const STATES: usize = 16;
/// Models: two terms of all viewpoints; the return and the parallel bar, each for pitch and for values.
pub const MODELS: usize = 2 * (PITCH + RHYTHM) + 4;
/// Whether what comes is a return, and for how long it has been one: weights of their own.
pub const SETS: usize = 5;
/// How many weights there are.
pub const WEIGHTS: usize = SETS * MODELS * STATES;

/// The weights of all forecasts.
#[derive(Clone, PartialEq, Debug)]
pub struct Weights(Vec<f64>);

impl Default for Weights {
    fn default() -> Self {
        Self(vec![0.3; WEIGHTS])
    }
}

impl Weights {
    /// Weights in the order of [`Forecast`]'s models and states; missing ones are as by default.
    #[must_use]
    pub fn of(weights: impl Iterator<Item = f64>) -> Self {
        let mut all = Self::default();
        for (slot, weight) in all.0.iter_mut().zip(weights) {
            *slot = weight;
        }
        all
    }

    /// All of them.
    #[must_use]
    pub fn all(&self) -> &[f64] {
        &self.0
    }
}

/// One forecast: natural logarithms of its probabilities, and which weight it has.
#[derive(Clone, Debug, Default)]
pub struct Forecast {
    logs: Vec<f64>,
    weight: usize,
}

impl Forecast {
    /// From probabilities that sum to 1, none of them 0; by a model with a number, under one of the sets of weights.
    pub fn set(&mut self, probabilities: &[f64], set: usize, model: usize, known: Known) {
        self.logs.clear();
        self.logs.extend(probabilities.iter().map(|p| log(*p)));
        let state = known.order.min(STATES / 2 - 1) * 2 + usize::from(known.only_one);
        self.weight = (set * MODELS + model) * STATES + state;
    }
}

/// Natural logarithm of a normal positive number to five places, some times faster than the exact one. That the combined
/// probabilities sum to 1 doesn't rest on it.
fn log(p: f64) -> f64 {
    const MANTISSA: u64 = (1 << 52) - 1;
    let bits = p.to_bits();
    // The exponent as a number: written into the mantissa of 2^52.
    let exponent = f64::from_bits((bits >> 52) | 0x4330_0000_0000_0000) - 4_503_599_627_370_496.0 - 1023.0;
    let mantissa = f64::from_bits((bits & MANTISSA) | 0x3ff0_0000_0000_0000);
    // ln m = 2 artanh t, t = (m - 1) / (m + 1), at most a third.
    let t = (mantissa - 1.0) / (mantissa + 1.0);
    let square = t * t;
    let series = 1.0 + square * (1.0 / 3.0 + square * (0.2 + square * (1.0 / 7.0 + square * (1.0 / 9.0))));
    exponent * std::f64::consts::LN_2 + 2.0 * t * series
}

/// Combines forecasts into `probabilities`, which sum to 1; even if there is no forecast.
pub fn combine(forecasts: &[Forecast], weights: &Weights, probabilities: &mut [f64]) {
    probabilities.fill(0.0);
    for forecast in forecasts {
        let weight = weights.0.get(forecast.weight).copied().unwrap_or_default();
        for (sum, log) in probabilities.iter_mut().zip(&forecast.logs) {
            *sum += weight * log;
        }
    }
    let highest = probabilities.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut total = 0.0;
    for probability in probabilities.iter_mut() {
        *probability = (*probability - highest).exp();
        total += *probability;
    }
    for probability in probabilities.iter_mut() {
        *probability /= total;
    }
}

/// Moves the weights so that what came would have been likelier: a step up the gradient of its logarithm.
pub fn improve(forecasts: &[Forecast], probabilities: &[f64], came: usize, rate: f64, weights: &mut Weights) {
    for forecast in forecasts {
        let expected: f64 = probabilities
            .iter()
            .zip(&forecast.logs)
            .map(|(p, log)| p * log)
            .sum();
        let gradient = forecast.logs.get(came).copied().unwrap_or(expected) - expected;
        if let Some(weight) = weights.0.get_mut(forecast.weight) {
            *weight = (*weight + rate * gradient).clamp(-0.2, 2.0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Slow twin.
    #[test]
    fn the_fast_logarithm_is_the_logarithm() {
        for n in 1..4000 {
            let p = f64::from(n) * f64::from(n) / 1.6e7;
            assert!((log(p) - p.ln()).abs() < 1e-5, "{p}");
        }
        assert!((log(1e-300) - 1e-300_f64.ln()).abs() < 1e-5);
    }

    #[test]
    fn a_sure_forecast_moves_the_others_and_all_sum_to_one() {
        let known = Known {
            order: 1,
            only_one: false,
        };
        let mut forecasts = vec![Forecast::default(), Forecast::default()];
        forecasts[0].set(&[0.25, 0.25, 0.25, 0.25], 0, 0, known);
        forecasts[1].set(&[0.97, 0.01, 0.01, 0.01], 0, 1, known);
        let mut together = [0.0; 4];
        let mut weights = Weights::default();
        combine(&forecasts, &weights, &mut together);
        assert!((together.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        let before = together[0];
        assert!(before > 0.25);
        improve(&forecasts, &together, 0, 0.1, &mut weights);
        combine(&forecasts, &weights, &mut together);
        assert!(together[0] > before, "what came is likelier after it came");
    }
}

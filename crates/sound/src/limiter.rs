//! How is it kept within full scale? A limiter that looks ahead: loud peaks are turned down before they come.

use std::collections::VecDeque;

/// No sample is louder than this: one decibel under full scale, for the peaks between samples.
pub(crate) const CEILING: f32 = 0.891;

/// Turns gain down smoothly so that no sample passes the ceiling; its output is late by its window.
#[derive(Debug)]
pub(crate) struct Limiter {
    window: usize,
    waiting: VecDeque<f32>,
    /// Gains needed, rising from the front, with when they were needed: the front is the least of the window.
    least: VecDeque<(u64, f32)>,
    gains: VecDeque<f32>,
    sum: f64,
    now: u64,
}

impl Limiter {
    /// `window` in samples.
    pub fn new(window: usize) -> Self {
        let window = window.max(1);
        Self {
            window,
            waiting: VecDeque::with_capacity(window + 1),
            least: VecDeque::new(),
            gains: std::iter::repeat_n(1.0, window).collect(),
            sum: crate::numbers::real(crate::numbers::length(window)),
            now: 0,
        }
    }

    /// Takes a sample, gives the one a window ago; `None` while there is none yet.
    pub fn next(&mut self, value: f32) -> Option<f32> {
        let need = if value.abs() > CEILING {
            CEILING / value.abs()
        } else {
            1.0
        };
        let need = if need.is_finite() { need } else { 0.0 };
        while self.least.back().is_some_and(|(_, gain)| *gain >= need) {
            self.least.pop_back();
        }
        self.least.push_back((self.now, need));
        let oldest = self.now.saturating_sub(crate::numbers::length(self.window));
        while self.least.front().is_some_and(|(when, _)| *when < oldest) {
            self.least.pop_front();
        }
        let least = self.least.front().map_or(1.0, |(_, gain)| *gain);
        self.gains.push_back(least);
        self.sum += f64::from(least) - f64::from(self.gains.pop_front().unwrap_or(1.0));
        self.now += 1;
        self.waiting
            .push_back(if value.is_finite() { value } else { 0.0 });
        if self.waiting.len() <= self.window {
            return None;
        }
        let gain =
            crate::numbers::sample(self.sum / crate::numbers::real(crate::numbers::length(self.window)));
        // The sum drifts by rounding; the clamp holds the promise.
        self.waiting
            .pop_front()
            .map(|value| (value * gain.min(1.0)).clamp(-CEILING, CEILING))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Nothing passes the ceiling; what never comes near it is left alone.
        #[test]
        fn the_ceiling_holds(loud in proptest::collection::vec(-9.0f32..9.0, 0..600), window in 1usize..64) {
            let mut limiter = Limiter::new(window);
            for value in loud.iter().copied().chain(std::iter::repeat_n(0.0, window)) {
                if let Some(out) = limiter.next(value) {
                    prop_assert!(out.abs() <= CEILING);
                }
            }
            let mut limiter = Limiter::new(window);
            let soft: Vec<f32> = loud.iter().map(|value| value / 11.0).collect();
            let out: Vec<f32> = soft.iter().copied().chain(std::iter::repeat_n(0.0, window)).filter_map(|value| limiter.next(value)).collect();
            prop_assert_eq!(out.len(), soft.len());
            for (a, b) in soft.iter().zip(&out) {
                prop_assert!((a - b).abs() < 1e-5);
            }
        }
    }
}

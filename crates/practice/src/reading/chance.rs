//! What is drawn by lot? A small generator: the same seed draws the same, on every machine.
//!
//! Source: SplitMix64, Steele, Lea & Flood 2014, "Fast splittable pseudorandom number generators", OOPSLA, figure 12.

/// Draws from a seed.
#[derive(Clone, Debug)]
pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// A generator of its own for each try of each seed: neighbouring seeds share nothing.
    pub(super) fn of_try(seed: u64, part: u64) -> Self {
        let mut first = Self::new(seed ^ 0x5DEE_CE66_D1CE_4E5B);
        let high = first.next();
        let mut second = Self::new(high ^ part.wrapping_mul(0xD134_2543_DE82_EF95));
        Self::new(second.next())
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// From 0 up to, not including, 1.
    pub(super) fn unit(&mut self) -> f64 {
        let high = u32::try_from(self.next() >> 32).unwrap_or(0);
        f64::from(high) / 4_294_967_296.0
    }

    /// From 0 up to, not including, a number; 0 for 0.
    pub(crate) fn below(&mut self, number: usize) -> usize {
        let wide = u128::from(self.next()) * (number as u128);
        usize::try_from(wide >> 64).unwrap_or(0)
    }

    /// True so many times in a hundred.
    pub(super) fn percent(&mut self, share: usize) -> bool {
        self.below(100) < share
    }

    pub(super) fn pick<T: Copy>(&mut self, from: &[T]) -> Option<T> {
        from.get(self.below(from.len())).copied()
    }

    /// An index, each as likely as its share; `None` if all are zero.
    pub(super) fn weighted(&mut self, shares: &[f64]) -> Option<usize> {
        let total: f64 = shares.iter().sum();
        if total.is_nan() || total <= 0.0 {
            return None;
        }
        let mut left = self.unit() * total;
        for (index, share) in shares.iter().enumerate() {
            left -= share;
            if left < 0.0 && *share > 0.0 {
                return Some(index);
            }
        }
        shares.iter().rposition(|share| *share > 0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the sequence of SplitMix64 from seed 1234567, as published with the Xoshiro generators' reference code
    /// (prng.di.unimi.it; Rosetta Code, "Pseudo-random numbers/Splitmix64").
    #[test]
    fn it_is_the_published_generator() {
        let mut chance = Chance::new(1_234_567);
        let drawn: Vec<u64> = (0..5).map(|_| chance.next()).collect();
        assert_eq!(
            drawn,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
                4_593_380_528_125_082_431,
                16_408_922_859_458_223_821
            ]
        );
    }

    #[test]
    fn draws_keep_within_their_bounds() {
        let mut chance = Chance::of_try(7, 3);
        for _ in 0..1_000 {
            assert!(chance.below(5) < 5);
            assert!((0.0..1.0).contains(&chance.unit()));
            assert_eq!(chance.weighted(&[0.0, 2.0, 0.0]), Some(1));
        }
        assert_eq!(chance.below(0), 0);
        assert_eq!(chance.weighted(&[0.0]), None);
    }
}

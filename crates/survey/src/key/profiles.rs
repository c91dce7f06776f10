//! How well does a histogram of notes fit a key? Published key profiles and how they are matched.

use super::tonality::Tonality;

/// A published profile: weights of the twelve semitones above the tonic, for major and for minor.
#[derive(Debug)]
pub struct Profile {
    /// Who published it.
    pub name: &'static str,
    major: [f64; 12],
    minor: [f64; 12],
}

/// Source: Krumhansl & Kessler 1982, Psychological Review 89(4), probe-tone ratings,
/// as reprinted with the other rows by M. Gotham 2021 (ISMIR), "What if the 'When' Implies the 'What'?".
pub const KRUMHANSL_KESSLER: Profile = Profile {
    name: "Krumhansl and Kessler 1982",
    major: [
        6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88,
    ],
    minor: [
        6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17,
    ],
};

/// Source: Temperley 2001/2007 (counts from the Kostka-Payne workbook), as reprinted by Gotham 2021.
pub const TEMPERLEY: Profile = Profile {
    name: "Temperley, Kostka-Payne",
    major: [
        0.748, 0.060, 0.488, 0.082, 0.670, 0.460, 0.096, 0.715, 0.104, 0.366, 0.057, 0.400,
    ],
    minor: [
        0.712, 0.084, 0.474, 0.618, 0.049, 0.460, 0.105, 0.747, 0.404, 0.067, 0.133, 0.330,
    ],
};

/// Source: Albrecht & Shanahan 2013, Music Perception 31(1):59-67, as reprinted by Gotham 2021.
pub const ALBRECHT_SHANAHAN: Profile = Profile {
    name: "Albrecht and Shanahan 2013",
    major: [
        0.238, 0.006, 0.111, 0.006, 0.137, 0.094, 0.016, 0.214, 0.009, 0.080, 0.008, 0.081,
    ],
    minor: [
        0.220, 0.006, 0.104, 0.123, 0.019, 0.103, 0.012, 0.214, 0.062, 0.022, 0.061, 0.052,
    ],
};

/// Source: Bellman 2005 after Budge 1943, as reprinted by Gotham 2021.
pub const BELLMAN_BUDGE: Profile = Profile {
    name: "Bellman-Budge",
    major: [
        16.80, 0.86, 12.95, 1.41, 13.49, 11.93, 1.25, 20.28, 1.80, 8.04, 0.62, 10.57,
    ],
    minor: [
        18.16, 0.69, 12.99, 13.34, 1.07, 11.15, 1.38, 21.07, 7.49, 1.53, 0.92, 10.21,
    ],
};

/// Source: Aarden 2003 (Essen folk songs), as reprinted by Gotham 2021.
pub const AARDEN_ESSEN: Profile = Profile {
    name: "Aarden 2003, Essen",
    major: [
        17.7661, 0.145_624, 14.9265, 0.160_186, 19.8049, 11.3587, 0.291_248, 22.062, 0.145_624, 8.15494,
        0.232_998, 4.95122,
    ],
    minor: [
        18.2648, 0.737_619, 14.0499, 16.8599, 0.702_494, 14.4362, 0.702_494, 18.6161, 4.56621, 1.93186,
        7.37619, 1.75623,
    ],
};

/// The five profiles that are asked, in a fixed order.
pub const ALL: [&Profile; 5] = [
    &KRUMHANSL_KESSLER,
    &TEMPERLEY,
    &ALBRECHT_SHANAHAN,
    &BELLMAN_BUDGE,
    &AARDEN_ESSEN,
];

impl Profile {
    /// The weights above the tonic of a key.
    #[must_use]
    pub const fn weights(&self, minor: bool) -> &[f64; 12] {
        if minor { &self.minor } else { &self.major }
    }

    /// Pearson's correlation between a histogram by pitch class (C = 0) and the profile set on a key's tonic;
    /// 0 where the histogram is flat or empty.
    ///
    /// Source: Krumhansl & Schmuckler's algorithm (Krumhansl 1990, Cognitive Foundations of Musical Pitch).
    #[must_use]
    pub fn correlation(&self, histogram: &[f64; 12], key: Tonality) -> f64 {
        let weights = self.weights(key.minor);
        let tonic = key.pitch_class();
        let mean_h = histogram.iter().sum::<f64>() / 12.0;
        let mean_w = weights.iter().sum::<f64>() / 12.0;
        let (mut hw, mut hh, mut ww) = (0.0, 0.0, 0.0);
        for (degree, weight) in weights.iter().enumerate() {
            let h = histogram[(tonic + degree) % 12] - mean_h;
            let w = weight - mean_w;
            hw += h * w;
            hh += h * h;
            ww += w * w;
        }
        if hh <= 0.0 || ww <= 0.0 {
            0.0
        } else {
            hw / (hh * ww).sqrt()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_profile_fits_itself_on_its_own_tonic_best() {
        for profile in ALL {
            let g_major: [f64; 12] = std::array::from_fn(|pc| profile.major[(pc + 5) % 12]);
            assert!((profile.correlation(&g_major, Tonality::major(1)) - 1.0).abs() < 1e-12);
            for other in (-5..7).map(Tonality::major).filter(|k| k.fifths != 1) {
                assert!(
                    profile.correlation(&g_major, other) < 0.99,
                    "{} {}",
                    profile.name,
                    other.name()
                );
            }
        }
    }

    #[test]
    fn an_empty_histogram_fits_nothing() {
        assert_eq!(TEMPERLEY.correlation(&[0.0; 12], Tonality::major(0)), 0.0);
    }
}

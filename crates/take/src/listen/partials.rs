//! How loud is each partial? Levels by frequency and time, in which one tone can be told from another that rings on.
//!
//! The period of two tones at once is neither's; their partials stand side by side. Where a tone is expected, it is looked for in those
//! of its partials that the tone before has not. Source: the idea of score-informed looking at partials, Ewert et al. 2014,
//! Score-informed source separation for musical audio recordings, IEEE Signal Processing Magazine 31:116 (from memory).

use super::spectrum::Spectrum;
use crate::numbers::{count, real};
use crate::track::hertz_of;
use realfft::num_complex::Complex;

/// Seconds looked at: for low notes, whose partials lie close, longer, so many of the lowest periods.
const SHORTEST_SECS: f64 = 0.046;
const LONGEST_SECS: f64 = 0.093;
const PERIODS: f64 = 7.0;
/// Seconds between two looks, nearly.
const HOP_SECS: f64 = 0.01;
/// The highest frequency kept.
const HIGHEST: f64 = 9_000.0;
/// A level is kept in half decibels over this.
const LEAST_DB: f32 = -120.0;
/// Partials looked at.
const MOST: usize = 12;
/// A partial is looked for so many semitones to either side.
const WIDE: f64 = 0.35;
/// The noise of a frequency is what so large a part of the looks stays under.
const QUIET_PART: f64 = 0.2;

/// Levels by frequency and time.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct Partials {
    /// Seconds between looks.
    hop_secs: f64,
    /// Hertz from bin to bin.
    bin: f64,
    /// Hertz within which two frequencies are not told apart.
    apart: f64,
    bins: usize,
    /// Half decibels over `LEAST_DB`, look by look.
    levels: Vec<u8>,
    /// The noise of each bin, in the same measure.
    floor: Vec<u8>,
}

/// Looks at one frame after another.
pub(super) struct Looks {
    spectrum: Spectrum,
    partials: Partials,
    each: usize,
    seen: usize,
}

impl Looks {
    /// At a sample rate, with so many samples between frames (of which some are left out), for tones down to so many hertz.
    pub fn new(rate: f64, hop: usize, lowest: f64) -> Self {
        let secs = (PERIODS / lowest).clamp(SHORTEST_SECS, LONGEST_SECS);
        let size = count(secs * rate).max(64) / 2 * 2;
        let spectrum = Spectrum::new(size, size * 3 / 2);
        let bin = rate / real(spectrum.length());
        let each = count(HOP_SECS * rate / real(hop.max(1))).max(1);
        Self {
            spectrum,
            partials: Partials {
                hop_secs: real(hop * each) / rate,
                bin,
                apart: 2.0 / secs,
                bins: count(HIGHEST.min(rate * 0.45) / bin),
                levels: Vec::new(),
                floor: Vec::new(),
            },
            each,
            seen: 0,
        }
    }

    /// Samples in a frame.
    pub fn size(&self) -> usize {
        self.spectrum.size()
    }

    /// Takes in the next frame.
    pub fn next(&mut self, frame: &[f32]) {
        self.seen += 1;
        if !(self.seen - 1).is_multiple_of(self.each) {
            return;
        }
        let spectrum = self.spectrum.of(frame);
        let silence = Complex::default();
        let bins = (0..self.partials.bins).map(|bin| spectrum.get(bin).unwrap_or(&silence));
        self.partials
            .levels
            .extend(bins.map(|bin| kept(10.0 * bin.norm_sqr().max(1e-12).log10())));
    }

    /// All that was seen.
    pub fn done(mut self) -> Partials {
        self.partials.floor = floor(&self.partials);
        self.partials
    }
}

/// A level in decibels as it is kept.
fn kept(level: f32) -> u8 {
    u8::try_from(count(f64::from((level - LEAST_DB) * 2.0))).unwrap_or(u8::MAX)
}

/// What each bin stays under in the quiet part of the looks.
fn floor(partials: &Partials) -> Vec<u8> {
    let looks = partials.levels.len() / partials.bins.max(1);
    (0..partials.bins)
        .map(|bin| {
            let mut of = [0_usize; 256];
            for level in partials.levels.iter().skip(bin).step_by(partials.bins) {
                if let Some(count) = of.get_mut(usize::from(*level)) {
                    *count += 1;
                }
            }
            let mut left = count(real(looks) * QUIET_PART);
            let quiet = of.iter().position(|count| {
                let here = *count > left;
                left = left.saturating_sub(*count);
                here
            });
            quiet.and_then(|level| u8::try_from(level).ok()).unwrap_or(0)
        })
        .collect()
}

/// What the partials of a pitch do around a moment.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Begins {
    /// How plainly they rise, from 0 to 1.
    pub rises: f64,
    /// How plainly they stand over the noise after it, from 0 to 1.
    pub stands: f64,
}

impl Partials {
    fn looks(&self) -> usize {
        self.levels.len() / self.bins.max(1)
    }

    /// The bins of a frequency.
    fn around(&self, hertz: f64) -> std::ops::Range<usize> {
        let reach = (hertz * ((WIDE / 12.0).exp2() - 1.0)).max(self.bin * 0.5);
        count((hertz - reach) / self.bin)..(count((hertz + reach) / self.bin) + 1).min(self.bins)
    }

    /// Decibels at a frequency, look by look in a span of time.
    fn levels(&self, hertz: f64, from: f64, to: f64) -> Vec<f64> {
        let bins = self.around(hertz);
        let at = |secs: f64| count(secs / self.hop_secs.max(1e-4)).min(self.looks());
        (at(from)..at(to).max(at(from) + 1).min(self.looks()))
            .map(|look| {
                let levels = self
                    .levels
                    .get(look * self.bins + bins.start..look * self.bins + bins.end)
                    .unwrap_or(&[]);
                f64::from(levels.iter().copied().max().unwrap_or(0)) / 2.0
            })
            .collect()
    }

    /// The noise at a frequency, in the same measure.
    fn noise(&self, hertz: f64) -> f64 {
        let mut floor: Vec<u8> = self.floor.get(self.around(hertz)).unwrap_or(&[]).to_vec();
        floor.sort_unstable();
        f64::from(floor.get(floor.len() / 2).copied().unwrap_or(0)) / 2.0
    }

    /// The middle of the levels at a frequency in a span of time, in decibels.
    fn middle(&self, hertz: f64, from: f64, to: f64) -> f64 {
        let mut levels = self.levels(hertz, from, to);
        levels.sort_by(f64::total_cmp);
        levels.get(levels.len() / 2).copied().unwrap_or(0.0)
    }

    /// Whether the odd partials of a pitch (a key number) stand between two times, over the noise and not far under its second: then it
    /// is that pitch however loud its octave is in it. A tone of the octave has none of them.
    pub fn odd_stand(&self, key: f64, from: f64, to: f64) -> bool {
        let pitch = hertz_of(key);
        let second = self.middle(2.0 * pitch, from, to);
        let stands = |n: &usize| {
            let hertz = pitch * real(*n);
            let level = self.middle(hertz, from, to);
            level > self.noise(hertz) + NOISE_DB && level > second - ODD_DB
        };
        self.looks() > 0 && ODD.iter().filter(|n| stands(n)).count() >= 2
    }

    /// Whether a tone of a pitch (a key number) begins at a time and lasts for so many seconds, looked at in the partials that other
    /// tones around it have not.
    pub fn begins(&self, key: f64, others: &[f64], secs: f64) -> Option<Begins> {
        if self.looks() == 0 {
            return None;
        }
        let pitch = hertz_of(key);
        let (mut rises, mut stands, mut weight) = (0.0, 0.0, 0.0);
        let highest = self.bin * real(self.bins.saturating_sub(3));
        for n in 1..=MOST {
            let hertz = pitch * real(n);
            if hertz > highest {
                break;
            }
            let shared = others.iter().fold(f64::INFINITY, |nearest, other| {
                let other = hertz_of(*other);
                let partial = (hertz / other).round().max(1.0) * other;
                nearest.min((hertz - partial).abs() / self.apart)
            });
            let own = ((shared - 0.4) / 0.6).clamp(0.0, 1.0);
            if own <= 0.0 {
                continue;
            }
            let noise = self.noise(hertz) + NOISE_DB;
            let before = self.levels(hertz, secs - 0.07, secs - 0.005);
            let before = before.iter().copied().fold(f64::INFINITY, f64::min).max(noise);
            let after = self.middle(hertz, secs + 0.02, secs + LASTS);
            // What the same partial of its neighbours reaches.
            let peers = others.iter().map(|other| {
                let peer = hertz_of(*other) * real(n);
                let levels = self.levels(peer.min(highest), secs - 0.2, secs + 0.2);
                levels.into_iter().fold(0.0, f64::max)
            });
            let peer = peers.fold(f64::INFINITY, f64::min);
            let here = own / real(n).sqrt();
            rises += here * ((after - before) / PLAIN_DB).clamp(0.0, 1.0);
            if after > noise {
                stands += here * ((after - peer + 24.0) / 12.0).clamp(0.0, 1.0);
            }
            weight += here;
        }
        (weight > 0.3).then(|| Begins {
            rises: rises / weight,
            stands: stands / weight,
        })
    }
}

/// A tone lasts for so many seconds at least.
const LASTS: f64 = 0.08;
/// Noise strays so many decibels over its middle.
const NOISE_DB: f64 = 10.0;
/// A rise of so many decibels is plain.
const PLAIN_DB: f64 = 10.0;
/// The odd partials looked at, of which two must stand, and how many decibels under the second they may lie: of tones that a tracker
/// takes for their octave they lay 19 to 29 under it, seen on takes of a SoundFont (`reference/check_take.py --dev`).
const ODD: [usize; 3] = [1, 3, 5];
const ODD_DB: f64 = 25.0;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Recording;
    use crate::numbers::narrow;
    use std::f64::consts::TAU;

    const RATE: u32 = 22_050;

    /// Tones of ten partials, each a key number, when it begins and ends (seconds); they die away like in a room.
    fn sound(tones: &[(f64, f64, f64)], secs: f64) -> Recording {
        let rate = f64::from(RATE);
        let samples = (0..count(secs * rate)).map(|n| {
            let now = real(n) / rate;
            let of = |(key, from, to): &(f64, f64, f64)| {
                let rises = ((now - from) / 0.02).clamp(0.0, 1.0);
                let dies = (-(now - to).max(0.0) / 0.3).exp();
                let waves = (1..=10)
                    .map(|partial| (TAU * hertz_of(*key) * real(partial) * now).sin() / real(partial));
                0.1 * rises * dies * waves.sum::<f64>()
            };
            narrow(tones.iter().map(of).sum())
        });
        Recording {
            rate: RATE,
            samples: samples.collect(),
        }
    }

    fn partials(recording: &Recording) -> std::sync::Arc<Partials> {
        let track = crate::listen(recording, &crate::Ear::between(55.0, 88.0));
        track.partials
    }

    #[test]
    fn a_tone_is_heard_beside_one_that_rings_on() {
        let heard = partials(&sound(
            &[(74.0, 0.3, 0.6), (71.0, 0.6, 0.7), (79.0, 0.7, 1.0)],
            1.3,
        ));
        let begins = heard
            .begins(71.0, &[74.0, 79.0], 0.6)
            .expect("partials of its own");
        assert!(begins.rises > 0.7 && begins.stands > 0.85, "{begins:?}");
    }

    #[test]
    fn a_tone_that_is_not_there_is_not_heard() {
        let heard = partials(&sound(&[(74.0, 0.3, 0.6), (79.0, 0.6, 1.0)], 1.3));
        for key in [67.0, 71.0, 72.0, 76.0] {
            let begins = heard
                .begins(key, &[74.0, 79.0], 0.6)
                .expect("partials of its own");
            assert!(begins.rises.min(begins.stands) < 0.5, "{key}: {begins:?}");
        }
    }

    #[test]
    fn a_tone_that_sounds_on_does_not_begin() {
        let heard = partials(&sound(&[(71.0, 0.3, 1.2), (79.0, 0.6, 1.0)], 1.3));
        let begins = heard.begins(71.0, &[79.0], 0.6).expect("partials of its own");
        assert!(begins.rises < 0.3 && begins.stands > 0.5, "{begins:?}");
    }

    /// A tone whose octave is the loudest in it is still of its own pitch; one of the octave is not, nor silence.
    #[test]
    fn odd_partials_tell_a_tone_from_its_octave() {
        let mut low = sound(&[(62.0, 0.3, 1.0)], 1.3);
        let high = sound(&[(74.0, 0.3, 1.0)], 1.3);
        low.samples
            .iter_mut()
            .zip(&high.samples)
            .for_each(|(low, high)| *low = 0.3 * *low + high);
        assert!(partials(&low).odd_stand(62.0, 0.4, 0.9));
        assert!(!partials(&high).odd_stand(62.0, 0.4, 0.9));
        assert!(!partials(&high).odd_stand(62.0, 1.25, 1.3));
    }

    #[test]
    fn the_same_pitch_cannot_be_told_apart() {
        let heard = partials(&sound(&[(71.0, 0.3, 1.2)], 1.3));
        assert_eq!(heard.begins(71.0, &[71.0], 0.6), None);
        assert_eq!(heard.begins(83.0, &[71.0], 0.6), None);
    }
}

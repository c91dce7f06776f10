//! What is to be heard? The tone, the click, the drone, tuning and level: plain values.

use notation::Rational;

/// Samples a second.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct SampleRate(u32);

impl SampleRate {
    /// From 8,000 to 192,000; `None` outside.
    #[must_use]
    pub const fn new(rate: u32) -> Option<Self> {
        if rate >= 8_000 && rate <= 192_000 {
            Some(Self(rate))
        } else {
            None
        }
    }

    /// Samples a second.
    #[must_use]
    pub const fn get(self) -> u32 {
        self.0
    }
}

impl Default for SampleRate {
    fn default() -> Self {
        Self(44_100)
    }
}

/// The pitch of A4 in hertz.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ConcertPitch(f64);

impl ConcertPitch {
    /// From 415 (one baroque pitch) to 445; `None` outside.
    #[must_use]
    pub fn new(hertz: f64) -> Option<Self> {
        (415.0..=445.0).contains(&hertz).then_some(Self(hertz))
    }

    /// Hertz.
    #[must_use]
    pub const fn hertz(self) -> f64 {
        self.0
    }
}

impl Default for ConcertPitch {
    /// Source: ISO 16, 440 Hz.
    fn default() -> Self {
        Self(440.0)
    }
}

/// What is to be heard, and how.
#[derive(Clone, PartialEq, Debug)]
pub struct SoundRequest {
    /// Samples a second.
    pub rate: SampleRate,
    /// Pitch of A4.
    pub a4: ConcertPitch,
    /// How the intervals are tuned.
    pub tuning: Tuning,
    /// Integrated loudness of the whole in LUFS (EBU R128), from −40 to −12.
    pub level: f64,
    /// Whether the part itself sounds.
    pub part: bool,
    /// The click, if it sounds.
    pub click: Option<Click>,
    /// The drone, if it sounds.
    pub drone: Option<Drone>,
}

impl Default for SoundRequest {
    fn default() -> Self {
        Self {
            rate: SampleRate::default(),
            a4: ConcertPitch::default(),
            tuning: Tuning::Equal,
            level: -20.0,
            part: true,
            click: None,
            drone: None,
        }
    }
}

/// How the intervals are tuned.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Tuning {
    /// Twelve equal semitones.
    #[default]
    Equal,
    /// Pure intervals over the drone's tonic (over the key's where no drone sounds).
    Just,
}

/// A click on the beats.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Click {
    /// Into how many each beat is divided, softly.
    pub subdivision: Subdivision,
    /// Bars in which the click sounds, and bars in which it falls silent, in turn; `None`: it always sounds.
    pub drop_out: Option<(u32, u32)>,
    /// Louder (+) or softer than it usually is beside the part, in decibels.
    pub level: f64,
}

impl Default for Click {
    fn default() -> Self {
        Self {
            subdivision: Subdivision::None,
            drop_out: None,
            level: 0.0,
        }
    }
}

/// Into what a beat is divided.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Subdivision {
    /// Beats alone.
    #[default]
    None,
    /// As the metre divides it: two, or three in compound time.
    ByMetre,
    /// Into so many (2 to 8).
    Into(u8),
}

/// A tone that holds the tonic.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Drone {
    /// Which tonic.
    pub tonic: DroneTonic,
    /// With the fifth above it.
    pub fifth: bool,
    /// Louder (+) or softer than it usually is beside the part, in decibels.
    pub level: f64,
}

/// Which tonic a drone holds.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum DroneTonic {
    /// The first key's, throughout.
    First,
    /// This one throughout: semitones above C, as it sounds.
    Given(Rational),
    /// It follows the keys as they change.
    Follows,
}

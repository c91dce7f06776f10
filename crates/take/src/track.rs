//! How is what was heard kept, instant by instant? Candidates of pitch, the pitch followed through them, level and change of colour.

use crate::listen::{Fine, Partials};
use std::sync::Arc;

/// One pitch that an instant may have.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Candidate {
    /// Its fundamental in hertz.
    pub hertz: f32,
    /// How much of the belief it has, from 0 to 1; all candidates of a frame and "no pitch" add up to 1.
    pub probability: f32,
}

/// So many candidates are kept for a frame.
pub const CANDIDATES: usize = 6;

/// What is heard at one instant.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Frame {
    /// The instant: seconds from the recording's beginning to the middle of what was looked at.
    pub secs: f64,
    /// Pitches that it may have, the likeliest first; those not used have probability 0.
    pub candidates: [Candidate; CANDIDATES],
    /// Level: decibels below full scale (a sine at full scale has −3).
    pub level_db: f32,
    /// How much louder the partials become here, in decibels, in the mean over the spectrum; 0 where nothing begins.
    pub flux: f32,
    /// The pitch followed through the frames as a key number (MIDI, A4 = 440 Hz = 69, whatever the take's tuning);
    /// `None` where no pitch is heard.
    pub key: Option<f64>,
}

impl Frame {
    /// The candidates in use, the likeliest first.
    pub fn candidates(&self) -> impl Iterator<Item = Candidate> + '_ {
        self.candidates
            .iter()
            .copied()
            .filter(|candidate| candidate.probability > 0.0)
    }

    /// The belief that there is a pitch, from 0 to 1.
    #[must_use]
    pub fn voicing(&self) -> f32 {
        self.candidates
            .iter()
            .map(|candidate| candidate.probability)
            .sum()
    }
}

/// A recording as it was heard.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Track {
    /// Seconds from frame to frame.
    pub hop_secs: f64,
    /// The frames in order of time.
    pub frames: Vec<Frame>,
    /// Hertz of the player's A4: given, or estimated to within half a semitone of 440 (which semitone only the score can tell).
    pub a4: f64,
    /// Level of what sounds when nobody plays, in decibels below full scale.
    pub floor_db: f32,
    /// Energy in finer steps than the frames.
    pub(crate) fine: Fine,
    /// Levels of partials: the largest part of a track, shared by the looks at it.
    pub(crate) partials: Arc<Partials>,
}

impl Track {
    /// A key number against 440 Hz as one against the player's own A4.
    #[must_use]
    pub fn in_tune_of_player(&self, key: f64) -> f64 {
        if self.a4 > 0.0 {
            key - 12.0 * (self.a4 / 440.0).log2()
        } else {
            key
        }
    }

    /// The frame nearest to a time in seconds.
    #[must_use]
    pub fn at(&self, secs: f64) -> Option<&Frame> {
        let next = self.frames.partition_point(|frame| frame.secs < secs);
        let near = [next.checked_sub(1), Some(next)]
            .into_iter()
            .flatten()
            .filter_map(|n| self.frames.get(n));
        near.min_by(|a, b| (a.secs - secs).abs().total_cmp(&(b.secs - secs).abs()))
    }
}

/// The key number of a frequency, A4 = 440 Hz = 69.
///
/// Source: MIDI 1.0, note numbers; equal temperament.
#[must_use]
pub fn key_of(hertz: f64) -> f64 {
    69.0 + 12.0 * (hertz / 440.0).log2()
}

/// The frequency of a key number in hertz, A4 = 440 Hz = 69.
#[must_use]
pub fn hertz_of(key: f64) -> f64 {
    440.0 * ((key - 69.0) / 12.0).exp2()
}

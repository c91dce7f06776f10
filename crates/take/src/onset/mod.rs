//! Where does a tone begin? By its pitch under a slur, by its level and colour when it is tongued.

mod rises;
mod steps;
#[cfg(test)]
mod tests;

use crate::numbers::count;
use crate::track::{Frame, Track};
use rises::{Rise, rises};
use steps::{Change, change, middle, steps};

/// What a beginning was heard by; several at once are the rule.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct OnsetBy {
    /// Another pitch than before.
    pub pitch: bool,
    /// A rise of the level.
    pub energy: bool,
    /// New or stronger partials.
    pub flux: bool,
}

/// The beginning of a tone.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Onset {
    /// Seconds from the recording's beginning.
    pub secs: f64,
    /// How plainly it is heard, from 0 to 1.
    pub strength: f32,
    /// What it was heard by.
    pub by: OnsetBy,
    /// The key number (A4 = 440 Hz = 69) that the tone settles on; `None` without definite pitch.
    pub key: Option<f64>,
}

/// What is heard within so many seconds is one beginning.
const ONE_SECS: f64 = 0.035;
/// Decibels a rise needs to be a beginning by itself, and with new partials.
const RISE_ALONE_DB: f32 = 6.0;
const RISE_WITH_FLUX_DB: f32 = 2.5;
/// From so many decibels on, a rise says better than the pitch when a tone begins.
const PLAIN_RISE_DB: f32 = 6.0;

/// Steps of pitch less than this (semitones) are to the same note …
const SAME: f64 = 0.6;
/// … and after so many seconds no longer the same tone.
const FLICKER_SECS: f64 = 0.4;

/// Where tones begin, in order of time.
#[must_use]
pub fn onsets(track: &Track) -> Vec<Onset> {
    let frames = &track.frames;
    let steps = steps(frames, track.hop_secs);
    let peaks = Peaks::of(frames, track.hop_secs);
    let mut found: Vec<Onset> = rises(track)
        .iter()
        .filter_map(|rise| by_rise(&peaks, rise))
        .collect();
    for (n, step) in steps.iter().enumerate() {
        let before = n.checked_sub(1).and_then(|n| steps.get(n));
        let out_of_silence = Change {
            secs: secs(frames, step.from),
            rest: true,
        };
        let change = before.filter(|_| step.joined).map_or(out_of_silence, |before| {
            change(frames, track.hop_secs, before, step)
        });
        let same = before.is_some_and(|before| {
            (before.key - step.key).abs() < SAME && change.secs - secs(frames, before.to) < FLICKER_SECS
        });
        join_pitch(&mut found, &peaks, change, same);
    }
    found.sort_by(|a, b| a.secs.total_cmp(&b.secs));
    found.dedup_by(|later, kept| {
        let one = later.secs - kept.secs < ONE_SECS;
        if one {
            kept.strength = kept.strength.max(later.strength);
            kept.by = OnsetBy {
                pitch: kept.by.pitch || later.by.pitch,
                energy: kept.by.energy || later.by.energy,
                flux: kept.by.flux || later.by.flux,
            };
        }
        one
    });
    settle(&mut found, track);
    found
}

/// Takes in a step of the pitch: as more evidence for a beginning near by, or as one of its own. `same`: the pitch before it was
/// the same.
fn join_pitch(found: &mut Vec<Onset>, peaks: &Peaks, change: Change, same: bool) {
    let (at, flux) = (change.secs, peaks.near(change.secs).is_some());
    // A tone that comes out of silence is pitched some time after it begins; one that is joined changes at once.
    let room = if change.rest { 2.0 * ONE_SECS } else { ONE_SECS };
    let near = found.iter_mut().filter(|onset| (onset.secs - at).abs() <= room);
    let Some(onset) = near.min_by(|a, b| (a.secs - at).abs().total_cmp(&(b.secs - at).abs())) else {
        // A pitch lost in noise and found again is no new tone.
        if !same || flux {
            let by = OnsetBy {
                pitch: true,
                flux,
                energy: false,
            };
            found.push(Onset {
                secs: at,
                strength: if change.rest { 0.5 } else { 0.8 },
                by,
                key: None,
            });
        }
        return;
    };
    onset.by.pitch |= !same;
    if !change.rest && onset.strength < plainness(PLAIN_RISE_DB) {
        onset.secs = at;
    }
    onset.strength = onset.strength.max(0.8);
}

fn secs(frames: &[Frame], n: usize) -> f64 {
    frames.get(n).map_or(0.0, |frame| frame.secs)
}

/// How plainly a rise is heard.
fn plainness(decibels: f32) -> f32 {
    (decibels / 20.0).clamp(0.0, 1.0)
}

/// A rise as a beginning, if it is plain enough.
fn by_rise(peaks: &Peaks, rise: &Rise) -> Option<Onset> {
    let flux = peaks.near(rise.secs).is_some();
    let enough = if flux { RISE_WITH_FLUX_DB } else { RISE_ALONE_DB };
    (rise.decibels >= enough).then(|| Onset {
        secs: rise.secs,
        strength: plainness(rise.decibels),
        by: OnsetBy {
            pitch: false,
            energy: true,
            flux,
        },
        key: None,
    })
}

/// Gives each beginning the pitch on which its tone settles.
fn settle(onsets: &mut [Onset], track: &Track) {
    let at = |secs: f64| count(secs / track.hop_secs.max(1e-4)).min(track.frames.len());
    let mut next = f64::INFINITY;
    for onset in onsets.iter_mut().rev() {
        let (from, to) = (at(onset.secs), at(next.min(onset.secs + 2.0)));
        let key = (from < to)
            .then(|| middle(&track.frames, from, to))
            .filter(|key| *key > 0.0);
        let pitched = track
            .frames
            .get(from..to)
            .unwrap_or(&[])
            .iter()
            .filter(|frame| frame.key.is_some())
            .count();
        onset.key = key.filter(|_| pitched >= 3);
        next = onset.secs;
    }
}

/// Where the spectral flux peaks.
struct Peaks {
    secs: Vec<f64>,
}

impl Peaks {
    /// Decibels in the mean over the bands by which a peak stands over what is around it.
    const OVER: f32 = 0.6;

    /// Source: Böck & Widmer 2013, section 3.2: largest within 30 ms, and over the mean of the last 100 ms by a threshold.
    fn of(frames: &[Frame], hop_secs: f64) -> Self {
        let wide = |secs: f64| count(secs / hop_secs.max(1e-4)).max(1);
        let (near, past) = (wide(0.03), wide(0.1));
        let peak = |n: &usize| {
            let flux = frames.get(*n).map_or(0.0, |frame| frame.flux);
            let around = frames
                .get(n.saturating_sub(near)..(n + near + 1).min(frames.len()))
                .unwrap_or(&[]);
            let before = frames.get(n.saturating_sub(past)..*n).unwrap_or(&[]);
            let mean = before.iter().map(|frame| frame.flux).sum::<f32>()
                / crate::numbers::single(before.len().max(1));
            around.iter().all(|frame| frame.flux <= flux) && flux > mean + Self::OVER
        };
        Self {
            secs: (0..frames.len()).filter(peak).map(|n| secs(frames, n)).collect(),
        }
    }

    /// The peak nearest to a time, if there is one within 40 ms.
    fn near(&self, at: f64) -> Option<f64> {
        let next = self.secs.partition_point(|secs| *secs < at);
        let near = [next.checked_sub(1), Some(next)]
            .into_iter()
            .flatten()
            .filter_map(|n| self.secs.get(n).copied());
        near.filter(|secs| (secs - at).abs() <= 0.04)
            .min_by(|a, b| (a - at).abs().total_cmp(&(b - at).abs()))
    }
}

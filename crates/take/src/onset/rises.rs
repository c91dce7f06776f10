//! Where does the level rise out of a dip? Followed so finely that the dip of a light tongue shows.

use crate::numbers::{count, narrow, real};
use crate::track::{Track, hertz_of};

/// A rise of the level.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Rise {
    /// When it begins, in seconds.
    pub secs: f64,
    /// From the dip to the height reached soon after, in decibels.
    pub decibels: f32,
}

/// Seconds between two levels.
const STEP_SECS: f64 = 0.001;
/// The level is the mean over whole periods, so that it does not ripple, at least so many seconds.
const LEAST_SECS: f64 = 0.006;
/// Without a pitch, so many.
const PITCHLESS_SECS: f64 = 0.010;
/// A rise has so many decibels at least …
const RISE_DB: f32 = 2.0;
/// … and reaches them in so many seconds from where it begins: slower is a swell, or the loud half of a vibrato.
const RISE_SECS: f64 = 0.050;
/// What is nearer to the floor than this is silence.
const OVER_FLOOR_DB: f32 = 5.0;
/// And what is so far under the loudest, whatever the floor.
const UNDER_LOUDEST_DB: f32 = 50.0;
/// Where a tone begins is reckoned back from two points of its rise, as parts of the amplitude it gains. The lower is this, or
/// higher where noise hides it; the upper lies half way from it to the height.
const LOWER: f64 = 0.15;
const LOWER_IN_NOISE: f64 = 0.6;
/// The height of a tone is reached in so many seconds.
const HEIGHT_SECS: f64 = 0.080;

/// The rises of a track, in order.
pub(super) fn rises(track: &Track) -> Vec<Rise> {
    let levels = levels(track);
    let loudest = levels.iter().copied().fold(-120.0, f32::max);
    let quiet = (track.floor_db + OVER_FLOOR_DB).max(loudest - UNDER_LOUDEST_DB);
    let level = |n: usize| levels.get(n).copied().unwrap_or(-120.0).max(quiet);
    let (soon, late) = (count(RISE_SECS / STEP_SECS), count(HEIGHT_SECS / STEP_SECS));
    let mut found = Vec::new();
    let mut n = 0;
    while n < levels.len() {
        // The bottom of a dip: nothing lower near by, and the last of equals.
        let bottom = level(n);
        let low = (n + 1..=n + soon / 2).all(|m| level(m) > bottom || m > n + soon / 2)
            && (n.saturating_sub(soon / 2)..n).all(|m| level(m) >= bottom);
        if !low || level(n + 1) <= bottom {
            n += 1;
            continue;
        }
        let height = (n..n + late).map(level).fold(bottom, f32::max);
        let steep = (n..n + soon).map(level).fold(bottom, f32::max) - bottom;
        if steep >= RISE_DB {
            let begins = if bottom > quiet {
                // Out of a dip: not before its bottom.
                beginning(n, n + late, (bottom, height), LOWER, level).max(real(n))
            } else {
                let hidden = f64::from(10.0_f32.powf((quiet - height) / 20.0));
                beginning(
                    n,
                    n + late,
                    (-120.0, height),
                    hidden.clamp(LOWER, LOWER_IN_NOISE),
                    level,
                )
            };
            found.push(Rise {
                secs: begins.max(0.0) * STEP_SECS,
                decibels: height - bottom,
            });
        }
        n += 1;
    }
    found
}

/// The step at which a tone begins that rises between two steps from a level to another, reckoned from where it has gained a
/// part of its amplitude.
fn beginning(
    from: usize,
    to: usize,
    (bottom, height): (f32, f32),
    lower: f64,
    level: impl Fn(usize) -> f32,
) -> f64 {
    let energy = |level: f32| 10.0_f64.powf(f64::from(level) / 10.0);
    let (low, high) = (energy(bottom), energy(height));
    let gained = |n: usize| {
        ((energy(level(n)) - low) / (high - low).max(f64::MIN_POSITIVE))
            .max(0.0)
            .sqrt()
    };
    let reaches = |part: f64| (from..to).find(|n| gained(*n) >= part).unwrap_or(from);
    let upper = 0.5 * (1.0 + lower);
    let (first, second) = (real(reaches(lower)), real(reaches(upper)));
    // A straight rise and one rounded at both ends (a raised cosine) go back by different parts of the way between: the mean.
    let rounded = |part: f64| (1.0 - 2.0 * part).acos();
    let straight = lower / (upper - lower);
    let round = rounded(lower) / (rounded(upper) - rounded(lower));
    first - 0.5 * (straight + round) * (second - first).max(0.0)
}

/// The level in decibels, a thousandth of a second apart, each over whole periods of what sounds there.
fn levels(track: &Track) -> Vec<f32> {
    let fine = &track.fine;
    if fine.energy.is_empty() || fine.secs <= 0.0 {
        return Vec::new();
    }
    let mut sums = Vec::with_capacity(fine.energy.len() + 1);
    sums.push(0.0_f64);
    let mut sum = 0.0;
    for energy in &fine.energy {
        sum += f64::from(*energy);
        sums.push(sum);
    }
    // The sum up to a time, straight between steps.
    let up_to = |secs: f64| {
        let place = (secs / fine.secs).clamp(0.0, real(sums.len() - 1));
        let whole = count(place.floor());
        let at = |n: usize| sums.get(n).copied().unwrap_or(sum);
        at(whole) + (at(whole + 1) - at(whole)) * (place - real(whole))
    };
    let widths = widths(track);
    let total = count(real(fine.energy.len()) * fine.secs / STEP_SECS);
    let level = |n: usize| {
        let secs = real(n) * STEP_SECS;
        let frame = count(secs / track.hop_secs.max(1e-4));
        let width = widths.get(frame).copied().unwrap_or(PITCHLESS_SECS);
        let energy = up_to(secs + width / 2.0) - up_to(secs - width / 2.0);
        narrow(10.0 * (energy * fine.secs / width).max(1e-12).log10())
    };
    (0..total).map(level).collect()
}

/// Seconds over which the level is to be taken at each frame: whole periods of the pitch there, or of the nearest within a few
/// frames.
fn widths(track: &Track) -> Vec<f64> {
    let period = |n: usize| {
        track
            .frames
            .get(n)
            .and_then(|frame| frame.key)
            .map(|key| 1.0 / hertz_of(key))
    };
    let width = |n: usize| {
        let near = (0..=6).find_map(|off| period(n + off).or_else(|| n.checked_sub(off).and_then(period)));
        near.map_or(PITCHLESS_SECS, |period| period * (LEAST_SECS / period).ceil())
    };
    (0..track.frames.len()).map(width).collect()
}

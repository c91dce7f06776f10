//! Into which tones does the recording fall? Stretches between onsets, changes of pitch and silences, each with what it may be.
//!
//! Rather too many cuts than too few: a tone cut in two is put together again when it is laid against the notes, one that was
//! never cut cannot be parted.

use super::cuts::own_cuts;
use super::tails::{alone, ringing, steps};
use crate::numbers::real;
use crate::{Onset, Track};

/// A stretch of the recording in which nothing begins.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Segment {
    /// When it begins, in seconds.
    pub from: f64,
    /// When it ends.
    pub to: f64,
    /// Its first frame.
    pub first: usize,
    /// The frame after its last.
    pub last: usize,
    /// The share of its frames in which a pitch is heard.
    pub voiced: f64,
    /// Pitches followed, as key numbers in the player's tuning, with their shares of the voiced frames; the largest first.
    pub keys: Vec<(f64, f64)>,
    /// All candidates alike.
    pub candidates: Vec<(f64, f64)>,
    /// How plainly a new attack stands at its beginning, from 0 to 1.
    pub attack: f64,
    /// How plainly something begins there at all, a click included.
    pub onset: f64,
    /// Semitones by which the pitch changes at its beginning.
    pub step: f64,
    /// Its level in the middle, in decibels below full scale.
    pub level: f64,
    /// Nothing is played: a tone that has ended rings on in the room.
    pub rings: bool,
    /// A short noise with silence before and after it.
    pub alone: bool,
    /// Semitones by which the pitch moves from its first third to its last.
    pub glides: f64,
    /// New partials are heard at its beginning.
    pub struck: bool,
    /// It begins without an attack and is plainly softer than what was before: a tone dies away rather than one begins.
    pub fades: bool,
}

impl Segment {
    pub fn secs(&self) -> f64 {
        self.to - self.from
    }

    /// Whether a tone sounds in it.
    pub fn sounds(&self) -> bool {
        let one_pitch = self.keys.first().is_some_and(|(_, share)| *share >= ONE_PITCH);
        let least = if one_pitch { VOICED_ALIKE } else { VOICED };
        self.voiced >= least && !self.keys.is_empty() && !self.rings
    }

    /// How well it fits a pitch, from 0 to 1.
    pub fn fits(&self, key: f64) -> f64 {
        let one = |heard: f64| {
            let away = (heard - key).abs();
            let common = COMMON_PERIODS
                .iter()
                .map(|below| near((key - heard - below).abs()));
            near(away)
                .max(OCTAVE * near((away - 12.0).abs()))
                .max(COMMON * common.fold(0.0, f64::max))
        };
        let of = |list: &[(f64, f64)]| -> f64 { list.iter().map(|(heard, share)| share * one(*heard)).sum() };
        of(&self.keys)
            .max(CANDIDATES_COUNT * of(&self.candidates))
            .min(1.0)
    }

    /// The share of it that is followed an octave from a pitch.
    pub fn octave_off(&self, key: f64) -> f64 {
        self.keys
            .iter()
            .map(|(heard, share)| share * near(((heard - key).abs() - 12.0).abs()))
            .sum()
    }

    /// The belief in a pitch itself, whatever is followed.
    pub fn possible(&self, key: f64) -> f64 {
        let near = |(heard, share): &(f64, f64)| share * near((heard - key).abs());
        self.candidates.iter().map(near).sum()
    }

    /// Whether a pitch, not its octave, fills most of it.
    pub fn is_at(&self, key: f64) -> bool {
        self.key().is_some_and(|heard| (heard - key).abs() < STEP)
    }

    /// The pitch that fills most of it.
    pub fn key(&self) -> Option<f64> {
        self.keys.first().map(|(key, _)| *key)
    }
}

/// A tone sounds where a pitch is heard in this part of a stretch; in noise and at great speed less is heard, but always the same.
const VOICED: f64 = 0.5;
const VOICED_ALIKE: f64 = 0.3;
const ONE_PITCH: f64 = 0.95;
/// What is heard an octave off fits so well: more often the ear is wrong than the player.
const OCTAVE: f64 = 0.7;
/// Two tones at once (one rings on in the room) repeat together only after several periods of each: what is heard is so many
/// semitones below (a third to a sixth of the frequency), and fits so well.
const COMMON: f64 = 0.55;
const COMMON_PERIODS: [f64; 4] = [19.02, 24.0, 27.86, 31.02];
/// Belief in what the tracker held possible, beside what it decided for.
const CANDIDATES_COUNT: f64 = 0.85;

/// How far a tone is believed to be a note from which it is so many semitones away: sure to 45 cents, not at all from 75.
pub(super) fn near(semitones: f64) -> f64 {
    ((0.75 - semitones) / 0.30).clamp(0.0, 1.0)
}

/// Cuts nearer than this are one, in seconds: what tongue, reed and finger do at one beginning.
const TOGETHER: f64 = 0.035;
/// The pitch may be followed so much later than its tone began, in seconds.
const RINGS_ON: f64 = 0.08;
/// An onset that leaves the level as it was counts so much of one that lifts it by this many decibels.
const UNRISEN: f64 = 0.35;
const PLAIN_RISE: f64 = 5.0;
/// A lapse of the pitch shorter than this is none, in seconds.
const LAPSE: f64 = 0.025;
/// A change of pitch is one from so many semitones on.
pub(super) const STEP: f64 = 0.6;
/// A place at which to cut.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Cut {
    pub secs: f64,
    pub attack: f64,
    pub onset: f64,
    /// Where a tone ends.
    pub ends: bool,
    /// New partials begin.
    pub struck: bool,
}

/// The stretches in order of time, without gaps. `tuning` is what the player's A4 is above 440 Hz, in semitones.
pub(crate) fn segments(track: &Track, onsets: &[Onset], tuning: f64) -> Vec<Segment> {
    let voiced = smoothed_voice(track);
    let onsets = onsets
        .iter()
        .map(|onset| Cut {
            secs: onset.secs,
            attack: attack(onset)
                * (UNRISEN + (1.0 - UNRISEN) * (rise(track, onset.secs) / PLAIN_RISE).clamp(0.0, 1.0)),
            onset: attack(onset),
            ends: false,
            struck: onset.by.flux,
        })
        .collect();
    let cuts = merged(onsets, own_cuts(track, &voiced));
    let mut out: Vec<Segment> = Vec::with_capacity(cuts.len() + 1);
    let mut first = 0;
    let frames = track.frames.len();
    let start = Cut {
        secs: track.frames.first().map_or(0.0, |frame| frame.secs),
        attack: 0.0,
        onset: 0.0,
        ends: false,
        struck: false,
    };
    let mut open = start;
    for cut in cuts.into_iter().map(Some).chain([None]) {
        let last = cut.map_or(frames, |cut| {
            track.frames.partition_point(|frame| frame.secs < cut.secs)
        });
        if last > first {
            let to = cut.map_or_else(
                || track.frames.last().map_or(0.0, |frame| frame.secs) + track.hop_secs,
                |cut| cut.secs,
            );
            out.push(segment(track, &voiced, (first, last), (open, to), tuning));
            first = last;
            if let Some(cut) = cut {
                open = cut;
            }
        } else if let Some(cut) = cut {
            open.attack = open.attack.max(cut.attack);
            open.onset = open.onset.max(cut.onset);
            open.struck |= cut.struck;
        }
    }
    ringing(&mut out);
    alone(&mut out);
    steps(&mut out);
    out
}

/// Semitones by which the pitch moves from the first third of some frames to the last.
fn glides(frames: &[crate::Frame]) -> f64 {
    let third = frames.len() / 3;
    let of = |frames: Option<&[crate::Frame]>| {
        let mut keys: Vec<f64> = frames?.iter().filter_map(|frame| frame.key).collect();
        super::median(&mut keys)
    };
    let (first, last) = (of(frames.get(..third)), of(frames.get(frames.len() - third..)));
    first.zip(last).map_or(0.0, |(first, last)| last - first)
}

/// How surely an onset is a new attack, not a change of pitch alone.
fn attack(onset: &Onset) -> f64 {
    let strength = f64::from(onset.strength);
    if onset.by.energy {
        0.4 + 0.6 * strength
    } else if onset.by.flux {
        0.2 + 0.5 * strength
    } else {
        0.1 * strength
    }
}

/// Whether a tone sounds at each frame, short lapses mended.
fn smoothed_voice(track: &Track) -> Vec<bool> {
    let mut voiced: Vec<bool> = track.frames.iter().map(|frame| frame.key.is_some()).collect();
    let longest = LAPSE / track.hop_secs.max(1e-4);
    let mut from = 0;
    while from < voiced.len() {
        let state = voiced.get(from).copied().unwrap_or(false);
        let run = voiced
            .iter()
            .skip(from)
            .take_while(|other| **other == state)
            .count();
        let short = real(run) <= longest && from > 0 && from + run < voiced.len();
        if short && !state && same_pitch(track, from - 1, from + run) {
            voiced
                .iter_mut()
                .skip(from)
                .take(run)
                .for_each(|frame| *frame = true);
        }
        from += run;
    }
    voiced
}

fn same_pitch(track: &Track, one: usize, other: usize) -> bool {
    let key = |n: usize| track.frames.get(n).and_then(|frame| frame.key);
    matches!((key(one), key(other)), (Some(one), Some(other)) if (one - other).abs() < STEP)
}

/// Cuts in order, those that belong together made one. Our own give way to the onsets: the pitch is followed some time after a tone
/// begins, later still where the one before rings on.
fn merged(onsets: Vec<Cut>, own: Vec<Cut>) -> Vec<Cut> {
    let near = |cut: &Cut| {
        let from = onsets
            .partition_point(|onset| onset.secs < cut.secs - if cut.ends { TOGETHER } else { RINGS_ON });
        onsets
            .get(from)
            .is_some_and(|onset| onset.secs < cut.secs + TOGETHER)
    };
    let mut kept: Vec<Cut> = own.into_iter().filter(|cut| !near(cut)).collect();
    kept.sort_by(|a, b| a.secs.total_cmp(&b.secs));
    kept.dedup_by(|later, kept| {
        let one = later.secs - kept.secs < TOGETHER;
        if one {
            kept.attack = kept.attack.max(later.attack);
        }
        one
    });
    let mut out = onsets;
    out.extend(kept);
    out.sort_by(|a, b| a.secs.total_cmp(&b.secs));
    out
}

/// How much the level stays higher after a moment than it was just before, in decibels: a tone that is begun anew rises out of a dip,
/// a click over a tone that sounds on leaves it as it was.
fn rise(track: &Track, secs: f64) -> f64 {
    let at = |secs: f64| track.frames.partition_point(|frame| frame.secs < secs);
    let levels = |from: f64, to: f64| -> Vec<f64> {
        let frames = track.frames.get(at(from)..at(to)).unwrap_or(&[]);
        frames.iter().map(|frame| f64::from(frame.level_db)).collect()
    };
    let before = levels(secs - 0.06, secs + 0.015)
        .into_iter()
        .fold(f64::INFINITY, f64::min);
    let after = super::median(&mut levels(secs + 0.04, secs + 0.12));
    after.map_or(
        0.0,
        |after| if before.is_finite() { after - before } else { 20.0 },
    )
}

fn segment(
    track: &Track,
    voiced: &[bool],
    (first, last): (usize, usize),
    (cut, to): (Cut, f64),
    tuning: f64,
) -> Segment {
    let frames = track.frames.get(first..last).unwrap_or(&[]);
    let count = real(frames.len()).max(1.0);
    let sounding = voiced
        .get(first..last)
        .unwrap_or(&[])
        .iter()
        .filter(|voiced| **voiced)
        .count();
    let keys = clusters(frames.iter().filter_map(|frame| Some((frame.key? - tuning, 1.0))));
    let candidates = clusters(frames.iter().flat_map(|frame| {
        frame.candidates().map(move |one| {
            (
                crate::track::key_of(f64::from(one.hertz)) - tuning,
                f64::from(one.probability),
            )
        })
    }));
    Segment {
        from: cut.secs,
        to,
        first,
        last,
        voiced: real(sounding) / count,
        keys: shares(keys, None),
        candidates: shares(candidates, Some(count)),
        attack: cut.attack,
        onset: cut.onset,
        step: 0.0,
        level: super::median(
            &mut frames
                .iter()
                .map(|frame| f64::from(frame.level_db))
                .collect::<Vec<_>>(),
        )
        .unwrap_or(-120.0),
        rings: false,
        alone: false,
        glides: glides(frames),
        struck: cut.struck,
        fades: false,
    }
}

/// Pitches nearer than 60 cents put together: sum of weighted keys and of weights.
fn clusters(keys: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let mut found: Vec<(f64, f64)> = Vec::new();
    for (key, weight) in keys.filter(|(key, _)| key.is_finite()) {
        let nearest = found
            .iter_mut()
            .map(|one| ((one.0 / one.1 - key).abs(), one))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        match nearest {
            Some((away, one)) if away < STEP => {
                one.0 += key * weight;
                one.1 += weight;
            }
            _ => found.push((key * weight, weight)),
        }
    }
    found
}

/// Sums made means, with their shares; the largest first, at most four.
fn shares(sums: Vec<(f64, f64)>, whole: Option<f64>) -> Vec<(f64, f64)> {
    let whole = whole.unwrap_or_else(|| sums.iter().map(|(_, weight)| weight).sum());
    let mut list: Vec<(f64, f64)> = sums
        .into_iter()
        .filter(|(_, weight)| *weight > 0.0)
        .map(|(sum, weight)| (sum / weight, weight / whole.max(1e-9)))
        .collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1));
    list.truncate(4);
    list
}

//! Into which tones does the recording fall? Stretches between onsets, changes of pitch and silences, each with what it may be.
//!
//! Rather too many cuts than too few: a tone cut in two is put together again when it is laid against the notes, one that was
//! never cut cannot be parted.

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
}

impl Segment {
    pub fn secs(&self) -> f64 {
        self.to - self.from
    }

    /// Whether a tone sounds in it.
    pub fn sounds(&self) -> bool {
        self.voiced >= 0.5 && !self.keys.is_empty()
    }

    /// How well it fits a pitch, from 0 to 1.
    pub fn fits(&self, key: f64) -> f64 {
        let one = |away: f64| near(away).max(OCTAVE * near((away - 12.0).abs()));
        let of = |list: &[(f64, f64)]| -> f64 {
            list.iter()
                .map(|(heard, share)| share * one((heard - key).abs()))
                .sum()
        };
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

    /// The pitch that fills most of it.
    pub fn key(&self) -> Option<f64> {
        self.keys.first().map(|(key, _)| *key)
    }
}

/// What is heard an octave off fits so well: more often the ear is wrong than the player.
const OCTAVE: f64 = 0.7;
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
/// A dip of the level is looked for over so many seconds on each side, and is one from so many decibels on.
const DIP_REACH: f64 = 0.08;
const SHALLOWEST: f64 = 1.8;
/// A dip counts so much of an attack for each decibel, and no more than this.
const DIP_ATTACK: f64 = 0.06;
const MOST_DIP_ATTACK: f64 = 0.4;
/// A lapse of the pitch shorter than this is none, in seconds.
const LAPSE: f64 = 0.025;
/// A change of pitch is one from so many semitones on.
const STEP: f64 = 0.6;
/// The pitch before and after a moment is looked at over so many seconds.
const LOOK: f64 = 0.035;

/// A place at which to cut.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Cut {
    secs: f64,
    attack: f64,
    onset: f64,
    /// Where a tone ends.
    ends: bool,
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
        }
    }
    steps(&mut out);
    out
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

/// Where voice begins and ends and the pitch changes.
fn own_cuts(track: &Track, voiced: &[bool]) -> Vec<Cut> {
    let mut cuts = Vec::new();
    let mut push = |secs: f64, attack: f64, ends: bool| {
        cuts.push(Cut {
            secs,
            attack,
            onset: attack,
            ends,
        })
    };
    for (n, pair) in voiced.windows(2).enumerate() {
        let (Some(before), Some(after)) = (pair.first(), pair.last()) else {
            continue;
        };
        if before != after
            && let Some(frame) = track.frames.get(n + 1)
        {
            push(frame.secs, if *after { 0.5 } else { 0.0 }, !after);
        }
    }
    for (secs, depth) in dips(track, voiced) {
        push(secs, (depth * DIP_ATTACK).min(MOST_DIP_ATTACK), false);
    }
    for secs in pitch_changes(track) {
        push(secs, 0.0, false);
    }
    cuts
}

/// Where the level of a sounding tone dips and rises again: a note of the same pitch tongued in an echoing room. The middle between
/// the beginning of the dip and its ground, and its depth in decibels.
fn dips(track: &Track, voiced: &[bool]) -> Vec<(f64, f64)> {
    let hop = track.hop_secs.max(1e-4);
    let reach = crate::numbers::count(DIP_REACH / hop).max(3);
    let levels: Vec<f64> = (0..track.frames.len())
        .map(|n| {
            let around = track
                .frames
                .get(n.saturating_sub(2)..(n + 3).min(track.frames.len()))
                .unwrap_or(&[]);
            super::median(
                &mut around
                    .iter()
                    .map(|frame| f64::from(frame.level_db))
                    .collect::<Vec<_>>(),
            )
            .unwrap_or(0.0)
        })
        .collect();
    let highest = |from: usize, to: usize| {
        levels
            .get(from..to)
            .unwrap_or(&[])
            .iter()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let lowest = |from: usize, to: usize| {
        levels
            .get(from..to)
            .unwrap_or(&[])
            .iter()
            .copied()
            .fold(f64::INFINITY, f64::min)
    };
    let mut found: Vec<(f64, f64)> = Vec::new();
    for n in reach..levels.len().saturating_sub(reach) {
        let (Some(level), Some(true)) = (levels.get(n).copied(), voiced.get(n).copied()) else {
            continue;
        };
        if level > lowest(n - reach, n) || level >= lowest(n + 1, n + reach) {
            continue;
        }
        let before = highest(n - reach, n);
        let depth = (before - level).min(highest(n + 1, n + reach) - level);
        if depth < SHALLOWEST {
            continue;
        }
        let falls = (n - reach..n)
            .rev()
            .find(|at| levels.get(*at).is_some_and(|other| *other > before - 1.0))
            .unwrap_or(n);
        if let (Some(from), Some(to)) = (track.frames.get(falls), track.frames.get(n)) {
            found.push((f64::midpoint(from.secs, to.secs), depth));
        }
    }
    found
}

/// The moments at which the pitch before and after differ most.
fn pitch_changes(track: &Track) -> Vec<f64> {
    let look = crate::numbers::count(LOOK / track.hop_secs.max(1e-4)).max(2);
    let keys: Vec<Option<f64>> = track.frames.iter().map(|frame| frame.key).collect();
    let differs: Vec<f64> = (0..keys.len())
        .map(|n| {
            let before = middle(&keys, n.saturating_sub(look), n);
            let after = middle(&keys, n, (n + look).min(keys.len()));
            match (before, after) {
                (Some(before), Some(after)) => (after - before).abs(),
                _ => 0.0,
            }
        })
        .collect();
    let mut changes = Vec::new();
    let mut n = 0;
    while n < differs.len() {
        if differs.get(n).is_none_or(|differs| *differs < STEP) {
            n += 1;
            continue;
        }
        let run = differs
            .iter()
            .skip(n)
            .take_while(|differs| **differs >= STEP)
            .count();
        // In the middle of where it differs most; one run may hold a turn of several notes.
        let mut peak: Option<(usize, usize, f64)> = None;
        for (at, value) in differs.iter().enumerate().skip(n).take(run) {
            match peak {
                Some((from, to, best)) if (value - best).abs() < 0.1 && at == to + 1 => {
                    peak = Some((from, at, best.max(*value)))
                }
                Some((_, _, best)) if *value > best => peak = Some((at, at, *value)),
                Some((from, to, best)) if *value < best * 0.5 || at > to + look => {
                    push_middle(track, from, to, &mut changes);
                    peak = None;
                    let _ = best;
                }
                Some(_) => {}
                None => peak = Some((at, at, *value)),
            }
        }
        if let Some((from, to, _)) = peak {
            push_middle(track, from, to, &mut changes);
        }
        n += run;
    }
    changes
}

fn push_middle(track: &Track, from: usize, to: usize, changes: &mut Vec<f64>) {
    let secs = |n: usize| track.frames.get(n).map(|frame| frame.secs);
    if let (Some(from), Some(to)) = (secs(from), secs(to)) {
        changes.push((from + to) / 2.0);
    }
}

fn middle(keys: &[Option<f64>], from: usize, to: usize) -> Option<f64> {
    let mut some: Vec<f64> = keys.get(from..to)?.iter().flatten().copied().collect();
    if some.is_empty() {
        return None;
    }
    some.sort_unstable_by(f64::total_cmp);
    some.get(some.len() / 2).copied()
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

fn steps(segments: &mut [Segment]) {
    let mut before: Option<f64> = None;
    for segment in segments {
        if let Some(key) = segment.key().filter(|_| segment.sounds()) {
            segment.step = before.map_or(0.0, |before| (key - before).abs());
            before = Some(key);
        }
    }
}

//! What does the level say of notes whose beginning can't be heard? In the time of one that is of the pitch before it the sound goes on
//! or falls; what only rings on falls all the time.
//!
//! The limits are our own: a room with as much as a third of the sound in its echo falls by five decibels at once when a tone ends
//! (reckoned), a tone that is held by none; looked at on takes with a known truth (`reference/check_take.py --dev`, seeds 5, 9, 13 and 21).

use super::{Alignment, Sounded, Was, median};
use crate::Track;
use crate::expected::Expected;
use crate::numbers::real;

/// In the time of a note the sound went on if its level is no more than so many decibels under that of the note before …
const HELD_DB: f64 = 3.0;
/// … and stopped if it is so many under it.
const FALLEN_DB: f64 = 6.0;
/// Nothing is left of a tone from so many on: no room holds it so long.
const SILENT_DB: f64 = 20.0;
/// What falls by so many decibels in a second only rings on.
const DIES_FAST: f64 = 60.0;
/// Levels nearer to the floor than this say nothing, in decibels.
const OVER_FLOOR_DB: f64 = 12.0;
/// The pace between two notes is believed within so many times that of the whole.
const PACE: f64 = 1.3;

/// Says of notes that are of the pitch before them whether they were left out, by the level in their time.
pub(super) fn in_their_time(line: &[Expected], track: &Track, alignment: &mut Alignment) {
    for index in 1..alignment.sounded.len() {
        let Some(heard) = in_its_time(line, track, alignment, index) else {
            continue;
        };
        if let Some(note) = alignment.sounded.get_mut(index) {
            match note.was {
                Was::Missing if heard.sounds() => note.was = Was::Unparted,
                Was::Unparted if heard.stopped() => note.was = Was::Missing,
                _ => {}
            }
        }
    }
}

/// The level in the time of a note not heard.
struct InItsTime {
    /// By how many decibels it lies under that of the note of its pitch before it.
    fallen: f64,
    /// By how many decibels in a second it falls in that time.
    dies: f64,
    /// By how many decibels it lies under that of the note after it; without end where nothing sounds.
    under_next: f64,
}

impl InItsTime {
    /// It sounds on, or as loud as what follows: a player who goes on softly is not silent.
    fn sounds(&self) -> bool {
        self.fallen < HELD_DB || self.under_next < HELD_DB && self.dies < DIES_FAST
    }

    /// The tone was over: it dies away, or nothing is left of it.
    fn stopped(&self) -> bool {
        self.fallen > FALLEN_DB && self.dies > DIES || self.fallen > SILENT_DB
    }
}

/// The level in the time of a note not heard, where it says something.
fn in_its_time(line: &[Expected], track: &Track, alignment: &Alignment, index: usize) -> Option<InItsTime> {
    let note = alignment.sounded.get(index)?;
    if !matches!(note.was, Was::Missing | Was::Unparted) {
        return None;
    }
    let jumps = |from: usize, to: usize| {
        let at = |jump: &super::Jump| (from + 1..=to).contains(&jump.sounded);
        alignment.jumps.iter().any(at)
    };
    let before = (0..index)
        .rev()
        .find(|n| alignment.sounded.get(*n).is_some_and(plays))?;
    let begins = alignment.sounded.get(before)?;
    let (first, own) = (line.get(begins.expected)?, line.get(note.expected)?);
    let between = line.get(begins.expected..=note.expected)?;
    let alike = between.iter().all(|other| (other.key - own.key).abs() < 0.5);
    if begins.was != Was::Right || !alike || jumps(before, index) || between.iter().any(|note| note.free) {
        return None;
    }
    let after = (index + 1..alignment.sounded.len())
        .find(|n| alignment.sounded.get(*n).is_some_and(plays))
        .filter(|after| !jumps(index, *after))
        .and_then(|n| alignment.sounded.get(n));
    let here = after.and_then(|after| {
        let model = line.get(after.expected)?.secs - first.secs;
        Some((after.onset_secs - begins.onset_secs) / model.max(1e-6))
    });
    let pace = here
        .filter(|here| (*here / alignment.pace).ln().abs() < PACE.ln())
        .unwrap_or(alignment.pace);
    let (length, own_length) = (first.length_secs * pace, own.length_secs * pace);
    let tone = level(
        track,
        begins.onset_secs + 0.3 * length,
        begins.onset_secs + 0.85 * length,
    )?;
    let due = begins.onset_secs + (own.secs - first.secs) * pace;
    let part = |from: f64, to: f64| level(track, due + from * own_length, due + to * own_length);
    let dies = (part(0.25, 0.5)? - part(0.65, 0.9)?) / (0.4 * own_length).max(1e-3);
    let here = part(0.3, 0.85)?;
    let next = after
        .filter(|_| here > f64::from(track.floor_db) + SOUNDS_DB)
        .and_then(|after| level(track, after.onset_secs + SETTLES, after.end_secs - LETS_GO))
        .map_or(f64::INFINITY, |next| next - here);
    (tone > f64::from(track.floor_db) + OVER_FLOOR_DB).then_some(InItsTime {
        fallen: tone - here,
        dies,
        under_next: next,
    })
}

/// What rings on falls by so many decibels in a second at least (a room of two seconds), …
const DIES: f64 = 25.0;
/// … and lies so many under the tone.
const UNDER_DB: f64 = 2.5;
/// It is no longer than this, in seconds.
const LONGEST_RING: f64 = 0.35;

/// Takes back wrong notes that are the note before, ringing on: theirs was left out.
pub(super) fn rings_on(line: &[Expected], track: &Track, alignment: &mut Alignment) {
    for index in 1..alignment.sounded.len() {
        if only_rings(line, track, alignment, index) == Some(true)
            && let Some(note) = alignment.sounded.get_mut(index)
        {
            *note = Sounded {
                was: Was::Missing,
                end_secs: note.onset_secs,
                key: None,
                wavers: 0.0,
                level_db: None,
                ..note.clone()
            };
        }
    }
}

fn only_rings(line: &[Expected], track: &Track, alignment: &Alignment, index: usize) -> Option<bool> {
    let note = alignment.sounded.get(index)?;
    let before = alignment.sounded.get(index.checked_sub(1)?)?;
    let same = (note.key? - line.get(before.expected)?.key).abs() < 0.6;
    let secs = note.end_secs - note.onset_secs;
    if note.was != Was::Wrong || before.was != Was::Right || !same || secs > LONGEST_RING {
        return Some(false);
    }
    let part = |from: f64, to: f64| level(track, note.onset_secs + from * secs, note.onset_secs + to * secs);
    let fall = (part(0.1, 0.4)? - part(0.6, 0.9)?) / (0.5 * secs).max(1e-3);
    Some(fall > DIES && note.level_db? < before.level_db? - UNDER_DB)
}

/// The frames between two times.
fn frames(track: &Track, from: f64, to: f64) -> Option<&[crate::Frame]> {
    let at = |secs: f64| track.frames.partition_point(|frame| frame.secs < secs);
    track.frames.get(at(from)..at(to))
}

/// The middle of the levels between two times, in decibels.
fn level(track: &Track, from: f64, to: f64) -> Option<f64> {
    let levels = frames(track, from, to)?
        .iter()
        .map(|frame| f64::from(frame.level_db));
    median(&mut levels.collect::<Vec<_>>())
}

/// Over the noise of the recording by so many decibels something sounds.
const SOUNDS_DB: f64 = 2.0;

/// Whether anything sounds in most of the time between two.
pub(super) fn sounds(track: &Track, from: f64, to: f64) -> bool {
    level(track, from, to).is_some_and(|level| level > f64::from(track.floor_db) + SOUNDS_DB)
}

/// Says nothing of missing notes in whose time it sounded on as loud as before and after: they were played and not made out, or hidden;
/// unless it was a neighbour's pitch that sounded on.
pub(super) fn not_silent(line: &[Expected], track: &Track, alignment: &mut Alignment) {
    for index in 0..alignment.sounded.len() {
        if sounds_in_its_time(line, track, alignment, index) == Some(true)
            && let Some(note) = alignment.sounded.get_mut(index)
        {
            note.was = Was::Unparted;
        }
    }
}

/// A neighbour sounds on in a note's time if its pitch is followed in so much of it …
const HELD_OVER: f64 = 0.6;
/// … to so many semitones.
const ITS_PITCH: f64 = 0.6;
/// Not the whole of a note is looked at: from here to here of its length.
const INSIDE: (f64, f64) = (0.3, 0.85);
/// Nor the first and last moment of its neighbours, in seconds.
const SETTLES: f64 = 0.02;
const LETS_GO: f64 = 0.01;

fn sounds_in_its_time(line: &[Expected], track: &Track, alignment: &Alignment, index: usize) -> Option<bool> {
    let note = alignment
        .sounded
        .get(index)
        .filter(|note| note.was == Was::Missing)?;
    let before = alignment
        .sounded
        .get(..index)?
        .iter()
        .rev()
        .find(|note| plays(note));
    let after = alignment
        .sounded
        .get(index + 1..)?
        .iter()
        .find(|note| plays(note));
    let secs = line.get(note.expected)?.length_secs * alignment.pace;
    let (from, to) = (
        note.onset_secs + INSIDE.0 * secs,
        note.onset_secs + INSIDE.1 * secs,
    );
    let here = level(track, from, to)?;
    let of = |note: &Sounded, until: f64| level(track, note.onset_secs + SETTLES, until - LETS_GO);
    let around = [
        before.and_then(|before| of(before, before.end_secs.min(note.onset_secs))),
        after.and_then(|after| of(after, after.end_secs)),
    ];
    let around: Vec<f64> = around.into_iter().flatten().collect();
    let usual = around.iter().sum::<f64>() / (!around.is_empty()).then(|| real(around.len()))?;
    let frames = frames(track, from, to)?;
    let mut neighbours = [before, after].into_iter().flatten().filter_map(|note| note.key);
    let held_over = neighbours.any(|key| {
        let heard = frames.iter().filter_map(|frame| frame.key);
        let its = heard.filter(|heard| (heard - alignment.tuning - key).abs() < ITS_PITCH);
        real(its.count()) >= HELD_OVER * real(frames.len().max(1))
    });
    Some(usual - here < FALLEN_DB && !held_over && sounds(track, from, to))
}

fn plays(note: &Sounded) -> bool {
    matches!(note.was, Was::Right | Was::Wrong)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(fallen: f64, dies: f64, under_next: f64) -> InItsTime {
        InItsTime {
            fallen,
            dies,
            under_next,
        }
    }

    #[test]
    fn who_goes_on_softly_is_not_silent() {
        assert!(heard(1.0, 0.0, f64::INFINITY).sounds(), "as loud as before");
        assert!(heard(12.0, 10.0, 0.5).sounds(), "as loud as what follows");
        assert!(!heard(12.0, 10.0, 12.0).sounds());
        assert!(!heard(12.0, 150.0, 0.5).sounds(), "it only rings on");
    }

    #[test]
    fn a_tone_was_over_that_dies_away_or_is_gone() {
        assert!(heard(8.0, 40.0, 0.0).stopped());
        assert!(heard(60.0, 0.0, f64::INFINITY).stopped());
        assert!(!heard(8.0, 0.0, 0.0).stopped(), "softer, but held");
    }
}

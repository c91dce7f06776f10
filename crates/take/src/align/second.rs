//! What is said on second thoughts, when all notes are laid? Of notes too short to be heard apart nothing; of a wrong note that was
//! over before its own was due that it was one too many; of missing notes when they were due.

use super::{Alignment, Sounded, Was};
use crate::expected::Expected;

/// Notes shorter than this, in seconds, can't be told from the notes around them where nothing else shows that they are missing.
const SHORTEST_TOLD: f64 = 0.06;

/// Says nothing of missing notes that would be too short to be heard apart, unless silence stands in their place.
pub(super) fn too_short_to_tell(line: &[Expected], alignment: &mut Alignment) {
    let pace = alignment.pace;
    let mut nexts: Vec<f64> = Vec::with_capacity(alignment.sounded.len());
    let mut next = f64::INFINITY;
    for note in alignment.sounded.iter().rev() {
        if plays(note) {
            next = note.onset_secs;
        }
        nexts.push(next);
    }
    nexts.reverse();
    // When the last note began and ended, and when the model has it.
    let mut before: Option<(f64, f64, f64)> = None;
    for (note, next) in alignment.sounded.iter_mut().zip(nexts) {
        let Some(expected) = line.get(note.expected) else {
            continue;
        };
        if plays(note) {
            before = Some((note.onset_secs, note.end_secs, expected.secs));
        } else if let Some((onset, end, model)) = before
            && note.was == Was::Missing
        {
            let length = expected.length_secs * pace;
            let middle = onset + (expected.secs - model) * pace + length / 2.0;
            if length < SHORTEST_TOLD && !(end..next).contains(&middle) {
                note.was = Was::Unparted;
            }
        }
    }
}

/// Of two notes of one pitch of which one was heard it is the second, if it came so near its time (as a part of the time between them).
const SECOND_ON_TIME: f64 = 0.35;

/// Names the right one missing of two notes of one pitch of which one was heard: the one in whose time nothing began.
pub(super) fn which_of_two(line: &[Expected], alignment: &mut Alignment) {
    let mut swapped: Vec<usize> = Vec::new();
    for (index, four) in alignment.sounded.windows(4).enumerate() {
        let [before, heard, unheard, after] = four else {
            continue;
        };
        let in_order = before.expected + 1 == heard.expected
            && heard.expected + 1 == unheard.expected
            && unheard.expected + 1 == after.expected;
        let jumps = alignment
            .jumps
            .iter()
            .any(|jump| (index + 1..=index + 3).contains(&jump.sounded));
        let of = |note: &Sounded| line.get(note.expected);
        let (Some(a), Some(b), Some(c), Some(d)) = (of(before), of(heard), of(unheard), of(after)) else {
            continue;
        };
        let free = a.free || b.free || c.free;
        if !in_order
            || jumps
            || free
            || heard.was != Was::Right
            || unheard.was != Was::Unparted
            || !plays(before)
            || !plays(after)
            || (b.key - c.key).abs() > 0.5
        {
            continue;
        }
        let pace = (after.onset_secs - before.onset_secs) / (d.secs - a.secs).max(1e-6);
        let due = before.onset_secs + (c.secs - a.secs) * pace;
        if (heard.onset_secs - due).abs() < SECOND_ON_TIME * (c.secs - b.secs) * pace {
            swapped.push(index + 1);
        }
    }
    for at in swapped {
        let Some([first, second]) = alignment.sounded.get_mut(at..at + 2) else {
            continue;
        };
        std::mem::swap(&mut first.expected, &mut second.expected);
        std::mem::swap(first, second);
        first.was = Was::Missing;
    }
}

/// A tone has lasted into the time of the second of two notes that goes on for so much of it.
const INTO: f64 = 0.5;

/// Of two notes of one pitch heard as one long tone, of which the first was named missing, it is the first that was heard and the
/// second that can't be parted from it, if the tone came when the first was due.
pub(super) fn first_of_two(line: &[Expected], alignment: &mut Alignment) {
    let mut swapped: Vec<usize> = Vec::new();
    for (index, four) in alignment.sounded.windows(4).enumerate() {
        let [before, unheard, heard, after] = four else {
            continue;
        };
        let in_order = before.expected + 1 == unheard.expected
            && unheard.expected + 1 == heard.expected
            && heard.expected < after.expected;
        let jumps = alignment
            .jumps
            .iter()
            .any(|jump| (index + 1..=index + 3).contains(&jump.sounded));
        let of = |note: &Sounded| line.get(note.expected);
        let (Some(a), Some(b), Some(c)) = (of(before), of(unheard), of(heard)) else {
            continue;
        };
        if !in_order
            || jumps
            || a.free
            || b.free
            || unheard.was != Was::Missing
            || heard.was != Was::Right
            || !plays(before)
            || (b.key - c.key).abs() > 0.5
        {
            continue;
        }
        let due = |note: &Expected| before.onset_secs + (note.secs - a.secs) * alignment.pace;
        let first = (heard.onset_secs - due(b)).abs() < SECOND_ON_TIME * (c.secs - b.secs) * alignment.pace;
        if first && heard.end_secs > due(c) + INTO * c.length_secs * alignment.pace {
            swapped.push(index + 1);
        }
    }
    for at in swapped {
        let Some([first, second]) = alignment.sounded.get_mut(at..at + 2) else {
            continue;
        };
        std::mem::swap(&mut first.expected, &mut second.expected);
        std::mem::swap(first, second);
        second.was = Was::Unparted;
    }
}

fn plays(note: &Sounded) -> bool {
    matches!(note.was, Was::Right | Was::Wrong)
}

/// A wrong note came so much too early (as a part of the time from the note before to its own) and was over so soon after it was due
/// (as a part of the time to the next) that it is none in that note's place.
const FAR_TOO_EARLY: f64 = 0.3;
const OVER_BY: f64 = 0.15;
/// And the pulse is believed to be there no slower than so many times that of the whole.
const SLOWEST: f64 = 1.15;

/// Takes wrong notes that were over when the note was due for what they are: a note too many, and one left out.
pub(super) fn too_early(line: &[Expected], alignment: &mut Alignment) {
    let mut parted: Vec<usize> = Vec::new();
    for (index, three) in alignment.sounded.windows(3).enumerate() {
        let [before, note, after] = three else { continue };
        let in_order = before.expected + 1 == note.expected && note.expected + 1 == after.expected;
        let free = |note: &Sounded| line.get(note.expected).is_none_or(|note| note.free);
        if note.was != Was::Wrong
            || !plays(before)
            || !plays(after)
            || !in_order
            || free(before)
            || free(note)
        {
            continue;
        }
        let secs = |note: &Sounded| line.get(note.expected).map_or(0.0, |note| note.secs);
        let part = (secs(note) - secs(before)) / (secs(after) - secs(before)).max(1e-6);
        // By the notes around it, or by the pulse if the player waited after it.
        let due = (before.onset_secs + part * (after.onset_secs - before.onset_secs))
            .min(before.onset_secs + (secs(note) - secs(before)) * alignment.pace * SLOWEST);
        let early = note.onset_secs < due - FAR_TOO_EARLY * (due - before.onset_secs);
        if early && note.end_secs < due + OVER_BY * (after.onset_secs - due) {
            parted.push(index + 1);
        }
    }
    for at in parted.into_iter().rev() {
        let Some(note) = alignment.sounded.get_mut(at) else {
            continue;
        };
        let missing = Sounded {
            was: Was::Missing,
            onset_secs: note.end_secs,
            key: None,
            wavers: 0.0,
            level_db: None,
            sure: 0.7,
            ..note.clone()
        };
        note.was = Was::Extra;
        note.expected = note.expected.saturating_sub(1);
        alignment.sounded.insert(at + 1, missing);
        for jump in &mut alignment.jumps {
            if jump.sounded > at {
                jump.sounded += 1;
            }
        }
    }
}

/// Seconds later than due that the next note comes if the player stopped.
const STOPPED_SECS: f64 = 0.5;

/// Missing notes are put where they were due between their neighbours. Who stops before a note that is left out stops for that note:
/// it is reckoned back from the one with which it went on.
pub(super) fn times_of_missing(line: &[Expected], alignment: &mut Alignment) {
    let pace = alignment.pace;
    let mut nexts: Vec<Option<(f64, f64)>> = Vec::with_capacity(alignment.sounded.len());
    let mut next = None;
    for (index, note) in alignment.sounded.iter().enumerate().rev() {
        nexts.push(next);
        if plays(note) {
            next = line
                .get(note.expected)
                .map(|expected| (note.onset_secs, expected.secs));
        }
        if alignment.jumps.iter().any(|jump| jump.sounded == index) {
            next = None;
        }
    }
    nexts.reverse();
    let mut before: Option<(f64, f64)> = None;
    let mut latest = 0.0_f64;
    let jumps: Vec<usize> = alignment.jumps.iter().map(|jump| jump.sounded).collect();
    for (index, note) in alignment.sounded.iter_mut().enumerate() {
        if jumps.contains(&index) {
            before = None;
        }
        let Some(expected) = line.get(note.expected) else {
            continue;
        };
        match note.was {
            Was::Right | Was::Wrong => before = Some((note.onset_secs, expected.secs)),
            Was::Missing | Was::Unparted => {
                if let Some((secs, model)) = before {
                    let mut due = secs + (expected.secs - model) * pace;
                    if let Some((next, model)) = nexts.get(index).copied().flatten() {
                        let back = next - (model - expected.secs) * pace;
                        if back > due + STOPPED_SECS {
                            due = back;
                            note.onset_secs = note.onset_secs.max(due);
                        }
                    }
                    note.onset_secs = due.min(note.onset_secs).max(latest);
                    note.end_secs = note.onset_secs;
                }
            }
            Was::Extra => {}
        }
        latest = latest.max(note.onset_secs);
    }
}

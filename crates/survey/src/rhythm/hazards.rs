//! Where does rhythm go wrong? Slow notes after fast ones, rests on beats, entries off the beat, changes of division.
//!
//! The kinds of place are common practice among teachers; the thresholds are ours and said at each constant.

use super::cell::{CellKind, Cells};
use super::notes::Struck;
use super::voice::{MainVoice, Sound};
use crate::metre::{BeatGrid, BeatUnit};
use notation::{Place, Quarters, Rational};

/// So many fast notes in a row before the player is in motion.
const IN_MOTION: usize = 4;
/// So many before a single long note is cut short: one beat of sixteenths is a usual figure, two are a run.
const RUN: usize = 8;
/// A single note this much longer than the run before it is held too short.
const LONG: i64 = 3;
/// Slower motion: this much longer, twice in a row.
const SLOWER: i64 = 2;

/// A slow note right after fast ones.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SlowAfterFast {
    /// The first slow note.
    pub place: Place,
    /// How many fast notes come before it.
    pub fast_notes: usize,
    /// The longest of the last four fast notes, in quarter notes.
    pub fast: Quarters,
    /// The slow note, in quarter notes.
    pub slow: Quarters,
    /// What tends to happen, a clause.
    pub says: String,
}

/// A beat that starts in silence in a bar that sounds.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct RestOnBeat {
    /// Where the beat starts.
    pub place: Place,
    /// Its number.
    pub beat: u16,
    /// The note that enters after it inside the same beat.
    pub entry: Option<Place>,
}

/// A place where triplets follow pairs, or pairs triplets.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct DivisionChange {
    /// Where the new division starts.
    pub place: Place,
    /// Notes to a beat before, and from here on.
    pub from_to: (u16, u16),
}

/// A run of equal notes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Run {
    /// Their length in quarter notes.
    pub length: Quarters,
    /// How many there are.
    pub notes: usize,
    /// The first and the last of them.
    pub from_to: (Place, Place),
}

/// Slow notes after at least four fast ones (half a beat or less): one long note, or two and more slower ones.
pub(super) fn slow_after_fast(notes: &[Struck]) -> Vec<SlowAfterFast> {
    let mut found = Vec::new();
    let mut run = 0;
    for (at, note) in notes.iter().enumerate() {
        // Motion is what the last four notes were in.
        let last = notes
            .get(at.saturating_sub(run.min(IN_MOTION))..at)
            .unwrap_or(&[]);
        let fast = last
            .iter()
            .map(|note| note.length)
            .max()
            .unwrap_or(Quarters::ZERO);
        let detached = note.rest_before.is_positive();
        let slower = |note: &Struck, times: i64| note.length >= fast * Rational::whole(times);
        if run >= IN_MOTION && !detached && slower(note, SLOWER) {
            let next = notes.get(at + 1).filter(|next| !next.rest_before.is_positive());
            let goes_on = next.is_some_and(|next| slower(next, SLOWER));
            if goes_on || run >= RUN && slower(note, LONG) {
                let says = says(run, fast, note.length, goes_on);
                found.push(SlowAfterFast {
                    place: note.place,
                    fast_notes: run,
                    fast,
                    slow: note.length,
                    says,
                });
            }
        }
        run = if note.length * Rational::whole(2) > note.beat {
            0
        } else if detached || run > 0 && slower(note, SLOWER) {
            1
        } else {
            run + 1
        };
    }
    found
}

fn says(run: usize, fast: Quarters, slow: Quarters, goes_on: bool) -> String {
    let name = |length: Quarters| BeatUnit::of_quarters(length).map(BeatUnit::name);
    let slow = name(slow).unwrap_or_else(|| "long note".to_owned());
    let before = match name(fast) {
        Some(fast) => format!("a run of {fast}s ({run} quick notes)"),
        None => format!("{run} fast notes"),
    };
    if goes_on {
        format!("{slow}s after {before}: easily rushed").replace("halfs", "halves")
    } else {
        format!("a {slow} after {before}: easily cut short").replace("a eighth", "an eighth")
    }
}

/// Beats that start in silence, in bars that sound.
pub(super) fn rests_on_beats(voice: &MainVoice, grids: &[BeatGrid]) -> Vec<RestOnBeat> {
    let mut found = Vec::new();
    for (bar, grid) in voice.bars.iter().zip(grids) {
        if !grid.counted || bar.is_silent() {
            continue;
        }
        let mut next = 0;
        for beat in grid.beats() {
            let offset = grid.offset(beat.start);
            while bar.items.get(next).is_some_and(|item| item.end() <= offset) {
                next += 1;
            }
            if bar
                .items
                .get(next)
                .is_none_or(|item| item.offset > offset || item.sounds())
            {
                continue;
            }
            let end = grid.offset(beat.end());
            let entry = bar.items.iter().skip(next).take_while(|item| item.offset < end);
            let entry = entry
                .filter(|item| item.sound == Sound::Note)
                .map(|item| item.offset)
                .next();
            found.push(RestOnBeat {
                place: Place {
                    bar: grid.bar,
                    offset,
                },
                beat: beat.number,
                entry: entry.map(|offset| Place {
                    bar: grid.bar,
                    offset,
                }),
            });
        }
    }
    found
}

/// Notes that enter off the beat after silence.
pub(super) fn offbeat_entries(notes: &[Struck]) -> Vec<Place> {
    notes
        .iter()
        .filter(|note| note.rest_before.is_positive() && note.into_beat.is_positive())
        .map(|note| note.place)
        .collect()
}

/// How a beat is divided by its notes: 2 or 3 as the metre divides it, the number of a tuplet; `None` for one note.
fn division(bar: &Cells, from: Quarters, to: Quarters, usual: u8) -> Option<u16> {
    let first = bar.cells.partition_point(|cell| cell.start < from);
    let inside = bar.cells.iter().skip(first).take_while(|cell| cell.start < to);
    let mut struck = 0;
    let mut tuplet = None;
    for cell in inside {
        struck += usize::from(cell.kind == CellKind::Note);
        tuplet = tuplet.or(cell
            .group
            .and_then(|group| bar.groups.get(group))
            .map(|group| group.ratio.actual));
    }
    tuplet.or_else(|| (struck > 1).then_some(u16::from(usual)))
}

/// Adds the changes of division between neighbouring beats; `last` is how the metre and the notes divided the beat
/// before. Beats that the metre itself divides differently (7/8) are no surprise.
pub(super) fn division_changes(
    bar: &Cells,
    grid: &BeatGrid,
    last: &mut Option<(u8, u16)>,
    found: &mut Vec<DivisionChange>,
) {
    for beat in grid.beats() {
        let now = division(bar, beat.start, beat.end(), beat.division);
        if let (Some((usual, before)), Some(now)) = (*last, now)
            && usual == beat.division
            && before != now
            && before.max(now) != 2 * before.min(now)
        {
            let place = Place {
                bar: grid.bar,
                offset: grid.offset(beat.start).max(Quarters::ZERO),
            };
            found.push(DivisionChange {
                place,
                from_to: (before, now),
            });
        }
        *last = now.map(|now| (beat.division, now));
    }
}

/// The longest unbroken run of the shortest notes that come at least four in a row.
pub(super) fn longest_run(notes: &[Struck]) -> Option<Run> {
    let mut best: Option<Run> = None;
    let mut current: Option<Run> = None;
    for note in notes {
        current = match current {
            Some(run) if run.length == note.length && !note.rest_before.is_positive() => Some(Run {
                notes: run.notes + 1,
                from_to: (run.from_to.0, note.place),
                ..run
            }),
            _ => Some(Run {
                length: note.length,
                notes: 1,
                from_to: (note.place, note.place),
            }),
        };
        if let Some(run) = current.filter(|run| run.notes >= IN_MOTION) {
            let better = best.is_none_or(|best| {
                run.length < best.length || run.length == best.length && run.notes > best.notes
            });
            if better {
                best = current;
            }
        }
    }
    best
}

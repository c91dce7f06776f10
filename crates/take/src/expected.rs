//! What was to be played? One line of sounding notes out of the performance, each with its place on the page and its time.

use crate::numbers::real;
use notation::{Id, Pitch, Place, Quarters};
use performance::play::{Attack, Performance, PlayedNote, Role};

/// One note that is to be heard.
#[derive(Clone, PartialEq, Debug)]
pub struct Expected {
    /// Its note in the performance, as an index.
    pub note: usize,
    /// The event of the page.
    pub event: Id,
    /// Where that stands.
    pub place: Place,
    /// The slot of the performance (a bar as it is played), as an index.
    pub slot: usize,
    /// When it begins at the model's tempo, in seconds.
    pub secs: f64,
    /// Seconds that it sounds at the model's tempo.
    pub length_secs: f64,
    /// When it begins, in quarter notes from the beginning of the performance.
    pub onset: Quarters,
    /// What sounds: a key number (MIDI, A4 = 69), fractions for microtones.
    pub key: f64,
    /// As it is written for the player.
    pub written: Option<Pitch>,
    /// What it is on the page.
    pub role: Role,
    /// How it begins.
    pub attack: Attack,
    /// A slur leads on to the next.
    pub joined_on: bool,
    /// The music stands still (a fermata) between its beginning and the next note's: its length is the player's.
    pub free: bool,
    /// How likely one begins again here.
    pub opening: Opening,
    /// Decibels from mf at its beginning.
    pub loudness: f64,
}

/// How likely one begins (again) at a note, the likeliest last.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Opening {
    /// In the middle of a bar.
    Inside,
    /// After a rest.
    AfterRest,
    /// The first note of a bar.
    Bar,
    /// The first note of the piece.
    Piece,
}

/// A rest of so many quarter notes lets one begin again after it.
const REST: (i64, i64) = (1, 2);

/// The notes of a performance as one line, by onset. Of notes that begin together the highest is kept; notes without definite
/// pitch cannot be followed and are left out. The second value counts what was left out.
#[must_use]
pub fn expected(performance: &Performance) -> (Vec<Expected>, usize) {
    let mut line: Vec<Expected> = Vec::with_capacity(performance.notes.len());
    let mut left_out = 0;
    let mut last_slot = None;
    let mut end = Quarters::ZERO;
    for (index, note) in performance.notes.iter().enumerate() {
        let Some(pitch) = note.pitch else {
            left_out += 1;
            continue;
        };
        if let Some(before) = line.last_mut()
            && before.onset == note.onset
            && before.role == note.role
        {
            left_out += 1;
            if pitch.to_f64() > before.key {
                let opening = before.opening;
                *before = one(performance, index, note, pitch.to_f64(), opening);
                end = end.max(note.end());
            }
            continue;
        }
        let opening = if line.is_empty() {
            Opening::Piece
        } else if last_slot != Some(note.slot) {
            Opening::Bar
        } else if note.onset - end >= Quarters::new(REST.0, REST.1) {
            Opening::AfterRest
        } else {
            Opening::Inside
        };
        line.push(one(performance, index, note, pitch.to_f64(), opening));
        last_slot = Some(note.slot);
        end = end.max(note.end());
    }
    mark_free(performance, &mut line);
    (line, left_out)
}

fn one(performance: &Performance, index: usize, note: &PlayedNote, key: f64, opening: Opening) -> Expected {
    let (from, to) = performance.seconds_of(note);
    Expected {
        note: index,
        event: note.event,
        place: note.place,
        slot: note.slot,
        secs: from,
        length_secs: (to - from).max(0.0),
        onset: note.onset,
        key,
        written: note.written,
        role: note.role,
        attack: note.attack,
        joined_on: note.joined_on,
        free: false,
        opening,
        loudness: note.loudness.first().map_or(0.0, |(_, level)| *level) + note.accent,
    }
}

/// Notes within whose time the clock stands still.
fn mark_free(performance: &Performance, line: &mut [Expected]) {
    let pauses: Vec<Quarters> = performance
        .clock
        .stretches()
        .iter()
        .filter(|stretch| stretch.pause.is_positive())
        .map(|stretch| stretch.from)
        .collect();
    let onsets: Vec<Quarters> = line.iter().map(|note| note.onset).collect();
    for pause in pauses {
        let next = onsets.partition_point(|onset| *onset < pause);
        if let Some(note) = next.checked_sub(1).and_then(|before| line.get_mut(before)) {
            note.free = true;
        }
    }
}

/// The lowest and the highest key number of a line; `None` for an empty one.
#[must_use]
pub fn compass(line: &[Expected]) -> Option<(f64, f64)> {
    let lowest = line.iter().map(|note| note.key).min_by(f64::total_cmp)?;
    let highest = line.iter().map(|note| note.key).max_by(f64::total_cmp)?;
    Some((lowest, highest))
}

/// Seconds between the beginnings of two notes at the model's tempo.
pub(crate) fn between(line: &[Expected], from: usize, to: usize) -> f64 {
    match (line.get(from), line.get(to)) {
        (Some(from), Some(to)) => to.secs - from.secs,
        _ => real(to) - real(from),
    }
}

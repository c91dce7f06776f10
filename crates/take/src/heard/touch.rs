//! Were short notes short and slurs unbroken? Sounding length against the time to the next note.

use super::HeardNote;
use crate::align::Was;
use crate::expected::Expected;
use notation::BarIndex;
use performance::play::{Attack, Role};
use std::collections::BTreeMap;

/// What was heard of an articulation, over all notes that have it.
#[derive(Clone, PartialEq, Debug)]
pub struct TouchHeard {
    /// Which.
    pub touch: Touch,
    /// Notes that have it and were heard well enough.
    pub count: usize,
    /// How many of them were not played so.
    pub missed: usize,
    /// The bars of those.
    pub bars: Vec<BarIndex>,
}

/// An articulation.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Touch {
    /// Staccato: to sound about half its time.
    Short,
    /// Slurred on: no gap to the next note.
    Slurred,
}

/// A staccato note that sounds for more of its time than this is not short. Judgement: half is asked.
const NOT_SHORT: f64 = 0.82;
/// A gap in a slur, in seconds.
const GAP: f64 = 0.06;

/// Staccato and slurs as they were heard.
pub(super) fn touches(notes: &[HeardNote], line: &[Expected]) -> Vec<TouchHeard> {
    let mut found: BTreeMap<Touch, TouchHeard> = BTreeMap::new();
    for pair in notes.windows(2) {
        let [note, next] = pair else { continue };
        let follows = note.was == Was::Right && next.was == Was::Right && next.expected == note.expected + 1;
        let (Some(expected), true) = (line.get(note.expected), follows) else {
            continue;
        };
        if expected.role != Role::Written || expected.free {
            continue;
        }
        let time = next.onset_secs - note.onset_secs;
        let sounds = note.end_secs - note.onset_secs;
        let model = line
            .get(next.expected)
            .map_or(0.0, |next| next.secs - expected.secs);
        if time <= 0.1 || model <= 0.0 {
            continue;
        }
        let touch = if expected.attack == Attack::Crisp && expected.length_secs < 0.7 * model {
            Touch::Short
        } else if expected.joined_on && expected.length_secs > 0.95 * model {
            Touch::Slurred
        } else {
            continue;
        };
        let missed = match touch {
            Touch::Short => sounds > NOT_SHORT * time,
            Touch::Slurred => time - sounds > GAP,
        };
        let entry = found.entry(touch).or_insert_with(|| TouchHeard {
            touch,
            count: 0,
            missed: 0,
            bars: Vec::new(),
        });
        entry.count += 1;
        if missed {
            entry.missed += 1;
            if !entry.bars.contains(&expected.place.bar) {
                entry.bars.push(expected.place.bar);
            }
        }
    }
    found.into_values().collect()
}

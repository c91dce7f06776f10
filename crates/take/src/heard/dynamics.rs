//! Were the dynamics followed? The level of the notes under one mark against that under the next, never a level by itself: the
//! recording doesn't say how loud it was in the room.

use super::HeardNote;
use crate::align::{Was, median};
use crate::expected::Expected;
use notation::Place;
use performance::play::Role;

/// Marks nearer than this are one, in decibels of the model.
const SAME: f64 = 2.0;
/// Fewest notes heard under a mark.
const FEWEST: usize = 3;
/// A change of level that is followed, in decibels; less than the second is none. Judgement: 1 dB is just noticed, 3 dB plainly.
const FOLLOWED: f64 = 2.0;
const NONE: f64 = 1.0;

/// How a change of dynamics came out.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Followed {
    /// Plainly.
    Yes,
    /// A little.
    Little,
    /// Not at all, or the other way.
    No,
}

/// A change of dynamics on the page, and what was heard of it.
#[derive(Clone, PartialEq, Debug)]
pub struct DynamicHeard {
    /// Where the new loudness begins.
    pub place: Place,
    /// Decibels by which the model changes there: above 0 is louder.
    pub asked_db: f64,
    /// Decibels by which the player changed.
    pub heard_db: f64,
    /// How it came out.
    pub followed: Followed,
}

/// The changes between stretches of even loudness.
pub(super) fn dynamics(notes: &[HeardNote], line: &[Expected]) -> Vec<DynamicHeard> {
    // Stretches: the model's level, where they begin, the levels heard.
    let mut stretches: Vec<(f64, usize, Vec<f64>)> = Vec::new();
    for (index, expected) in line.iter().enumerate() {
        match stretches.last_mut() {
            Some((level, _, _)) if (*level - expected.loudness).abs() < SAME => {}
            _ => stretches.push((expected.loudness, index, Vec::new())),
        }
    }
    let mut sorted: Vec<&HeardNote> = notes
        .iter()
        .filter(|note| note.was == Was::Right && !note.again)
        .collect();
    sorted.sort_by_key(|note| note.expected);
    for note in sorted {
        let written = line
            .get(note.expected)
            .is_some_and(|expected| expected.role == Role::Written);
        let at = stretches.partition_point(|(_, from, _)| *from <= note.expected);
        if let (Some(level), Some(stretch), true) = (
            note.level_db,
            at.checked_sub(1).and_then(|n| stretches.get_mut(n)),
            written,
        ) {
            stretch.2.push(level);
        }
    }
    // Hairpins make stretches of one note: only what is held is compared.
    let held: Vec<(f64, usize, f64)> = stretches
        .into_iter()
        .filter(|(_, _, heard)| heard.len() >= FEWEST)
        .filter_map(|(level, from, mut heard)| Some((level, from, median(&mut heard)?)))
        .collect();
    held.windows(2)
        .filter_map(|pair| {
            let [(before, _, heard_before), (after, from, heard_after)] = pair else {
                return None;
            };
            let (asked, heard) = (after - before, heard_after - heard_before);
            if asked.abs() < SAME {
                return None;
            }
            let along = heard * asked.signum();
            Some(DynamicHeard {
                place: line.get(*from)?.place,
                asked_db: asked,
                heard_db: heard,
                followed: if along >= FOLLOWED {
                    Followed::Yes
                } else if along >= NONE {
                    Followed::Little
                } else {
                    Followed::No
                },
            })
        })
        .collect()
}

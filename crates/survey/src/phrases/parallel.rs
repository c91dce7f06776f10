//! Where does a figure come back? Rhythm and steps of the notes after and before a point, found again elsewhere.
//!
//! A return that cannot be read on backwards marks a beginning; one that cannot be read on forwards marks an end.

use super::notes::Notes;
use std::collections::HashMap;

/// Notes of the figures by which returns are looked up, and the longest that is followed (ours).
const GRAM: usize = 4;
pub(super) const FAR: usize = 12;
/// So many places are compared with each; more are not looked at, so that long pieces take linear time (ours).
const PLACES: usize = 10;

/// What comes back at each note.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Return {
    /// Notes from here on that also begin somewhere else where what comes before differs.
    pub begins: usize,
    /// Notes up to the one before that also end somewhere else where what follows differs.
    pub ends: usize,
    /// Notes from here on that are the line's own opening, by rhythm and steps.
    pub opening: usize,
    /// The same by rhythm alone, from the same place of the bar.
    pub opening_rhythm: usize,
}

type Gram = [(u32, i32); GRAM - 1];

/// The returns before each note.
pub(super) fn returns(notes: &Notes) -> Vec<Return> {
    let n = notes.len();
    let mut starts: HashMap<Gram, Vec<usize>> = HashMap::new();
    for at in 0..n {
        if let Some(gram) = gram(notes, at) {
            let places = starts.entry(gram).or_default();
            if places.len() < PLACES {
                places.push(at);
            }
        }
    }
    let mut found: Vec<Return> = (0..n)
        .map(|at| Return {
            opening: forwards(notes, at, 0, same),
            opening_rhythm: if phase(notes, at) == phase(notes, 0) {
                forwards(notes, at, 0, same_length)
            } else {
                0
            },
            ..Return::default()
        })
        .collect();
    for at in 1..n {
        let others = gram(notes, at).and_then(|gram| starts.get(&gram));
        let begins = others.into_iter().flatten().filter(|other| apart(at, **other));
        let begins = begins
            .filter(|other| **other == 0 || !same_into(notes, at, **other))
            .map(|other| forwards(notes, at, *other, same))
            .max();
        let tail = at.checked_sub(GRAM);
        let others = tail
            .and_then(|tail| gram(notes, tail))
            .and_then(|gram| starts.get(&gram));
        let ends = others
            .into_iter()
            .flatten()
            .map(|other| other + GRAM)
            .filter(|other| apart(at, *other) && *other < n)
            .filter(|other| !same_into(notes, at, *other))
            .map(|other| backwards(notes, at, other))
            .max();
        if let Some(slot) = found.get_mut(at) {
            slot.begins = begins.unwrap_or(0);
            slot.ends = ends.unwrap_or(0);
        }
    }
    found
}

/// Notes in common of two beginnings by rhythm alone, no further than a limit.
pub(super) fn same_rhythm(notes: &Notes, a: usize, b: usize, limit: usize) -> usize {
    (0..limit)
        .take_while(|k| b + k < notes.len() && same_length(notes, a + k, b + k))
        .count()
}

fn gram(notes: &Notes, at: usize) -> Option<Gram> {
    let mut gram = [(0, 0); GRAM - 1];
    if at + GRAM > notes.len() {
        return None;
    }
    for (k, slot) in gram.iter_mut().enumerate() {
        *slot = (notes.line.get(at + k)?.ids.length, notes.step(at + k));
    }
    Some(gram)
}

fn phase(notes: &Notes, at: usize) -> Option<u32> {
    notes.line.get(at).map(|note| note.ids.phase)
}

fn apart(a: usize, b: usize) -> bool {
    a.abs_diff(b) >= GRAM
}

fn same_length(notes: &Notes, a: usize, b: usize) -> bool {
    let length = |at: usize| notes.line.get(at).map(|note| note.ids.length);
    length(a).is_some() && length(a) == length(b)
}

fn same(notes: &Notes, a: usize, b: usize) -> bool {
    same_length(notes, a, b) && notes.step(a) == notes.step(b)
}

/// True if the way from the note before into each is the same.
fn same_into(notes: &Notes, a: usize, b: usize) -> bool {
    match (a.checked_sub(1), b.checked_sub(1)) {
        (Some(a), Some(b)) => same(notes, a, b),
        _ => false,
    }
}

fn forwards(notes: &Notes, a: usize, b: usize, alike: fn(&Notes, usize, usize) -> bool) -> usize {
    if a == b {
        return 0;
    }
    let last = notes.len().saturating_sub(1);
    (0..FAR)
        .take_while(|k| a + k < last && b + k < last && alike(notes, a + k, b + k))
        .count()
}

fn backwards(notes: &Notes, a: usize, b: usize) -> usize {
    (2..=FAR)
        .take_while(|k| a >= *k && b >= *k && same(notes, a - k, b - k))
        .count()
}

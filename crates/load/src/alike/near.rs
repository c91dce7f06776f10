//! Which earlier bar is it nearly, and what differs? Same rhythm, a few notes otherwise: said note by note.

use super::shape::{Item, Shape};
use super::{How, note_words};
use notation::Pitch;
use std::collections::BTreeMap;

/// At most this share of the notes may differ (ours).
const SHARE: usize = 4;

/// The earlier bar of the same rhythm with the fewest notes that differ, if few do.
pub(super) fn nearest(shape: &Shape, candidates: &[usize], shapes: &[Shape]) -> Option<(usize, How)> {
    let most = (shape.notes / SHARE).max(1);
    candidates
        .iter()
        .filter_map(|at| {
            let other = shapes.get(*at)?;
            let shift = usual_shift(shape, other)?;
            let differ = different(shape, other, shift);
            (differ <= most && differ * 2 < shape.notes).then_some((differ, shift.abs(), *at, shift))
        })
        .min()
        .map(|(_, _, at, shift)| (at, How::Nearly(shift)))
}

/// The shift in staff places that most notes share; the smaller of two equally common.
fn usual_shift(shape: &Shape, other: &Shape) -> Option<i32> {
    if shape.rhythm != other.rhythm || shape.notes != other.notes {
        return None;
    }
    let mut votes: BTreeMap<i32, usize> = BTreeMap::new();
    for (a, b) in shape.pitches().zip(other.pitches()) {
        *votes.entry(a.diatonic() - b.diatonic()).or_default() += 1;
    }
    votes
        .into_iter()
        .max_by_key(|(shift, count)| (*count, -shift.abs(), -shift))
        .map(|(shift, _)| shift)
}

fn differs(a: Pitch, b: Pitch, shift: i32) -> bool {
    a.diatonic() - b.diatonic() != shift || shift == 0 && a.alter != b.alter
}

fn different(shape: &Shape, other: &Shape, shift: i32) -> usize {
    shape
        .pitches()
        .zip(other.pitches())
        .filter(|(a, b)| differs(*a, *b, shift))
        .count()
}

/// What differs between two bars of the same rhythm, in words.
pub(super) fn differences(shape: &Shape, other: &Shape, how: How) -> Vec<String> {
    let mut said = Vec::new();
    if let How::Nearly(shift) = how {
        said.extend(notes(shape, other, shift));
    }
    if let How::Steps(_) | How::Nearly(_) = how {
        said.extend(altered(shape, other, how));
    }
    said.extend(marks(&shape.items, &other.items));
    said
}

fn notes(shape: &Shape, other: &Shape, shift: i32) -> impl Iterator<Item = String> {
    shape
        .pitches()
        .zip(other.pitches())
        .enumerate()
        .filter(move |(_, (a, b))| differs(*a, *b, shift))
        .map(move |(index, (here, there))| {
            let place = note_words(index, shape.notes);
            let here = here.sign_natural();
            if shift == 0 {
                format!("{place} is {here}, not {}", there.sign_natural())
            } else {
                format!("{place} is {here} and leaves the pattern")
            }
        })
        .collect::<Vec<_>>()
        .into_iter()
}

/// Notes of a shifted bar that are altered from the signature where the other's are not, or the other way round.
fn altered(shape: &Shape, other: &Shape, how: How) -> Vec<String> {
    let shift = match how {
        How::Steps(shift) | How::Nearly(shift) if shift != 0 => shift,
        _ => return Vec::new(),
    };
    let notes = |shape: &Shape| -> Vec<(Pitch, i8)> {
        shape
            .items
            .iter()
            .filter_map(|item| Some((item.pitch?, item.off)))
            .collect()
    };
    notes(shape)
        .into_iter()
        .zip(notes(other))
        .enumerate()
        .filter(|(_, ((a, here), (b, there)))| here != there && !differs(*a, *b, shift))
        .map(|(index, ((pitch, here), _))| {
            let (place, pitch) = (note_words(index, shape.notes), pitch.sign_natural());
            if here == 0 {
                format!("{place} is {pitch}, not altered here")
            } else {
                format!("{place} is altered, {pitch}")
            }
        })
        .collect()
}

/// Marks that stand in one bar and not in the other, each said once.
fn marks(here: &[Item], there: &[Item]) -> Vec<String> {
    let count = |items: &[Item]| {
        let mut counts: BTreeMap<String, usize> = BTreeMap::new();
        for mark in items.iter().flat_map(|item| &item.marks) {
            *counts.entry(mark.clone()).or_default() += 1;
        }
        counts
    };
    let (ours, theirs) = (count(here), count(there));
    let of = |counts: &BTreeMap<String, usize>, mark: &str| counts.get(mark).copied().unwrap_or(0);
    let more = ours
        .iter()
        .filter(|(mark, n)| **n > of(&theirs, mark))
        .map(|(mark, _)| {
            if of(&theirs, mark) == 0 {
                format!("{mark} here, not there")
            } else {
                format!("more {mark} here")
            }
        });
    let fewer = theirs
        .iter()
        .filter(|(mark, n)| **n > of(&ours, mark))
        .map(|(mark, _)| {
            if of(&ours, mark) == 0 {
                format!("no {mark} here")
            } else {
                format!("less {mark} here")
            }
        });
    more.chain(fewer).collect()
}

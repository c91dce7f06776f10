//! How is it in tune? Cents by written note, against equal or pure intervals, and which notes matter first.

use super::HeardNote;
use crate::align::{Was, median};
use crate::expected::Expected;
use crate::numbers::real;
use notation::{Pitch, Rational};
use performance::play::{Performance, Role, just_cents};
use std::collections::BTreeMap;

/// A note shorter than this gives no sure pitch, in seconds.
const SHORTEST: f64 = 0.12;
/// Cents from which it is worth saying: what trained ears tell apart of tones after each other.
/// Source: Hill & Summers 2007 (just noticeable about 10 cents for amateurs); 5–10 cents trained, from memory.
const WORTH_SAYING: f64 = 8.0;
/// How often it must have been heard for that.
const OFTEN: usize = 3;

/// One written note, all times that it was heard.
#[derive(Clone, PartialEq, Debug)]
pub struct Intonation {
    /// The note as written for the player.
    pub written: Pitch,
    /// Cents in the middle: above 0 is sharp.
    pub cents: f64,
    /// How far single times lie from that, in the middle.
    pub spread: f64,
    /// How often it was heard long and surely enough.
    pub count: usize,
    /// Whether it is worth working on: plainly off, often enough and not by chance.
    pub matters: bool,
}

/// Cents of a heard note beside the page, equal or pure over the key's tonic.
pub(super) fn cents(expected: &Expected, key: f64, performance: &Performance, just: bool) -> f64 {
    let equal = (key - expected.key) * 100.0;
    if !just {
        return equal;
    }
    let index = performance.keys.partition_point(|key| key.from <= expected.onset);
    let Some(tonic) = performance.keys.get(index.saturating_sub(1)).map(|key| key.tonic) else {
        return equal;
    };
    let sounding = Rational::whole(crate::numbers::whole(expected.key));
    let above = (sounding - tonic).modulo(Rational::whole(12)).floor();
    equal - just_cents(usize::try_from(above).unwrap_or(0))
}

/// By written note, from low to high.
pub(super) fn by_note(notes: &[HeardNote], line: &[Expected]) -> Vec<Intonation> {
    let mut heard: BTreeMap<Pitch, Vec<f64>> = BTreeMap::new();
    for note in notes {
        let long = note.end_secs - note.onset_secs >= SHORTEST;
        let written = line
            .get(note.expected)
            .is_some_and(|expected| expected.role == Role::Written);
        if let (Was::Right, Some(pitch), Some(cents)) = (note.was, note.written, note.cents)
            && long
            && written
            && note.sure >= 0.6
        {
            heard.entry(pitch).or_default().push(cents);
        }
    }
    heard
        .into_iter()
        .filter_map(|(written, mut cents)| {
            let middle = median(&mut cents)?;
            let spread = median(&mut cents.iter().map(|one| (one - middle).abs()).collect::<Vec<_>>())?;
            // The middle itself is sure to about this much.
            let sure = 1.4826 * spread * 1.2533 / real(cents.len()).sqrt();
            Some(Intonation {
                written,
                cents: middle,
                spread,
                count: cents.len(),
                matters: cents.len() >= OFTEN && middle.abs() >= WORTH_SAYING && middle.abs() > 2.0 * sure,
            })
        })
        .collect()
}

/// The notes that matter first: far off and often.
pub(super) fn first(intonation: &[Intonation], most: usize) -> Vec<&Intonation> {
    let mut list: Vec<&Intonation> = intonation.iter().filter(|one| one.matters).collect();
    let weight = |one: &Intonation| one.cents.abs() * real(one.count).sqrt();
    list.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
    list.truncate(most);
    list
}

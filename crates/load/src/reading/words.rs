//! What does a reader say of a note that costs reading? Clauses in a musician's words, without the bar's number.

use super::melody::{Item, Kind, Stress};
use crate::intervals::interval;
use notation::{Alter, Pitch, Quarters, Rational};
use survey::metre::BeatUnit;

/// From so many bits on, a pitch is called unexpected: one in sixteen or rarer.
pub(crate) const UNEXPECTED: f64 = 4.0;
/// The same for a value: one in eight or rarer.
pub(crate) const UNEXPECTED_VALUE: f64 = 3.0;

/// `an unexpected leap of a sixth down to E♭`, `a step up to G`.
pub(super) fn pitch(before: Option<Pitch>, pitch: Pitch, bits: f64) -> String {
    let name = pitch.class_sign();
    let Some(before) = before else {
        return format!("the first note, {name}");
    };
    let steps = pitch.diatonic() - before.diatonic();
    let way = if steps > 0 { "up" } else { "down" };
    let unexpected = bits >= UNEXPECTED;
    let article = if unexpected { "an unexpected" } else { "a" };
    match steps.unsigned_abs() {
        0 if pitch.alter == before.alter => format!("{article} repeated note, {name}"),
        0 => format!("{article} chromatic step to {name}"),
        1 => format!("{article} step {way} to {name}"),
        2 => format!("{article} third {way} to {name}"),
        wide => format!("{article} leap of {} {way} to {name}", interval(wide)),
    }
}

/// `a rhythm not met before: a dotted eighth`, `an unexpected half note off the beat`, `a quarter rest`.
pub(super) fn value(item: &Item, bits: f64, new: bool) -> String {
    let what = named(item);
    let off = matches!(item.stress, Stress::Between | Stress::Division);
    match (bits >= UNEXPECTED_VALUE, new) {
        (true, true) => format!("a rhythm not met before: {}", with_article(&what)),
        (true, false) if off => format!("an unexpected {what} off the beat"),
        (true, false) => format!("an unexpected {what}"),
        _ => with_article(&what),
    }
}

fn with_article(what: &str) -> String {
    let vowel = what.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {what}", if vowel { "an" } else { "a" })
}

fn named(item: &Item) -> String {
    let noun = match item.kind {
        Kind::Bars => return "stretch of whole bars' rest".to_owned(),
        Kind::Rest => "rest",
        Kind::Note(_) => "note",
    };
    if let Some(unit) = BeatUnit::of_quarters(item.length).filter(|unit| unit.dots <= 2) {
        return format!("{} {noun}", unit.name());
    }
    // A third of a value, written as a triplet of the value above it.
    let triplet = BeatUnit::of_quarters(item.length * Rational::new(3, 2)).filter(|unit| unit.dots == 0);
    match triplet {
        Some(unit) => format!("triplet {} {noun}", unit.name()),
        None if item.position + item.length > item.full => format!("{noun} tied over the bar line"),
        None if item.length > Quarters::ONE => format!("tied {noun}"),
        None => format!("{noun} of uneven length"),
    }
}

/// `a sharp against the signature: F♯`, `F is natural again`.
pub(super) fn accidental(pitch: Pitch, against: bool) -> String {
    let name = pitch.class_sign();
    if !against {
        let letter = pitch.step.letter();
        return if pitch.alter.is_zero() {
            format!("{letter} is natural again")
        } else {
            format!("{name} is back")
        };
    }
    let sign = if pitch.alter == Alter::ZERO {
        return format!("a natural against the signature: {name}♮");
    } else if pitch.alter == Alter::ONE {
        "a sharp"
    } else if pitch.alter == -Alter::ONE {
        "a flat"
    } else if pitch.alter > Alter::ONE {
        "a double sharp"
    } else if pitch.alter < -Alter::ONE {
        "a double flat"
    } else {
        "a microtone"
    };
    format!("{sign} against the signature: {name}")
}

/// `new articulation: staccato`, `a change to slur`.
pub(super) fn articulation(signs: &str, new: bool) -> String {
    if new {
        format!("new articulation: {signs}")
    } else {
        format!("articulation changes to {signs}")
    }
}

/// `dynamics change to pp`.
pub(super) fn dynamic(mark: &str) -> String {
    format!("a dynamic: {mark}")
}

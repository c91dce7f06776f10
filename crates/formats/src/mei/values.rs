//! What do MEI's words for values mean? Durations, accidentals, places: each as the page model has it.
//!
//! Source: MEI 5.0, data.DURATION.cmn, data.ACCIDENTAL.WRITTEN, data.ACCIDENTAL.GESTURAL, data.STAFFREL.

use crate::xml::El;
use notation::{NoteValue, Rational, Side};
use std::borrow::Cow;

/// The note value of a `dur`; the mensural names stand for the shapes they became.
pub(super) fn note_value(dur: &str) -> Option<NoteValue> {
    Some(match dur {
        "maxima" => NoteValue::Maxima,
        "long" | "longa" => NoteValue::Long,
        "breve" | "brevis" => NoteValue::Breve,
        "1" | "semibrevis" => NoteValue::Whole,
        "2" | "minima" => NoteValue::Half,
        "4" | "semiminima" => NoteValue::Quarter,
        "8" | "fusa" => NoteValue::Eighth,
        "16" | "semifusa" => NoteValue::N16th,
        "32" => NoteValue::N32nd,
        "64" => NoteValue::N64th,
        "128" => NoteValue::N128th,
        "256" => NoteValue::N256th,
        "512" => NoteValue::N512th,
        "1024" => NoteValue::N1024th,
        _ => return None,
    })
}

/// Flags of a note value: 1 for an eighth.
pub(super) const fn flags(value: NoteValue) -> u8 {
    match value {
        NoteValue::Eighth => 1,
        NoteValue::N16th => 2,
        NoteValue::N32nd => 3,
        NoteValue::N64th => 4,
        NoteValue::N128th => 5,
        NoteValue::N256th => 6,
        NoteValue::N512th => 7,
        NoteValue::N1024th => 8,
        _ => 0,
    }
}

/// A printed accidental: the name that MusicXML has for the sign, if it has one, and what it does.
pub(super) fn accidental(accid: &str) -> (Option<&'static str>, Option<Rational>) {
    let half = |n| Some(Rational::new(n, 2));
    match accid {
        "s" => (Some("sharp"), half(2)),
        "f" => (Some("flat"), half(-2)),
        "ss" => (Some("sharp-sharp"), half(4)),
        "x" => (Some("double-sharp"), half(4)),
        "ff" => (Some("flat-flat"), half(-4)),
        "xs" | "sx" | "ts" => (Some("triple-sharp"), half(6)),
        "tf" => (Some("triple-flat"), half(-6)),
        "n" => (Some("natural"), half(0)),
        "nf" => (Some("natural-flat"), half(-2)),
        "ns" => (Some("natural-sharp"), half(2)),
        "1qf" => (Some("quarter-flat"), half(-1)),
        "3qf" => (Some("three-quarters-flat"), half(-3)),
        "1qs" => (Some("quarter-sharp"), half(1)),
        "3qs" => (Some("three-quarters-sharp"), half(3)),
        "su" => (Some("sharp-up"), half(3)),
        "sd" => (Some("sharp-down"), half(1)),
        "fu" => (Some("flat-up"), half(-1)),
        "fd" => (Some("flat-down"), half(-3)),
        "nu" => (Some("natural-up"), half(1)),
        "nd" => (Some("natural-down"), half(-1)),
        "koron" => (Some("koron"), None),
        "sori" => (Some("sori"), None),
        _ => (None, None),
    }
}

/// True for the signs whose effect MusicXML fixes; arrows change a pitch by more or less.
pub(super) fn is_fixed(accid: &str) -> bool {
    !matches!(accid, "su" | "sd" | "fu" | "fd" | "nu" | "nd")
}

/// Above or below.
pub(super) fn side(word: Option<&str>) -> Option<Side> {
    match word? {
        "above" => Some(Side::Above),
        "below" => Some(Side::Below),
        _ => None,
    }
}

/// The name that the file gives an element.
pub(super) fn id_of<'a>(el: El<'_, 'a>) -> Option<Cow<'a, str>> {
    let named = |wanted: &str| el.attrs().iter().find(|(name, _)| *name == wanted);
    let (_, id) = named("xml:id").or_else(|| named("id"))?;
    Some(id.clone())
}

/// The element that an attribute names: what follows the `#`.
pub(super) fn reference<'a>(el: El<'_, 'a>, name: &str) -> Option<Cow<'a, str>> {
    let (_, value) = el.attrs().iter().find(|(of, _)| *of == name)?;
    let named = match value {
        Cow::Borrowed(text) => Cow::Borrowed(bare(text)),
        Cow::Owned(text) => Cow::Owned(bare(text).to_owned()),
    };
    Some(named).filter(|named| !named.is_empty())
}

/// The elements that a list of references names.
pub(super) fn references<'a>(el: El<'_, 'a>, name: &str) -> Vec<Cow<'a, str>> {
    let Some((_, value)) = el.attrs().iter().find(|(of, _)| *of == name) else {
        return Vec::new();
    };
    let named = match value {
        Cow::Borrowed(text) => text
            .split_whitespace()
            .map(|one| Cow::Borrowed(bare(one)))
            .collect(),
        Cow::Owned(text) => text
            .split_whitespace()
            .map(|one| Cow::Owned(bare(one).to_owned()))
            .collect(),
    };
    let mut named: Vec<Cow<'a, str>> = named;
    named.retain(|one| !one.is_empty());
    named
}

fn bare(reference: &str) -> &str {
    let reference = reference.trim();
    reference.rsplit_once('#').map_or(reference, |(_, id)| id)
}

/// True if a boolean attribute says so.
pub(super) fn is_true(el: El<'_, '_>, name: &str) -> bool {
    matches!(el.attr(name), Some("true" | "yes" | "1"))
}

/// True if a boolean attribute denies it.
pub(super) fn is_false(el: El<'_, '_>, name: &str) -> bool {
    matches!(el.attr(name), Some("false" | "no" | "0"))
}

/// A number attribute, within sense.
pub(super) fn number(el: El<'_, '_>, name: &str) -> Option<Rational> {
    let most = Rational::whole(10_000_000);
    el.attr(name)
        .and_then(Rational::parse)
        .filter(|number| number.abs() <= most)
}

/// A text shortened for a message.
pub(super) fn short(text: &str) -> String {
    text.chars().take(40).collect()
}

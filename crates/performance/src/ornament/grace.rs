//! Is a lone grace note long or short? The reasons that writers of the time give, and the length of a long one.

use notation::{ArticulationKind, Event, Pitch, Quarters};

/// Why an appoggiatura is short; `None` if nothing speaks for it.
///
/// Source: Grove's Dictionary (1879), vol. 1, "Appoggiatura", Ex. 17-22 (before repeated and staccato notes, before leaps,
/// in triplets and groups of equal notes); Türk 1789, after C. Brown, Classical and Romantic Performing Practice, p. 462
/// (leaps larger than a second).
#[must_use]
pub fn short_because(grace: Option<Pitch>, main: &Event, next: Option<&Event>) -> Option<&'static str> {
    let staccato = main.articulations.iter().any(|a| {
        matches!(
            a.kind,
            ArticulationKind::Staccato | ArticulationKind::Staccatissimo
        )
    });
    if staccato {
        return Some("before a staccato note");
    }
    if main
        .written
        .as_ref()
        .is_some_and(|written| !written.tuplets.is_empty())
    {
        return Some("in a triplet or other tuplet");
    }
    let top = main.top_pitch();
    if let (Some(grace), Some(main)) = (grace, top)
        && (grace.diatonic() - main.diatonic()).abs() > 1
    {
        return Some("a leap from its main note");
    }
    let tied = main.heads().iter().any(|head| head.tie_start);
    let after = next.filter(|event| !event.is_grace()).and_then(Event::top_pitch);
    if !tied && top.is_some() && after == top {
        return Some("before a repeated note");
    }
    None
}

/// How much of its main note a long appoggiatura takes, in quarter notes and in words: half, two thirds of a dotted
/// note, the whole of a note tied to a shorter one.
///
/// Source: C.P.E. Bach 1753, after E. Fowles, Studies in Musical Graces, rules A, B, C.
#[must_use]
pub fn long_value(main: &Event, next: Option<&Event>) -> (Quarters, &'static str) {
    let tied = main.heads().iter().any(|head| head.tie_start);
    if tied && next.is_some_and(|next| next.duration < main.duration) {
        return (main.duration, "the whole of the tied note");
    }
    if main.written.as_ref().is_some_and(|written| written.dots > 0) {
        (
            main.duration * Quarters::new(2, 3),
            "two thirds of its dotted note",
        )
    } else {
        (main.duration * Quarters::new(1, 2), "half of its note")
    }
}

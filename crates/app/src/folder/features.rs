//! What is in a piece, by names that a search asks for? Each read off the survey; nothing is judged here.

use load::Study;
use notation::{ClefSign, NoteValue};
use survey::Survey;

/// A feature: its name as kept, what a teacher calls it, and other ways of saying it in a search.
pub(crate) struct Feature {
    /// The name that is kept.
    pub id: &'static str,
    /// What it is called on the screen.
    pub name: &'static str,
    /// Beginnings of words that mean it.
    pub said: &'static [&'static str],
    holds: fn(&Survey, &Study) -> bool,
}

macro_rules! features {
    ($($id:literal, $name:literal, $said:expr, $holds:expr;)+) => {
        /// All of them, in the order in which they are shown.
        pub(crate) const FEATURES: &[Feature] = &[$(Feature { id: $id, name: $name, said: $said, holds: $holds }),+];
    };
}

/// The feature that the signature changes.
pub(crate) const KEY_CHANGES: &str = "key-changes";

features! {
    "crosses-break", "crosses the break", &["crosses the break", "crossing the break", "over the break", "across the break"],
        |_, study| study.fingering.moves.iter().any(|moved| moved.breaks > 0);
    "dotted-rhythms", "dotted rhythms", &["dotted rhythm", "dotted"],
        |survey, _| survey.rhythm.as_ref().is_some_and(|rhythm| !rhythm.dotted.is_empty());
    "triplets", "triplets", &["triplet"],
        |survey, _| survey.rhythm.as_ref().is_some_and(|rhythm| rhythm.tuplets.iter().any(|tuplet| tuplet.ratio.actual == 3));
    "sixteenths", "sixteenths", &["sixteenth", "semiquaver"],
        |survey, _| survey.rhythm.as_ref().is_some_and(|rhythm| rhythm.values.iter().any(|value| value.unit.is_some_and(|unit| unit.value == NoteValue::N16th)));
    "syncopation", "syncopation", &["syncopat"],
        |survey, _| survey.rhythm.as_ref().is_some_and(|rhythm| rhythm.syncopation.iter().any(|bar| bar.strict > 0));
    "pickup", "a pickup", &["pickup", "upbeat", "anacrusis"],
        |survey, _| survey.metre.as_ref().is_some_and(|metre| metre.anacrusis.is_some());
    "metre-changes", "changes of metre", &["change of metre", "changes of metre", "metre change", "meter change", "changing metre"],
        |survey, _| survey.metre.as_ref().is_some_and(|metre| metre.metres.len() > 1);
    "key-changes", "changes of key signature", &["change of key", "changes of key", "key change"],
        |survey, _| survey.key.as_ref().is_some_and(|key| key.signatures.len() > 1);
    "clef-changes", "changes of clef", &["change of clef", "changes of clef", "clef change"],
        |survey, _| survey.clefs.as_ref().is_some_and(|clefs| clefs.staves.iter().any(|staff| !staff.changes.is_empty()));
    "tenor-clef", "tenor clef", &["tenor clef"],
        |survey, _| has_clef(survey, 4);
    "alto-clef", "alto clef", &["alto clef"],
        |survey, _| has_clef(survey, 3);
    "tempo-changes", "changes of tempo", &["change of tempo", "changes of tempo", "tempo change", "ritardando", "rit."],
        |survey, _| survey.tempo.as_ref().is_some_and(|tempo| !tempo.changes.is_empty());
    "repeats", "repeats", &["repeat"],
        |survey, _| !survey.road_map.unfolding.repeats.is_empty();
    "jumps", "D.C., D.S. or coda", &["d.c.", "d.s.", "coda", "da capo", "dal segno", "jump"],
        |survey, _| !survey.road_map.unfolding.jumps.is_empty();
    "altered-notes", "accidentals", &["accidental", "chromatic"],
        |survey, _| survey.accidentals.as_ref().is_some_and(|answer| answer.altered_notes > 0);
    "trills", "trills", &["trill"],
        |survey, _| survey.ornaments.as_ref().is_some_and(|answer| answer.ornaments.iter().any(|found| found.realised.mark.contains("trill")));
    "grace-notes", "grace notes", &["grace note", "acciaccatura", "appoggiatura"],
        |survey, _| survey.ornaments.as_ref().is_some_and(|answer| !answer.graces.is_empty());
    "octave-leaps", "leaps of an octave and more", &["octave leap", "leaps of an octave", "large leap", "wide leap"],
        |survey, _| survey.range.as_ref().is_some_and(|range| range.leaps.iter().any(|leap| leap.semitones.abs() >= 12));
    "hairpins", "hairpins", &["hairpin", "crescendo"],
        |survey, _| survey.dynamics.as_ref().is_some_and(|dynamics| !dynamics.hairpins.is_empty());
}

fn has_clef(survey: &Survey, line: i8) -> bool {
    let here = |clef: &notation::Clef| clef.sign == ClefSign::C && i64::from(clef.line) == i64::from(line);
    survey
        .clefs
        .as_ref()
        .is_some_and(|clefs| clefs.all.iter().any(|found| here(&found.clef)))
}

/// The names of what is in a piece.
pub(super) fn of(survey: &Survey, study: &Study) -> Vec<String> {
    let held = FEATURES.iter().filter(|feature| (feature.holds)(survey, study));
    held.map(|feature| feature.id.to_owned()).collect()
}

/// What a feature is called on the screen.
pub(super) fn name(id: &str) -> Option<&'static str> {
    FEATURES
        .iter()
        .find(|feature| feature.id == id)
        .map(|feature| feature.name)
}

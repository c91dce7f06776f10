//! Which instruments are known? The tables, and the clefs they share.

mod brass;
mod others;
mod strings;
mod voices;
mod woodwind;

use crate::facts::{Habit, Instrument, UsualClef};
use notation::{Clef, ClefSign};

const ALTO: Clef = c_clef(3);
const TENOR: Clef = c_clef(4);
const TREBLE_8VA: Clef = with_octave(Clef::TREBLE, 1);
const TREBLE_8VB: Clef = with_octave(Clef::TREBLE, -1);
const BASS_8VA: Clef = with_octave(Clef::BASS, 1);

const fn c_clef(line: i8) -> Clef {
    Clef {
        sign: ClefSign::C,
        line,
        octave_change: 0,
    }
}

const fn with_octave(clef: Clef, octave_change: i8) -> Clef {
    Clef {
        octave_change,
        ..clef
    }
}

const fn usual(clef: Clef) -> UsualClef {
    UsualClef {
        clef,
        habit: Habit::Usual,
    }
}

const fn rare(clef: Clef) -> UsualClef {
    UsualClef {
        clef,
        habit: Habit::Rare,
    }
}

/// Every instrument, in score order within its family.
pub fn all() -> impl Iterator<Item = &'static Instrument> {
    [
        woodwind::TABLE,
        brass::TABLE,
        others::TABLE,
        strings::TABLE,
        voices::TABLE,
    ]
    .into_iter()
    .flatten()
}

/// The instrument with an id.
#[must_use]
pub fn by_id(id: &str) -> Option<&'static Instrument> {
    all().find(|instrument| instrument.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::Experience;
    use std::collections::BTreeSet;

    #[test]
    fn every_entry_is_sound() {
        let mut ids = BTreeSet::new();
        for instrument in all() {
            assert!(ids.insert(instrument.id), "{} twice", instrument.id);
            let given = [
                instrument.ranges.student,
                instrument.ranges.intermediate,
                instrument.ranges.professional,
            ];
            let read = Experience::ALL.map(|experience| instrument.ranges.of(experience));
            let mut inner: Option<(notation::Pitch, notation::Pitch)> = None;
            for (given, read) in given.iter().zip(read) {
                assert_eq!(given.is_some(), read.is_some(), "{}", instrument.id);
                let Some((low, high)) = read else { continue };
                assert!(low < high, "{}", instrument.id);
                if let Some((inner_low, inner_high)) = inner {
                    assert!(
                        low <= inner_low && high >= inner_high,
                        "{}: ranges widen",
                        instrument.id
                    );
                }
                inner = Some((low, high));
            }
            assert!(
                inner.is_none() || !instrument.ranges.sources.is_empty(),
                "{}",
                instrument.id
            );
            assert_eq!(instrument.register_breaks().len(), instrument.breaks.len());
            assert_eq!(instrument.open_strings().len(), instrument.strings.len());
            for name in instrument.names.iter().chain(instrument.short) {
                assert_eq!(&crate::name::fold(name), name, "{}", instrument.id);
            }
        }
    }

    /// Source: MusicXML 4.0 transposition tutorial and orchestration tables: letter steps agree with semitones
    /// (a minor third is two steps, a major ninth eight).
    #[test]
    fn steps_agree_with_semitones() {
        let middle = notation::Pitch::new(notation::Step::C, 0, 4);
        let sounds = |id: &str| by_id(id).expect(id).transposition().sounding(middle).to_string();
        for (id, pitch) in [
            ("clarinet-bb", "Bb3"),
            ("clarinet-a", "A3"),
            ("clarinet-eb", "Eb4"),
            ("bass-clarinet", "Bb2"),
            ("alto-sax", "Eb3"),
            ("tenor-sax", "Bb2"),
            ("baritone-sax", "Eb2"),
            ("horn", "F3"),
            ("english-horn", "F3"),
            ("trumpet-bb", "Bb3"),
            ("double-bass", "C3"),
            ("piccolo", "C5"),
            ("bassoon", "C4"),
            ("guitar", "C3"),
        ] {
            assert_eq!(sounds(id), pitch, "{id}");
        }
    }
}

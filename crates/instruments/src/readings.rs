//! Which clefs are read in more than one way on this instrument? Old and new conventions side by side, undecided.

use crate::Instrument;
use crate::sources::{Cited, FLASHCARDS, MEMORY, ORCHESTRA_LIBRARY, PRACTICE, WIKI_BRASS, WIKI_TROMBONE, by};
use notation::{Clef, ClefSign};

/// One way of reading a clef.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Reading {
    /// Semitones from the written pitch to the sounding one.
    pub semitones: i8,
    /// The convention in words (`old notation: sounds a fourth higher than written`).
    pub says: &'static str,
    /// The convention's short name.
    pub name: &'static str,
    /// Where it was read.
    pub source: Cited,
}

const fn reading(semitones: i8, name: &'static str, says: &'static str, source: Cited) -> Reading {
    Reading {
        semitones,
        says,
        name,
        source,
    }
}

const BASS_CLARINET_BASS: &[Reading] = &[
    reading(
        -2,
        "a step lower",
        "sounds a major second lower than written, as bass-clef parts are mostly meant",
        by(ORCHESTRA_LIBRARY, "bass-clef parts: -2 instead of -14"),
    ),
    reading(
        -14,
        "a ninth lower",
        "sounds a major ninth lower than written, as in the treble clef",
        by(ORCHESTRA_LIBRARY, "treble-clef parts: -14"),
    ),
];

const HORN_BASS: &[Reading] = &[
    reading(
        -7,
        "new notation",
        "sounds a fifth lower than written, as in the treble clef",
        by(MEMORY, "modern notation keeps -7"),
    ),
    reading(
        5,
        "old notation",
        "sounds a fourth higher than written: the bass clef is written an octave low",
        by(MEMORY, "old notation is +5"),
    ),
];

const CELLO_TREBLE: &[Reading] = &[
    reading(
        0,
        "at pitch",
        "sounds as written",
        by(
            PRACTICE,
            "modern parts, and old ones where the treble clef follows a tenor clef",
        ),
    ),
    reading(
        -12,
        "old practice",
        "sounds an octave lower than written, as in old parts where the treble clef follows the bass clef",
        by(PRACTICE, ""),
    ),
];

const EUPHONIUM_TREBLE: &[Reading] = &[
    reading(
        -14,
        "transposing part",
        "sounds a major ninth lower than written: a part in B-flat",
        by(FLASHCARDS, "baritone treble clef: a major ninth lower"),
    ),
    reading(
        0,
        "at pitch",
        "sounds as written",
        by(WIKI_BRASS, "concert-pitch parts"),
    ),
];

const TROMBONE_TREBLE: &[Reading] = &[
    reading(
        -14,
        "transposing part",
        "sounds a major ninth lower than written, as in brass-band parts in B-flat",
        by(WIKI_TROMBONE, "brass band"),
    ),
    reading(0, "at pitch", "sounds as written", by(MEMORY, "")),
];

const TENOR_TREBLE: &[Reading] = &[
    reading(
        -12,
        "an octave lower",
        "sounds an octave lower than written, as tenors read a plain treble clef",
        by(PRACTICE, ""),
    ),
    reading(
        0,
        "at pitch",
        "sounds as written",
        by(PRACTICE, "some files state the sounding octave"),
    ),
];

/// The ways in which a clef of this sign is read on this instrument, the likelier first where nothing else is known;
/// empty where there is only one. An octave mark on the clef settles the matter.
#[must_use]
pub fn readings(instrument: &Instrument, clef: Clef) -> &'static [Reading] {
    if clef.octave_change != 0 {
        return &[];
    }
    match (instrument.id, clef.sign) {
        ("bass-clarinet", ClefSign::F) => BASS_CLARINET_BASS,
        ("horn", ClefSign::F) => HORN_BASS,
        ("cello", ClefSign::G) => CELLO_TREBLE,
        ("euphonium", ClefSign::G) => EUPHONIUM_TREBLE,
        ("trombone-tenor", ClefSign::G) => TROMBONE_TREBLE,
        ("voice-tenor", ClefSign::G) => TENOR_TREBLE,
        _ => &[],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::by_id;

    #[test]
    fn tenor_and_alto_clefs_of_the_trombone_are_not_a_question() {
        let trombone = by_id("trombone-tenor").expect("known");
        for line in [3, 4] {
            let clef = Clef {
                sign: ClefSign::C,
                line,
                octave_change: 0,
            };
            assert!(readings(trombone, clef).is_empty());
            assert!(trombone.habit_of(clef).is_some());
        }
        assert_eq!(readings(trombone, Clef::TREBLE).len(), 2);
    }

    #[test]
    fn an_octave_mark_settles_the_tenor() {
        let tenor = by_id("voice-tenor").expect("known");
        let marked = Clef {
            octave_change: -1,
            ..Clef::TREBLE
        };
        assert!(readings(tenor, marked).is_empty());
        assert_eq!(readings(tenor, Clef::TREBLE)[0].semitones, -12);
    }
}

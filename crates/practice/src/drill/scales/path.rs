//! Through which notes does a scale go? From the lowest tonic to the highest and back; then on to the ends of the range.
//!
//! Source: common practice of scale books ("full range" scales): begin on the lowest tonic, turn at the highest note of the
//! scale, go down to its lowest note, end on the tonic where it began.

use super::super::forms::{Chord, Form};
use notation::{Pitch, Rational, Step};

/// One way: notes that all go up or all go down. The last note of a leg is the first of the next and stands in the next only.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Leg {
    pub notes: Vec<Pitch>,
}

/// A scale or chord as legs and the note it ends on.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Path {
    pub legs: Vec<Leg>,
    pub last: Pitch,
}

impl Path {
    /// All notes in order.
    #[cfg(test)]
    pub fn notes(&self) -> Vec<Pitch> {
        let mut all: Vec<Pitch> = self
            .legs
            .iter()
            .flat_map(|leg| leg.notes.iter().copied())
            .collect();
        all.push(self.last);
        all
    }
}

/// The notes that a ladder of pitches has within a range, from the lowest.
fn within(range: (Pitch, Pitch), note: &dyn Fn(i32) -> Pitch) -> Vec<(i32, Pitch)> {
    (-90..90)
        .map(|index| (index, note(index)))
        .filter(|(_, pitch)| {
            pitch.semitones() >= range.0.semitones() && pitch.semitones() <= range.1.semitones()
        })
        .collect()
}

/// The ways that a scale or chord goes: tonic to tonic, and to the range's ends where that is farther. `up` and `down` give
/// the note of an index; every `octave`th is the tonic.
fn paths(
    range: (Pitch, Pitch),
    octave: i32,
    up: &dyn Fn(i32) -> Pitch,
    down: &dyn Fn(i32) -> Pitch,
) -> Vec<Path> {
    let rising = within(range, up);
    let is_tonic = |(index, _): &&(i32, Pitch)| index.rem_euclid(octave) == 0;
    let (Some(low), Some(high)) = (
        rising.iter().find(is_tonic).map(|(index, _)| *index),
        rising.iter().rev().find(is_tonic).map(|(index, _)| *index),
    ) else {
        return Vec::new();
    };
    // The turns at both ends belong to the way up; where the note under the top would be three semitones below it on the way
    // down only, as under the raised seventh of melodic minor, the turn is one note earlier.
    let bottom = rising.first().map_or(low, |(index, _)| *index);
    let top = rising.last().map_or(high, |(index, _)| *index);
    let under = |way: &dyn Fn(i32) -> Pitch| up(top).semitones() - way(top - 1).semitones();
    let top = if under(down) > under(up) && under(down) > Rational::whole(2) {
        top - 1
    } else {
        top
    };
    let tonic = up(low);
    let mut all = Vec::new();
    if high > low {
        all.push(Path {
            legs: vec![
                Leg {
                    notes: (low..high).map(up).collect(),
                },
                Leg {
                    notes: (low + 1..=high).rev().map(down).collect(),
                },
            ],
            last: tonic,
        });
    }
    let bottom = bottom.min(low);
    if top > high || bottom < low {
        let mut legs = vec![Leg {
            notes: (low..top).map(up).collect(),
        }];
        let mut way_down: Vec<Pitch> = vec![up(top)];
        way_down.extend((bottom + 1..top).rev().map(down));
        if bottom < low {
            legs.push(Leg { notes: way_down });
            legs.push(Leg {
                notes: (bottom..low).map(up).collect(),
            });
        } else {
            legs.push(Leg { notes: way_down });
        }
        legs.retain(|leg| !leg.notes.is_empty());
        all.push(Path { legs, last: tonic });
    }
    all
}

/// The tonic in the octave of middle C.
fn root(tonic: (Step, i8)) -> Pitch {
    Pitch::new(tonic.0, tonic.1, 4)
}

/// A scale over a range.
pub(crate) fn scale_path(form: Form, tonic: (Step, i8), range: (Pitch, Pitch)) -> Vec<Path> {
    let root = root(tonic);
    if form == Form::Chromatic {
        let up = |index: i32| semitone(root, index, true);
        let down = |index: i32| semitone(root, index, false);
        return paths(range, 12, &up, &down);
    }
    let up = |index: i32| form.note(root, index, true);
    let down = |index: i32| form.note(root, index, false);
    paths(range, 7, &up, &down)
}

/// A broken chord over a range.
pub(crate) fn chord_path(chord: Chord, on: (Step, i8), range: (Pitch, Pitch)) -> Vec<Path> {
    let root = root(on);
    let octave = i32::try_from(chord.notes().len()).unwrap_or(3);
    let note = |index: i32| chord.note(root, index);
    paths(range, octave, &note, &note)
}

/// The note so many semitones above a root: sharps going up, flats coming down, the root as it is spelled.
/// Source: common practice of scale books, which write it without a signature.
fn semitone(root: Pitch, index: i32, up: bool) -> Pitch {
    if index.rem_euclid(12) == 0 {
        let octaves = index.div_euclid(12);
        return root.transposed(7 * octaves, Rational::whole(i64::from(index)));
    }
    let target = root.semitones() + Rational::whole(i64::from(index));
    let alter = Rational::whole(if up { 1 } else { -1 });
    let letters = (root.diatonic() - 60)..(root.diatonic() + 60);
    let natural = |letter: i32| Pitch::new(Step::C, 0, 0).transposed(letter, Rational::ZERO);
    let plain = |letter: i32| Pitch {
        alter: Rational::ZERO,
        ..natural(letter)
    };
    let white = letters
        .clone()
        .map(plain)
        .find(|pitch| pitch.semitones() == target);
    let black = || {
        letters
            .clone()
            .map(plain)
            .find(|pitch| pitch.semitones() + alter == target)
    };
    white
        .or_else(|| black().map(|pitch| Pitch { alter, ..pitch }))
        .unwrap_or_else(|| root.transposed(0, Rational::whole(i64::from(index))))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(paths: &[Path]) -> Vec<String> {
        paths
            .iter()
            .map(|path| {
                path.notes()
                    .iter()
                    .map(ToString::to_string)
                    .collect::<Vec<_>>()
                    .join(" ")
            })
            .collect()
    }

    fn pitch(name: &str) -> Pitch {
        Pitch::parse(name).expect("a pitch")
    }

    #[test]
    fn a_scale_goes_from_tonic_to_tonic_and_then_to_the_ends_of_the_range() {
        let paths = scale_path(Form::Major, (Step::G, 0), (pitch("E4"), pitch("A5")));
        assert_eq!(
            said(&paths),
            [
                "G4 A4 B4 C5 D5 E5 F#5 G5 F#5 E5 D5 C5 B4 A4 G4",
                "G4 A4 B4 C5 D5 E5 F#5 G5 A5 G5 F#5 E5 D5 C5 B4 A4 G4 F#4 E4 F#4 G4"
            ]
        );
    }

    #[test]
    fn melodic_minor_comes_down_with_natural_notes() {
        let paths = scale_path(Form::MelodicMinor, (Step::A, 0), (pitch("A4"), pitch("A5")));
        assert_eq!(said(&paths), ["A4 B4 C5 D5 E5 F#5 G#5 A5 G5 F5 E5 D5 C5 B4 A4"]);
    }

    #[test]
    fn melodic_minor_turns_before_its_raised_seventh_and_on_its_raised_sixth() {
        let paths = scale_path(Form::MelodicMinor, (Step::A, 0), (pitch("F#4"), pitch("G#5")));
        assert_eq!(said(&paths), ["A4 B4 C5 D5 E5 F#5 E5 D5 C5 B4 A4 G4 F#4 G#4 A4"]);
    }

    #[test]
    fn a_chromatic_scale_has_sharps_up_and_flats_down() {
        let paths = scale_path(Form::Chromatic, (Step::C, 0), (pitch("C4"), pitch("C5")));
        assert_eq!(
            said(&paths),
            ["C4 C#4 D4 D#4 E4 F4 F#4 G4 G#4 A4 A#4 B4 C5 B4 Bb4 A4 Ab4 G4 Gb4 F4 E4 Eb4 D4 Db4 C4"]
        );
    }

    #[test]
    fn a_dominant_seventh_chord_turns_on_its_own_notes() {
        let paths = chord_path(Chord::DominantSeventh, (Step::G, 0), (pitch("G3"), pitch("B4")));
        assert_eq!(said(&paths)[0], "G3 B3 D4 F4 G4 F4 D4 B3 G3");
        assert_eq!(said(&paths)[1], "G3 B3 D4 F4 G4 B4 G4 F4 D4 B3 G3");
    }
}

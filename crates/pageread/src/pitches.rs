//! Which pitch does a head mean? Clef, key, the accidentals of the bar, ties over the bar line, ottavas.

use crate::vocabulary::CLEFS;
use notation::{Alter, Clef, ClefSign, KeySignature, Pitch, Rational, Step};
use std::collections::BTreeMap;

/// The clef of a name in the vocabulary; the treble clef for an unknown one.
pub(crate) fn clef_of(index: usize) -> Clef {
    let name = CLEFS.get(index).copied().unwrap_or("G2");
    let octave_change = match name.chars().nth(2) {
        Some('v') => -1,
        Some('^') => 1,
        _ => 0,
    };
    let sign = match name.chars().next() {
        Some('F') => ClefSign::F,
        Some('C') => ClefSign::C,
        Some('p') => ClefSign::Percussion,
        _ => ClefSign::G,
    };
    let line = name
        .chars()
        .nth(1)
        .and_then(|c| c.to_digit(10))
        .and_then(|n| i8::try_from(n).ok());
    Clef {
        sign,
        line: line.unwrap_or(2),
        octave_change,
    }
}

/// The sign printed for an answer about accidentals, and what it does.
pub(crate) fn accidental(answer: usize) -> Option<(&'static str, Alter)> {
    Some(match answer {
        1 => ("sharp", Rational::ONE),
        2 => ("flat", Rational::whole(-1)),
        3 => ("natural", Rational::ZERO),
        4 => ("double-sharp", Rational::whole(2)),
        5 => ("flat-flat", Rational::whole(-2)),
        _ => return None,
    })
}

/// Accidentals in force.
#[derive(Clone, Debug, Default)]
pub(crate) struct InForce {
    /// Of this bar, by letter and octave as a count of steps.
    bar: BTreeMap<i32, Alter>,
    /// Tied over, by the same count.
    tied: BTreeMap<i32, Alter>,
}

impl InForce {
    /// A new bar: its accidentals are forgotten, ties reach over.
    pub(crate) fn new_bar(&mut self) {
        self.bar.clear();
    }

    /// Ties that start at the event just read.
    pub(crate) fn tie(&mut self, from: impl IntoIterator<Item = (i32, Alter)>) {
        self.tied = from.into_iter().collect();
    }

    /// Steps to which a tie leads.
    pub(crate) fn tied_steps(&self) -> Vec<i32> {
        self.tied.keys().copied().collect()
    }

    /// True if a tie leads to this step.
    pub(crate) fn is_tied(&self, steps: i32) -> bool {
        self.tied.contains_key(&steps)
    }

    /// The alteration of a head: its own accidental, else the one tied over, else the bar's, else the key's.
    /// Source: common practice: an accidental holds for its line or space until the bar line; a tie carries it over.
    pub(crate) fn alter(&mut self, steps: i32, printed: Option<Alter>, key: &KeySignature) -> Alter {
        if let Some(alter) = printed {
            self.bar.insert(steps, alter);
            return alter;
        }
        if let Some(alter) = self.tied.get(&steps) {
            return *alter;
        }
        let letter = Step::from_index(steps);
        self.bar
            .get(&steps)
            .copied()
            .unwrap_or_else(|| key.alter_of(letter))
    }
}

/// Steps above C0 of a staff position under a clef; the treble clef's for one without pitch.
pub(crate) fn steps(clef: Clef, position: i32) -> i32 {
    let c0 = Pitch::new(Step::C, 0, 0);
    let clef = match clef.sign {
        ClefSign::G | ClefSign::F | ClefSign::C => clef,
        _ => Clef::TREBLE,
    };
    position - clef.staff_position(c0).unwrap_or(0)
}

/// The pitch of so many steps above C0.
pub(crate) fn pitch(steps: i32, alter: Alter, octaves: i8) -> Pitch {
    Pitch {
        step: Step::from_index(steps),
        alter,
        octave: i8::try_from(steps.div_euclid(7))
            .unwrap_or(4)
            .saturating_add(octaves),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn staff_positions_under_clefs() {
        let name = |clef: usize, position| pitch(steps(clef_of(clef), position), Rational::ZERO, 0);
        assert_eq!(name(0, 4), Pitch::new(Step::B, 0, 4));
        assert_eq!(name(1, 4), Pitch::new(Step::B, 0, 3));
        assert_eq!(name(4, 4), Pitch::new(Step::D, 0, 3));
        assert_eq!(name(10, 4), Pitch::new(Step::C, 0, 4));
        assert_eq!(name(11, 6), Pitch::new(Step::C, 0, 4));
    }

    #[test]
    fn an_accidental_holds_to_the_bar_line_and_a_tie_beyond() {
        let key = KeySignature::of_fifths(1);
        let mut force = InForce::default();
        let f5 = Pitch::new(Step::F, 0, 5).diatonic();
        assert_eq!(force.alter(f5, None, &key), Rational::ONE);
        assert_eq!(force.alter(f5, Some(Rational::ZERO), &key), Rational::ZERO);
        assert_eq!(force.alter(f5, None, &key), Rational::ZERO);
        force.tie([(f5, Rational::ZERO)]);
        force.new_bar();
        assert_eq!(force.alter(f5, None, &key), Rational::ZERO);
        force.tie([]);
        assert_eq!(force.alter(f5, None, &key), Rational::ONE);
    }
}

//! Which key signature would spare the most accidentals? Asked only where the file declares none.

use super::spelling::spell;
use notation::{Alter, KeySignature, Pitch};
use std::collections::BTreeMap;

/// A note for the count: the bar and part it stands in, and its key.
pub(super) type Placed = (usize, usize, u8);

/// The signature (−7 to 7) with which the notes, in order of time, need the fewest printed accidentals; of several the one
/// with the fewest sharps or flats.
pub(super) fn fewest_accidentals(notes: &[Placed]) -> i8 {
    let keys: Vec<u8> = notes.iter().map(|(.., key)| *key).collect();
    let printed = |fifths: i8| {
        let signature = vec![fifths; keys.len()];
        let pitches = spell(&keys, &signature);
        accidentals(notes, &pitches, fifths)
    };
    (-7..=7)
        .min_by_key(|fifths: &i8| (printed(*fifths), fifths.abs(), *fifths))
        .unwrap_or(0)
}

/// Accidentals that would be printed: one holds for its octave to the end of the bar (common practice).
fn accidentals(notes: &[Placed], pitches: &[Pitch], fifths: i8) -> usize {
    let signature = KeySignature::of_fifths(fifths);
    let mut in_force: BTreeMap<(usize, i32), (usize, Alter)> = BTreeMap::new();
    let mut count = 0;
    for ((bar, part, _), pitch) in notes.iter().zip(pitches) {
        let slot = (*part, pitch.diatonic());
        let alter = match in_force.get(&slot) {
            Some((of, alter)) if of == bar => *alter,
            _ => signature.alter_of(pitch.step),
        };
        if alter != pitch.alter {
            count += 1;
            in_force.insert(slot, (*bar, pitch.alter));
        }
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(names: &str) -> i8 {
        let notes: Vec<Placed> = names
            .split(' ')
            .enumerate()
            .map(|(at, name)| {
                let key = Pitch::parse(name).expect(name).key_number();
                (at / 4, 0, u8::try_from(key).expect(name))
            })
            .collect();
        fewest_accidentals(&notes)
    }

    #[test]
    fn the_signature_that_spares_accidentals() {
        assert_eq!(found("C4 D4 E4 F4 G4 A4 B4 C5"), 0);
        assert_eq!(found("D4 E4 F#4 G4 A4 B4 C#5 D5"), 2);
        assert_eq!(found("Eb4 F4 G4 Ab4 Bb4 C5 D5 Eb5"), -3);
    }
}

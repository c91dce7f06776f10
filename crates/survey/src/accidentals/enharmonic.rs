//! Which spellings sound like another letter? E♯ as F, C♭ as B, F𝄪 as G; and one sound spelled in two ways.
//!
//! The fingers of a wind player follow the sound; the eye follows the letter. Source: common practice; a bassoon
//! course (musicandthebassoon.org, unit 39) says it of C♭ in G♭ major and of E♯ in F♯ major.

use super::reading::Note;
use instruments::Family;
use notation::{Id, Pitch, Place, Rational, Step};
use std::collections::BTreeMap;

/// A spelling that sounds like another letter.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct EnharmonicNote {
    /// As written.
    pub written: Pitch,
    /// The plain name of what it sounds and is fingered like (in the part's own pitch).
    pub sounds_as: Pitch,
    /// True where the fingers follow the sound; false on strings, where the letter decides the finger, and for voices.
    pub fingered_alike: bool,
    /// True if the signature itself spells it so.
    pub in_signature: bool,
    /// Where it stands.
    pub at: Vec<(Place, Id)>,
}

impl EnharmonicNote {
    /// `E♯4 sounds and is fingered like F4`.
    #[must_use]
    pub fn says(&self) -> String {
        let alike = if self.fingered_alike {
            "sounds and is fingered like"
        } else {
            "sounds like"
        };
        format!("{} {alike} {}", self.written.sign(), self.sounds_as.sign())
    }
}

/// One sound in two spellings within a bar or over one bar line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Respelled {
    /// The first spelling.
    pub first: Pitch,
    /// The second spelling.
    pub second: Pitch,
    /// Where the first stands, the first time.
    pub first_at: (Place, Id),
    /// Where the second stands, the first time.
    pub second_at: (Place, Id),
    /// How often the pair comes.
    pub times: usize,
}

/// The plain name of a spelling that hides it; `None` for a spelling that says what it sounds (or a microtone).
///
/// Plain are the white keys by their letter and the black ones by one sharp or flat.
#[must_use]
pub fn plain_spelling(pitch: Pitch) -> Option<Pitch> {
    let alter = pitch.whole_alter()?;
    let hides = match (pitch.step, alter) {
        (_, 0) => false,
        (Step::E | Step::B, 1) | (Step::C | Step::F, -1) => true,
        (_, n) => n.abs() >= 2,
    };
    if !hides {
        return None;
    }
    let key = i64::from(pitch.key_number());
    let octave = i8::try_from(key.div_euclid(12) - 1).ok()?;
    let natural = Step::ALL
        .into_iter()
        .find(|step| i64::from(step.semitones()) == key.rem_euclid(12));
    if let Some(step) = natural {
        return Some(Pitch::new(step, 0, octave));
    }
    // A black key keeps the direction of the spelling: G♯ for E𝄪♯, E♭ for F♭♭.
    let sharp = alter > 0;
    let from = key + if sharp { -1 } else { 1 };
    let step = Step::ALL
        .into_iter()
        .find(|step| i64::from(step.semitones()) == from.rem_euclid(12))?;
    let plain = Pitch::new(step, if sharp { 1 } else { -1 }, octave);
    (plain.semitones() == Rational::whole(key)).then_some(plain)
}

/// Hidden spellings, one entry each, in order of first appearance.
pub(super) fn enharmonics(notes: &[Note], family: Option<Family>) -> Vec<EnharmonicNote> {
    let fingered_alike = !matches!(family, Some(Family::String | Family::Voice));
    let mut found: Vec<EnharmonicNote> = Vec::new();
    for note in notes.iter().filter(|note| note.own() && !note.tied) {
        let Some(sounds_as) = plain_spelling(note.pitch) else {
            continue;
        };
        let at = (note.event.place, note.event.id);
        match found.iter_mut().find(|n| n.written == note.pitch) {
            Some(known) => {
                known.at.push(at);
                known.in_signature &= !note.altered();
            }
            None => found.push(EnharmonicNote {
                written: note.pitch,
                sounds_as,
                fingered_alike,
                in_signature: !note.altered(),
                at: vec![at],
            }),
        }
    }
    found
}

/// Pairs of spellings of one sound, at most a bar line between them.
pub(super) fn respelled(notes: &[Note]) -> Vec<Respelled> {
    let mut last: BTreeMap<i32, (Pitch, (Place, Id))> = BTreeMap::new();
    let mut found: Vec<Respelled> = Vec::new();
    let whole = notes
        .iter()
        .filter(|note| note.own() && !note.tied && note.pitch.whole_alter().is_some());
    for note in whole {
        let here = (note.event.place, note.event.id);
        let Some((pitch, at)) = last.insert(note.pitch.key_number(), (note.pitch, here)) else {
            continue;
        };
        let near = at.0.bar == here.0.bar || at.0.bar.next() == here.0.bar;
        if pitch == note.pitch || !near {
            continue;
        }
        match found
            .iter_mut()
            .find(|r| r.first == pitch && r.second == note.pitch)
        {
            Some(known) => known.times += 1,
            None => found.push(Respelled {
                first: pitch,
                second: note.pitch,
                first_at: at,
                second_at: here,
                times: 1,
            }),
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Source: common practice (any theory primer); the list names the spellings that hide another letter.
    #[test]
    fn hidden_spellings_have_plain_names() {
        for (written, plain) in [
            ("E#4", "F4"),
            ("B#3", "C4"),
            ("Cb4", "B3"),
            ("Fb4", "E4"),
            ("F##4", "G4"),
            ("C##4", "D4"),
            ("G##4", "A4"),
            ("D##4", "E4"),
            ("B##3", "C#4"),
            ("E##4", "F#4"),
            ("A##3", "B3"),
            ("Bbb4", "A4"),
            ("Ebb4", "D4"),
            ("Abb4", "G4"),
            ("Dbb4", "C4"),
            ("Gbb4", "F4"),
            ("Cbb4", "Bb3"),
            ("Fbb4", "Eb4"),
        ] {
            let pitch = Pitch::parse(written).expect(written);
            assert_eq!(
                plain_spelling(pitch).expect(written).to_string(),
                plain,
                "{written}"
            );
        }
        for open in ["C4", "F#4", "Bb3", "E4", "Gb5"] {
            assert_eq!(plain_spelling(Pitch::parse(open).expect(open)), None, "{open}");
        }
    }

    proptest! {
        #[test]
        fn the_plain_name_sounds_the_same(step in 0i32..7, alter in -3i8..=3, octave in 0i8..8) {
            let pitch = Pitch::new(Step::from_index(step), alter, octave);
            if let Some(plain) = plain_spelling(pitch) {
                prop_assert_eq!(plain.semitones(), pitch.semitones());
                prop_assert_eq!(plain_spelling(plain), None);
            }
        }
    }
}

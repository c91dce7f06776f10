//! In which key, and which notes does it have? Major, and minor with its raised sixth and seventh.

use notation::{KeySignature, Pitch, Step};

/// A key as it is written.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Key {
    /// The signature, in sharps; flats are negative.
    pub fifths: i8,
    /// True for minor.
    pub minor: bool,
}

impl Key {
    /// A major key by its signature.
    #[must_use]
    pub const fn major(fifths: i8) -> Self {
        Self { fifths, minor: false }
    }

    /// A minor key by its signature.
    #[must_use]
    pub const fn minor(fifths: i8) -> Self {
        Self { fifths, minor: true }
    }

    /// The key of a tonic; `None` if its signature would have more than seven sharps or flats.
    #[must_use]
    pub fn of(tonic: (Step, i8), minor: bool) -> Option<Self> {
        let line = tonic.0.fifths() + 7 * i32::from(tonic.1) - if minor { 3 } else { 0 };
        let fifths = i8::try_from(line).ok().filter(|fifths| fifths.abs() <= 7)?;
        Some(Self { fifths, minor })
    }

    /// The key as a musician writes it: `Bb`, `B♭ major`, `f# minor`, `d` (a small letter alone is minor), `Dm`.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let plain = text.trim().replace('♭', "b").replace('♯', "#");
        let letter = plain.chars().next()?;
        let step = Step::from_letter(letter)?;
        let rest = plain.get(1..)?;
        let signs = rest.len() - rest.trim_start_matches(['b', '#']).len();
        let (signs, mode) = rest.split_at(signs);
        let alter: i8 = signs.chars().map(|sign| if sign == '#' { 1 } else { -1 }).sum();
        let minor = match mode.trim_start_matches([' ', '-']).to_lowercase().as_str() {
            "" => letter.is_ascii_lowercase(),
            "major" | "maj" | "dur" => false,
            "minor" | "min" | "m" | "moll" => true,
            _ => return None,
        };
        Self::of((step, alter), minor)
    }

    /// The tonic: letter and semitones of alteration.
    #[must_use]
    pub fn tonic(self) -> (Step, i8) {
        let line = i32::from(self.fifths) + if self.minor { 3 } else { 0 } + 1;
        const LETTERS: [Step; 7] = [Step::F, Step::C, Step::G, Step::D, Step::A, Step::E, Step::B];
        let letter = usize::try_from(line.rem_euclid(7)).unwrap_or(0);
        let alter = i8::try_from(line.div_euclid(7)).unwrap_or(0);
        (LETTERS.get(letter).copied().unwrap_or(Step::C), alter)
    }

    /// `B♭ major`.
    #[must_use]
    pub fn name(self) -> String {
        let (step, alter) = self.tonic();
        let mode = if self.minor { "minor" } else { "major" };
        format!("{} {mode}", Pitch::new(step, alter, 4).class_sign())
    }

    /// The signature.
    #[must_use]
    pub fn signature(self) -> KeySignature {
        KeySignature::of_fifths(self.fifths)
    }
}

/// A note that the line may take.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Tone {
    pub(super) pitch: Pitch,
    /// Steps of the staff, whatever the signs.
    pub(super) diatonic: i32,
    /// The key on a keyboard.
    pub(super) number: i32,
    /// Degree of the scale, the tonic being 0.
    pub(super) degree: i32,
    /// Raised from the signature: leading note and sixth in minor, the fourth before a dominant.
    pub(super) raised: bool,
}

/// Every note of a key from one to another, from below.
pub(super) fn tones(key: Key, low: Pitch, high: Pitch, chromatic: bool) -> Vec<Tone> {
    let signature = key.signature();
    let tonic = key.tonic().0.index();
    let mut tones = Vec::new();
    for diatonic in low.diatonic() - 1..=high.diatonic() + 1 {
        let step = Step::from_index(diatonic);
        let Ok(octave) = i8::try_from(diatonic.div_euclid(7)) else {
            continue;
        };
        let natural = i8::try_from(signature.alter_of(step).floor()).unwrap_or(0);
        let degree = (diatonic - tonic).rem_euclid(7);
        let raisable = key.minor && (degree == 5 || degree == 6) || chromatic && degree == 3;
        for raised in [false, true] {
            if raised && !raisable {
                continue;
            }
            let pitch = Pitch::new(step, natural + i8::from(raised), octave);
            let number = pitch.key_number();
            if number >= low.key_number() && number <= high.key_number() {
                tones.push(Tone {
                    pitch,
                    diatonic,
                    number,
                    degree,
                    raised,
                });
            }
        }
    }
    tones.sort_by_key(|tone| (tone.number, tone.diatonic));
    tones
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_understood_and_named() {
        let named = |text: &str| Key::parse(text).map(Key::name);
        assert_eq!(named("Bb").as_deref(), Some("B♭ major"));
        assert_eq!(named("f# minor").as_deref(), Some("F♯ minor"));
        assert_eq!(named("d").as_deref(), Some("D minor"));
        assert_eq!(named("E♭ major").as_deref(), Some("E♭ major"));
        assert_eq!(named("H"), None);
        assert_eq!(named("G# major"), None, "eight sharps");
        assert_eq!(Key::parse("c").map(|key| key.fifths), Some(-3));
    }

    #[test]
    fn minor_has_two_forms_of_its_sixth_and_seventh() {
        let ends = Pitch::parse("D4").zip(Pitch::parse("D5")).expect("pitches");
        let names: Vec<String> = tones(Key::minor(-1), ends.0, ends.1, false)
            .iter()
            .map(|tone| tone.pitch.to_string())
            .collect();
        assert_eq!(
            names,
            ["D4", "E4", "F4", "G4", "A4", "Bb4", "B4", "C5", "C#5", "D5"]
        );
    }
}

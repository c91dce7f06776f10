//! Which key is meant? Signatures by their list of alterations, and the designation of tonic and mode beside them.
//!
//! Source: Humdrum reference, tandem interpretations: `*k[f#c#]`, `*c#:`; modes (`*D:dor`) by common usage.

use notation::{Alter, KeySignature, Rational, Step};

/// A signature from what stands between the brackets of `*k[…]`; `None` if it is none.
pub(super) fn signature(inside: &str) -> Option<KeySignature> {
    let mut listed: Vec<(Step, Alter)> = Vec::new();
    let mut rest = inside;
    while let Some(letter) = rest.chars().next() {
        let step = Step::from_letter(letter)?;
        rest = &rest[1..];
        let sign = rest.chars().next().filter(|c| matches!(c, '#' | '-' | 'n'))?;
        let count = rest.chars().take_while(|c| *c == sign).count();
        rest = &rest[count..];
        let size = i64::try_from(count).ok().filter(|n| *n <= 4)?;
        let alter = match sign {
            '#' => size,
            '-' => -size,
            _ => 0,
        };
        if listed.len() >= 14 {
            return None;
        }
        listed.push((step, Rational::whole(alter)));
    }
    let usual = (-14_i8..=14).find(|fifths| {
        let altered = KeySignature::of_fifths(*fifths).altered();
        altered.len() == listed.len() && altered.iter().all(|one| listed.contains(one))
    });
    Some(match usual {
        Some(fifths) => KeySignature::of_fifths(fifths),
        None => KeySignature {
            fifths: None,
            listed,
            declared_mode: None,
        },
    })
}

/// The signature as it is written for a transposing part.
pub(super) fn transposed(key: KeySignature, diatonic: i32, chromatic: Rational) -> KeySignature {
    if diatonic == 0 && chromatic.is_zero() {
        return key;
    }
    let moved = |step: Step, alter: Alter| {
        let pitch = notation::Pitch {
            step,
            alter,
            octave: 4,
        };
        let moved = pitch.transposed(diatonic, chromatic);
        (moved.step, moved.alter)
    };
    match key.fifths {
        Some(fifths) => {
            // A fifth up is seven semitones and four letters: both together give the place on the line of fifths.
            let (step, alter) = moved(Step::C, Rational::ZERO);
            let by = step.fifths() + 7 * i32::try_from(alter.floor()).unwrap_or(0);
            let sum = i8::try_from(i32::from(fifths) + by).ok();
            KeySignature {
                fifths: sum.or(Some(fifths)),
                ..key
            }
        }
        None => KeySignature {
            listed: key
                .listed
                .iter()
                .map(|(step, alter)| moved(*step, *alter))
                .collect(),
            ..key
        },
    }
}

/// A designation: tonic and mode.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Designation {
    pub tonic: Step,
    pub alter: i8,
    /// The mode by its name in MusicXML.
    pub mode: &'static str,
}

/// Reads `c#:`, `E-:`, `D:dor` (the asterisk taken off); `None` if it is no designation.
pub(super) fn designation(text: &str) -> Option<Designation> {
    let (tonic, mode) = text.split_once(':')?;
    let mut signs = tonic.chars();
    let letter = signs.next()?;
    let step = Step::from_letter(letter)?;
    let alter: i8 = match signs.as_str() {
        "" | "n" => 0,
        "#" => 1,
        "-" => -1,
        "##" => 2,
        "--" => -2,
        _ => return None,
    };
    let mode = match mode {
        "" if letter.is_ascii_lowercase() => "minor",
        "" => "major",
        "ion" => "ionian",
        "dor" => "dorian",
        "phr" => "phrygian",
        "lyd" => "lydian",
        "mix" => "mixolydian",
        "aeo" => "aeolian",
        "loc" => "locrian",
        _ => return None,
    };
    Some(Designation {
        tonic: step,
        alter,
        mode,
    })
}

impl Designation {
    /// The usual signature of the key.
    pub(super) fn usual(self) -> Option<KeySignature> {
        let down = match self.mode {
            "lydian" => -1,
            "major" | "ionian" => 0,
            "mixolydian" => 1,
            "dorian" => 2,
            "minor" | "aeolian" => 3,
            "phrygian" => 4,
            _ => 5,
        };
        let fifths = self.tonic.fifths() + 7 * i32::from(self.alter) - down;
        i8::try_from(fifths).ok().map(KeySignature::of_fifths)
    }

    /// As it is said: `C# minor`.
    pub(super) fn name(self) -> String {
        let alter = notation::alter_sign(Rational::whole(i64::from(self.alter)));
        format!("{}{alter} {}", self.tonic.letter(), self.mode)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Humdrum reference, tandem interpretations for `**kern`.
    #[test]
    fn signatures() {
        let fifths = |text| signature(text).and_then(|key| key.fifths);
        assert_eq!(fifths(""), Some(0));
        assert_eq!(fifths("f#c#g#"), Some(3));
        assert_eq!(fifths("b-e-a-d-g-c-f-"), Some(-7));
        assert_eq!(fifths("f##c#g#d#a#e#b#"), Some(8));
        let odd = signature("f#b-").expect("a signature");
        assert_eq!(
            (odd.fifths, odd.name().as_str()),
            (None, "F♯ B♭ (non-traditional)")
        );
        assert_eq!(signature("f#x"), None);
        assert_eq!(signature("♯"), None);
    }

    #[test]
    fn designations_and_their_usual_signatures() {
        let usual = |text| designation(text).and_then(|d| d.usual()?.fifths);
        assert_eq!(usual("C:"), Some(0));
        assert_eq!(usual("c#:"), Some(4));
        assert_eq!(usual("E-:"), Some(-3));
        assert_eq!(usual("D:dor"), Some(0));
        assert_eq!(usual("e:phr"), Some(0));
        assert_eq!(usual("F:lyd"), Some(0));
        assert_eq!(designation("?:X"), None);
        assert_eq!(designation("C:xyz"), None);
        assert_eq!(
            designation("c#:").map(Designation::name).as_deref(),
            Some("C♯ minor")
        );
    }

    /// Source: common practice: a clarinet in B flat reads two sharps more, one in A three flats more.
    #[test]
    fn signatures_as_written_for_transposing_instruments() {
        let written = |fifths, diatonic, chromatic| {
            transposed(
                KeySignature::of_fifths(fifths),
                diatonic,
                Rational::whole(chromatic),
            )
            .fifths
        };
        assert_eq!(written(-2, 1, 2), Some(0));
        assert_eq!(written(3, 2, 3), Some(0));
        assert_eq!(written(0, 4, 7), Some(1));
        assert_eq!(written(0, 5, 9), Some(3));
    }
}

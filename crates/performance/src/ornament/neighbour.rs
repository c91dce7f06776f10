//! Which note lies next to this one, above or below? By sign, accidental, local key, signature, in that order.

use super::surroundings::Surroundings;
use notation::{Alter, KeyRegion, KeySignature, Pitch, Rational, Step};

/// From this certainty on, the local key decides before the signature. Our choice; below it the key is only shown.
pub const CERTAIN: f64 = 0.75;

/// The key of a passage, as found elsewhere.
#[derive(Clone, PartialEq, Debug)]
pub struct LocalKey {
    /// The tonic as written: letter and semitones.
    pub tonic: (Step, i8),
    /// `major`, `minor` or a church mode by its name.
    pub mode: String,
    /// Probability from 0 to 1.
    pub certainty: f64,
}

impl From<&KeyRegion> for LocalKey {
    fn from(region: &KeyRegion) -> Self {
        Self {
            tonic: region.tonic,
            mode: region.mode.clone(),
            certainty: region.certainty,
        }
    }
}

impl LocalKey {
    /// The signature that belongs to the key: minor as natural minor, church modes by their scale; `None` for a mode
    /// that is not known.
    #[must_use]
    pub fn signature(&self) -> Option<KeySignature> {
        // Fifths from the major key on the same tonic. Source: common practice.
        let offset = match self.mode.to_lowercase().as_str() {
            "lydian" => 1,
            "major" | "ionian" => 0,
            "mixolydian" => -1,
            "dorian" => -2,
            "minor" | "aeolian" => -3,
            "phrygian" => -4,
            "locrian" => -5,
            _ => return None,
        };
        let fifths = Pitch::new(self.tonic.0, self.tonic.1, 4).fifths() + offset;
        i8::try_from(fifths).ok().map(KeySignature::of_fifths)
    }

    /// `G major`, `B♭ minor`.
    #[must_use]
    pub fn name(&self) -> String {
        format!(
            "{} {}",
            Pitch::new(self.tonic.0, self.tonic.1, 4).class_sign(),
            self.mode
        )
    }

    /// The pitch on a letter next to `main` in this key. In minor the sixth and seventh degrees follow the main note:
    /// up from a raised sixth comes the raised seventh, down from the raised seventh the raised sixth, below the tonic
    /// the leading note. Source: common practice (melodic minor).
    fn pitch_beside(&self, main: Pitch, step: Step, octave: i8, upward: bool) -> Option<Pitch> {
        let natural = self.signature()?;
        let plain = Pitch {
            step,
            alter: natural.alter_of(step),
            octave,
        };
        if self.mode.to_lowercase() != "minor" {
            return Some(plain);
        }
        let degree = (step.index() - self.tonic.0.index()).rem_euclid(7) + 1;
        let main_raised = main.alter > natural.alter_of(main.step);
        let raise = match (degree, upward) {
            (7, true) | (6, false) => main_raised,
            // Below the tonic the leading note.
            (7, false) => true,
            _ => false,
        };
        Some(if raise {
            Pitch {
                alter: plain.alter + Rational::ONE,
                ..plain
            }
        } else {
            plain
        })
    }
}

/// Why a neighbour is what it is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Reason {
    /// A sign stands at the ornament.
    Sign,
    /// An accidental is live in the bar, in this octave.
    Accidental,
    /// The key of the passage.
    LocalKey,
    /// The signature.
    Signature,
    /// None of them gives a second: the nearest that does.
    Adjusted,
}

impl Reason {
    /// The reason in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Sign => "by the sign at the ornament",
            Self::Accidental => "by the accidental earlier in the bar",
            Self::LocalKey => "by the key of the passage",
            Self::Signature => "by the key signature",
            Self::Adjusted => "moved to make a second",
        }
    }
}

/// The note above or below, and what else it might be.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Neighbour {
    /// The note.
    pub pitch: Pitch,
    /// Why.
    pub reason: Reason,
    /// Other readings of the page, each with its reason; empty where everything agrees.
    pub others: Vec<(Pitch, Reason)>,
}

/// The note next to `main`, above if `upward`. `sign` is the alteration printed at the ornament for it.
///
/// Source: Grove's Dictionary (1900), vol. 4, p. 437: the upper note of a shake is "the next degree of the scale" of the
/// key in force, after a modulation too, and an accidental over the sign changes it.
#[must_use]
pub fn neighbour(main: Pitch, upward: bool, sign: Option<Alter>, around: &Surroundings) -> Neighbour {
    let beside = main.transposed(if upward { 1 } else { -1 }, Rational::ZERO);
    let (step, octave) = (beside.step, beside.octave);
    let mut found: Vec<(Pitch, Reason)> = Vec::new();
    if let Some(alter) = sign {
        found.push((Pitch { step, alter, octave }, Reason::Sign));
    }
    if let Some(pitch) = around.by_accidental(step, octave) {
        found.push((pitch, Reason::Accidental));
    }
    let local = around.local.as_ref();
    let by_key = local.and_then(|key| {
        key.pitch_beside(main, step, octave, upward)
            .map(|pitch| (key, pitch))
    });
    let signature = (around.by_signature(step, octave), Reason::Signature);
    match by_key {
        Some((key, pitch)) if key.certainty >= CERTAIN => {
            found.extend([(pitch, Reason::LocalKey), signature])
        }
        Some((_, pitch)) => found.extend([signature, (pitch, Reason::LocalKey)]),
        None => found.push(signature),
    }
    // A sign is obeyed whatever it gives; all else must make a second.
    let fits = |(pitch, reason): &&(Pitch, Reason)| *reason == Reason::Sign || is_second(main, *pitch);
    let Some((pitch, reason)) = found.iter().find(fits).copied() else {
        return Neighbour {
            pitch: adjusted(main, beside),
            reason: Reason::Adjusted,
            others: vec![],
        };
    };
    let mut others: Vec<(Pitch, Reason)> = Vec::new();
    if reason != Reason::Sign && reason != Reason::Accidental {
        for (other, why) in found {
            let new = other != pitch && others.iter().all(|(known, _)| *known != other);
            if new && is_second(main, other) {
                others.push((other, why));
            }
        }
    }
    Neighbour {
        pitch,
        reason,
        others,
    }
}

/// A minor or major second apart (microtones between them included).
fn is_second(main: Pitch, other: Pitch) -> bool {
    let apart = (other.semitones() - main.semitones()).abs();
    let right_way = (other.semitones() > main.semitones()) == (other.diatonic() > main.diatonic());
    right_way && apart >= Rational::ONE && apart <= Rational::whole(2)
}

/// The alteration of a letter that makes it a second: a major one, for want of anything better.
fn adjusted(main: Pitch, beside: Pitch) -> Pitch {
    let up = beside.diatonic() > main.diatonic();
    let target = main.semitones() + Rational::whole(if up { 2 } else { -2 });
    let natural = Pitch {
        alter: Rational::ZERO,
        ..beside
    };
    Pitch {
        alter: target - natural.semitones(),
        ..beside
    }
}

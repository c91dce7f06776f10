//! What is in force where an ornament stands? The signature and the accidentals live in its bar, octave by octave.

use super::neighbour::LocalKey;
use notation::{Alter, Event, KeySignature, Part, Pitch, Place, Rational, Step};
use std::collections::BTreeMap;

/// What decides an ornament's notes, at one place on one staff.
#[derive(Clone, Debug, Default)]
pub struct Surroundings {
    /// The signature in force.
    pub signature: KeySignature,
    /// Accidentals live in the bar: octave and letter, with the alteration in semitones.
    pub live: BTreeMap<(i8, Step), Alter>,
    /// The key of the passage, if it has been found.
    pub local: Option<LocalKey>,
}

impl Surroundings {
    /// What is in force at an event: accidentals printed (or sounding against the signature) earlier in its bar, on
    /// its staff, each in its own octave. A note tied over the bar line carries its accidental for itself alone.
    #[must_use]
    pub fn at(part: &Part, event: &Event, local: Option<LocalKey>) -> Self {
        let start = Place::start_of(event.place.bar);
        let mut signature = part.key_at(event.staff, event.place).cloned().unwrap_or_default();
        let mut live = BTreeMap::new();
        for earlier in part.bar_events(event.place.bar) {
            if earlier.id == event.id {
                break;
            }
            // A new signature in mid-bar ends what was live before it.
            let here = part
                .key_at(event.staff, earlier.place.max(start))
                .cloned()
                .unwrap_or_default();
            if here != signature && earlier.place < event.place {
                continue;
            }
            for head in earlier.heads().iter().filter(|head| head.staff == event.staff) {
                let Some(pitch) = head.pitch() else { continue };
                let printed = head.accidental.is_some();
                let altered = pitch.alter != signature.alter_of(pitch.step) && !head.tie_stop;
                let slot = (pitch.octave, pitch.step);
                if printed || altered {
                    live.insert(slot, pitch.alter);
                }
            }
        }
        // The ornamented note's own accidental.
        for pitch in event.pitches() {
            live.insert((pitch.octave, pitch.step), pitch.alter);
        }
        if signature.fifths.is_none() && signature.listed.is_empty() {
            signature.fifths = Some(0);
        }
        Self {
            signature,
            live,
            local,
        }
    }

    /// The pitch on a letter in an octave, by the signature alone.
    #[must_use]
    pub fn by_signature(&self, step: Step, octave: i8) -> Pitch {
        Pitch {
            step,
            alter: self.signature.alter_of(step),
            octave,
        }
    }

    /// The pitch live on a letter in an octave in this bar, if an accidental was printed for it.
    #[must_use]
    pub fn by_accidental(&self, step: Step, octave: i8) -> Option<Pitch> {
        self.live.get(&(octave, step)).map(|alter| Pitch {
            step,
            alter: *alter,
            octave,
        })
    }
}

/// The alteration that an accidental's name prints; `None` for signs that print no usual one.
/// Source: MusicXML 4.0, accidental-value.
pub(super) fn alter_of_sign(sign: &str) -> Option<Alter> {
    let semitones = match sign {
        "sharp" | "natural-sharp" => 1,
        "flat" | "natural-flat" => -1,
        "natural" => 0,
        "double-sharp" | "sharp-sharp" => 2,
        "flat-flat" | "double-flat" => -2,
        _ => return None,
    };
    Some(Rational::whole(semitones))
}

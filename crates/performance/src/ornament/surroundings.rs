//! What is in force where an ornament stands? The signature and the accidentals live in its bar, octave by octave.

use super::neighbour::LocalKey;
use notation::{Alter, BarIndex, Event, KeySignature, Part, Pitch, Place, Rational, Step};
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

/// Accidentals of one bar, gathered note by note: feed it the events of a part in order.
#[derive(Clone, Debug, Default)]
pub struct LiveAccidentals {
    bar: BarIndex,
    /// By staff: the signature's place, and what is live under it.
    staves: BTreeMap<u8, Staff>,
}

#[derive(Clone, Debug, Default)]
struct Staff {
    signature: KeySignature,
    live: BTreeMap<(i8, Step), Alter>,
}

impl LiveAccidentals {
    /// Takes in an event. Accidentals printed, or sounding against the signature, hold from here on, each in its own
    /// octave and bar; a note tied over the bar line carries its accidental for itself alone.
    pub fn hear(&mut self, part: &Part, event: &Event) {
        if event.place.bar != self.bar {
            self.bar = event.place.bar;
            self.staves.clear();
        }
        for head in event.heads() {
            let Some(pitch) = head.pitch() else { continue };
            let staff = self.staff(part, head.staff, event.place);
            let altered = pitch.alter != staff.signature.alter_of(pitch.step) && !head.tie_stop;
            if head.accidental.is_some() || altered {
                staff.live.insert((pitch.octave, pitch.step), pitch.alter);
            }
        }
    }

    /// What is in force at an event, before it is taken in.
    #[must_use]
    pub fn around(&self, part: &Part, event: &Event, local: Option<LocalKey>) -> Surroundings {
        let mut now = self.clone_for(event);
        let staff = now.staff(part, event.staff, event.place);
        let (signature, mut live) = (staff.signature.clone(), std::mem::take(&mut staff.live));
        // The ornamented note's own accidental.
        live.extend(
            event
                .pitches()
                .map(|pitch| ((pitch.octave, pitch.step), pitch.alter)),
        );
        Surroundings {
            signature,
            live,
            local,
        }
    }

    fn clone_for(&self, event: &Event) -> Self {
        if event.place.bar == self.bar {
            self.clone()
        } else {
            Self {
                bar: event.place.bar,
                staves: BTreeMap::new(),
            }
        }
    }

    /// A staff's state; a new signature in mid-bar ends what was live under the old one.
    fn staff(&mut self, part: &Part, staff: u8, place: Place) -> &mut Staff {
        let state = self.staves.entry(staff).or_default();
        let signature = part.key_at(staff, place);
        let known = &state.signature;
        let plain = || known.fifths == Some(0) && known.listed.is_empty();
        if !signature.map_or_else(plain, |signature| signature == known) {
            state.live.clear();
            state.signature = signature.cloned().unwrap_or_else(|| KeySignature::of_fifths(0));
        }
        state
    }
}

impl Surroundings {
    /// What is in force at an event of a part: see [`LiveAccidentals`], which is quicker for many events in a row.
    #[must_use]
    pub fn at(part: &Part, event: &Event, local: Option<LocalKey>) -> Self {
        let mut live = LiveAccidentals::default();
        for earlier in part.bar_events(event.place.bar) {
            if earlier.id == event.id {
                break;
            }
            live.hear(part, earlier);
        }
        live.around(part, event, local)
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

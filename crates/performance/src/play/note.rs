//! What is one played note? When, how long, how high, how loud, how begun, and where it stands on the page.

use notation::{Id, Pitch, Place, Quarters, Rational};

/// One note as it is played.
#[derive(Clone, PartialEq, Debug)]
pub struct PlayedNote {
    /// When it begins, in quarter notes from the beginning of the performance.
    pub onset: Quarters,
    /// How long it sounds, in quarter notes.
    pub length: Quarters,
    /// How long its written time is (ties joined, small notes taken off), in quarter notes.
    pub held: Quarters,
    /// What sounds, in semitones by MIDI's numbers (A4 = 69), exact for microtones; `None` without definite pitch.
    pub pitch: Option<Rational>,
    /// The pitch as written for the part.
    pub written: Option<Pitch>,
    /// The event it comes from.
    pub event: Id,
    /// Where that stands on the page.
    pub place: Place,
    /// The slot of the performance in which it begins, as an index.
    pub slot: usize,
    /// The voice, as an index into the part's voices.
    pub voice: u16,
    /// What it is.
    pub role: Role,
    /// How it begins.
    pub attack: Attack,
    /// The next note follows without a gap and without a new attack.
    pub joined_on: bool,
    /// Decibels by which its beginning stands out.
    pub accent: f64,
    /// Loudness over its length: quarter notes from its onset, decibels from mf; at least one point.
    pub loudness: Vec<(Quarters, f64)>,
}

impl PlayedNote {
    /// When it stops sounding.
    #[must_use]
    pub fn end(&self) -> Quarters {
        self.onset + self.length
    }
}

/// What a played note is on the page.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Role {
    /// A written note.
    Written,
    /// A grace note.
    Grace,
    /// A note of an ornament or tremolo.
    Ornament,
}

/// How a note begins.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Attack {
    /// Tongued, or with a new bow.
    Plain,
    /// Begun softly, as under a slur with dots.
    Soft,
    /// Begun crisply, as a staccato note.
    Crisp,
    /// Begun strongly (accent, marcato, sforzato).
    Strong,
    /// Slurred to: no new attack.
    Joined,
}

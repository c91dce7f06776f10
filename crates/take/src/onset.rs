//! Where does a tone begin? By its pitch under a slur, by its level and colour when it is tongued.

use crate::track::Track;

/// What a beginning was heard by; several at once are the rule.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct OnsetBy {
    /// Another pitch than before.
    pub pitch: bool,
    /// A rise of the level.
    pub energy: bool,
    /// New or stronger partials.
    pub flux: bool,
}

/// The beginning of a tone.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Onset {
    /// Seconds from the recording's beginning.
    pub secs: f64,
    /// How plainly it is heard, from 0 to 1.
    pub strength: f32,
    /// What it was heard by.
    pub by: OnsetBy,
    /// The key number (A4 = 440 Hz = 69) that the tone settles on; `None` without definite pitch.
    pub key: Option<f64>,
}

/// Where tones begin, in order of time.
#[must_use]
pub fn onsets(track: &Track) -> Vec<Onset> {
    let _ = track;
    Vec::new()
}

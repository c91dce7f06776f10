//! What pitch, how loud, what changes? A recording followed frame by frame.

use crate::ear::Ear;
use crate::numbers::{count, real};
use crate::recording::Recording;
use crate::track::Track;

/// Seconds from frame to frame, nearly: a whole number of samples.
const HOP_SECS: f64 = 0.005;

/// A recording as it is heard by an ear.
#[must_use]
pub fn listen(recording: &Recording, ear: &Ear) -> Track {
    let ear = ear.bounded();
    let rate = f64::from(recording.rate.max(1));
    let hop = count(HOP_SECS * rate).max(1);
    Track {
        hop_secs: real(hop) / rate,
        a4: ear.a4.unwrap_or(440.0),
        ..Track::default()
    }
}

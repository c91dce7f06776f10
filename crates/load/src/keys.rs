//! Which key of the keyboard is a pitch, whatever nonsense a file says? Within bounds that sums can't leave.

use notation::Pitch;

/// The key number, held between limits far beyond any instrument.
pub(crate) fn key_of(pitch: Pitch) -> i32 {
    pitch.key_number().clamp(-256, 512)
}

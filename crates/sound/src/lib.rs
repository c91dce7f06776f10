//! How does it sound? Our own tone or a SoundFont, click and drone, brought to one loudness, as samples, WAV, FLAC or MIDI file.
//!
//! [`perform`](performance::play::perform) says what is played when; a [`SoundRequest`] says what is to be heard of it; a
//! [`Sound`] gives samples block by block, or a file. Pitch is exact: a phase of 64 bits is stepped through a table that
//! holds only partials under half the sample rate.
//!
//! What it does *not* do: touch a sound card, a disk or a clock; decide how a note is played.
//!
//! ```
//! use performance::play::{PlayOptions, perform};
//! use sound::{Sound, SoundRequest, Sounder, Timbre, write_wav};
//! let piece = notation::sketch("metre:4/4 mm:q=120 C5/q D5/q E5/h |").unwrap();
//! let played = perform(&piece, 0, &PlayOptions::default()).unwrap();
//! let (request, sounder) = (SoundRequest::default(), Sounder::Own(Timbre::of(None)));
//! let sound = Sound::measured(&played, &request, &sounder).unwrap();
//! let mut file = Vec::new();
//! write_wav(&sound, request.rate.get(), &mut file).unwrap();
//! assert!(file.len() > 2 * 44_100 * 2);
//! ```

mod caution;
mod click;
mod flac;
mod limiter;
mod midi;
mod numbers;
mod player;
mod request;
mod soundfont;
mod stream;
mod table;
mod timbre;
mod tones;
mod voice;
mod wav;

pub use caution::{Reminder, hours_at, reminder};
pub use click::{ClickAt, ClickKind, clicks};
pub use flac::write_flac;
pub use midi::{PER_QUARTER, write_midi};
pub use performance::play::just_cents;
pub use player::Player;
pub use request::{Click, ConcertPitch, Drone, DroneTonic, SampleRate, SoundRequest, Subdivision, Tuning};
pub use soundfont::Font;
pub use stream::{Sound, Sounder, Stream};
pub use timbre::Timbre;
pub use tones::{hertz, note_hertz};
pub use wav::write_wav;

/// Why nothing can be heard.
#[derive(Debug, thiserror::Error)]
pub enum SoundError {
    /// The bytes given are no SoundFont that can be played.
    #[error("the SoundFont cannot be played: {0}")]
    Font(String),
    /// More samples than the file can say.
    #[error("it is longer than the file can hold: choose fewer bars or rounds")]
    TooLong,
    /// The writer failed.
    #[error("the file cannot be written: {0}")]
    Write(#[from] std::io::Error),
    /// The loudness cannot be measured.
    #[error("the loudness cannot be measured: {0}")]
    Meter(#[from] ebur128::Error),
}

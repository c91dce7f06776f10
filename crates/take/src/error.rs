//! Why can nothing be heard in a recording?

/// Nothing usable came out of the bytes given.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum TakeError {
    /// No known kind of sound file.
    #[error(
        "{name} is no sound file that can be read (WAV, FLAC, MP3, Ogg Vorbis or M4A): save the recording as one of these"
    )]
    Unknown {
        /// The file, as the user named it.
        name: String,
    },
    /// A known kind of file, but no sound could be got out of it.
    #[error("no sound could be read from {name}: {why}; record it anew or save it as WAV")]
    Damaged {
        /// The file, as the user named it.
        name: String,
        /// What the reader says.
        why: String,
    },
    /// It holds no sample.
    #[error("{name} holds no sound: look whether the recorder ran")]
    Empty {
        /// The file, as the user named it.
        name: String,
    },
    /// So many samples a second that nothing can be made of it.
    #[error("{name} has {rate} samples a second; between 8,000 and 384,000 can be listened to")]
    Rate {
        /// The file, as the user named it.
        name: String,
        /// Samples a second as the file says.
        rate: u32,
    },
}

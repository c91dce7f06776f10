//! How does sound become a file? WAV, FLAC or MIDI, by the ending.

use super::Heard;
use crate::{DeskError, WholeFile};
use sound::{Sound, write_flac, write_midi, write_wav};
use std::io::Write;
use std::path::Path;

/// What kind of file.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SoundForm {
    /// Samples, as they are.
    Wav,
    /// Samples, packed without loss.
    Flac,
    /// Keys and times.
    Midi,
}

const FORMS: [(&str, SoundForm); 4] = [
    ("wav", SoundForm::Wav),
    ("flac", SoundForm::Flac),
    ("mid", SoundForm::Midi),
    ("midi", SoundForm::Midi),
];

impl SoundForm {
    /// The kind that a file's ending asks for.
    ///
    /// # Errors
    /// If it asks for none of ours; the message names those.
    pub fn of(path: &Path) -> Result<Self, DeskError> {
        let ending = path
            .extension()
            .map(|ending| ending.to_string_lossy().to_ascii_lowercase());
        let known = FORMS.iter().find(|(name, _)| ending.as_deref() == Some(*name));
        known.map(|(_, form)| *form).ok_or_else(|| DeskError::NotWritten {
            path: path.to_path_buf(),
            ending: ending.map_or_else(
                || "a file without an ending".to_owned(),
                |ending| format!(".{ending}"),
            ),
            known: FORMS.map(|(name, _)| format!(".{name}")).join(", "),
        })
    }
}

/// Writes what is heard to a file; of two performances, the second goes on where the first ends.
///
/// # Errors
/// If the file can't be written or nothing sounds.
pub fn to_file(heard: &Heard, path: &Path) -> Result<(), DeskError> {
    let bytes = to_bytes(heard, SoundForm::of(path)?)?;
    let mut file = WholeFile::create(path)?;
    file.write_all(&bytes).map_err(|source| DeskError::Unwritable {
        path: path.to_path_buf(),
        source,
    })?;
    file.finish()
}

/// What is heard as the bytes of a file; of two performances, the second goes on where the first ends.
///
/// # Errors
/// If nothing sounds, or it is longer than a file can hold.
pub fn to_bytes(heard: &Heard, form: SoundForm) -> Result<Vec<u8>, DeskError> {
    let mut bytes: Vec<u8> = Vec::new();
    let joined = super::joined(&heard.performances);
    let performance = &joined;
    match form {
        SoundForm::Midi => bytes = write_midi(performance, &heard.title, heard.program),
        SoundForm::Wav | SoundForm::Flac => {
            let sound = Sound::measured(performance, &heard.request, &heard.sounder)?;
            let rate = heard.request.rate.get();
            if form == SoundForm::Wav {
                write_wav(&sound, rate, &mut bytes)?;
            } else {
                write_flac(&sound, rate, &mut bytes)?;
            }
        }
    }
    Ok(bytes)
}

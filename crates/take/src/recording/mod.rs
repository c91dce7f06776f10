//! What samples does a sound file hold? One channel, at a rate that is enough for listening.
//!
//! The file itself stays what is played back: here 44,100 and 48,000 samples a second become half as many, higher rates fewer
//! still, so that ten minutes take 58 MB.

mod reading;
mod run_in;
#[cfg(test)]
mod tests;
mod thinning;

use crate::error::TakeError;
use notation::{Finding, Severity};
use reading::{Channels, Read, Source, read};
use std::io::{Cursor, Seek};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Sound to listen to: one channel.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Recording {
    /// Samples a second.
    pub rate: u32,
    /// The samples, full scale at ±1.
    pub samples: Vec<f32>,
}

impl Recording {
    /// How long it is, in seconds.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        crate::numbers::real(self.samples.len()) / f64::from(self.rate.max(1))
    }
}

/// A recording out of a whole file's bytes, with what the player should know about it. The name's ending helps to tell the kind.
///
/// # Errors
/// [`TakeError`] if no sound can be got out of the bytes.
pub fn decode(bytes: &[u8], name: &str) -> Result<(Recording, Vec<Finding>), TakeError> {
    decode_from(|| Ok(Cursor::new(bytes)), name)
}

/// The same out of a source that is read bit by bit, so that the file need not be held in memory. `open` gives the source at
/// its beginning; it is asked a second time if the file's two channels cancel each other.
///
/// # Errors
/// [`TakeError`] if the source can't be opened or no sound can be got out of it.
pub fn decode_from<S>(
    mut open: impl FnMut() -> std::io::Result<S>,
    name: &str,
) -> Result<(Recording, Vec<Finding>), TakeError>
where
    S: std::io::Read + Seek + Send + Sync,
{
    let mut once = |channels| {
        let source = open().map_err(|error| damaged(name, error.to_string()))?;
        // The decoders are others' work: what should panic there is a damaged file here, not the end of the program.
        catch_unwind(AssertUnwindSafe(|| read(Source::new(source), name, channels)))
            .unwrap_or_else(|_| Err(damaged(name, "the reader gave up".to_owned())))
    };
    let mut got = once(Channels::Mixed)?;
    let cancelled = got.cancels();
    if cancelled {
        got = once(Channels::First)?;
    }
    let findings = findings(&got, cancelled);
    Ok((
        Recording {
            rate: got.rate,
            samples: got.samples,
        },
        findings,
    ))
}

fn damaged(name: &str, why: String) -> TakeError {
    TakeError::Damaged {
        name: name.to_owned(),
        why,
    }
}

/// A take whose loudest sample stays under this (−60 dB of full scale) is as good as silent.
const SILENT: f32 = 0.001;
/// And under this (−34 dB) it is too soft to be heard well.
const SOFT: f32 = 0.02;

/// What the player should know of the recording before anything is said about the playing.
fn findings(got: &Read, cancelled: bool) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut say =
        |severity, kind, what: String, advice: &str| found.push(Finding::new(severity, kind, what, advice));
    if cancelled {
        say(
            Severity::Note,
            "channels-cancel",
            "The two channels cancel each other; only the first was listened to.".to_owned(),
            "Turn one microphone's plug or switch its phase, or record one channel.",
        );
    }
    if got.broken > 0 {
        let places = if got.broken == 1 {
            "one place"
        } else {
            "several places"
        };
        say(
            Severity::Caution,
            "recording-damaged",
            format!(
                "The file is damaged in {places}; the sound there is missing, and times after it may be early."
            ),
            "Save or record it anew.",
        );
    }
    if let Some(why) = got.ended {
        say(
            Severity::Caution,
            "recording-cut",
            why.to_owned(),
            "Record in shorter takes.",
        );
    }
    if got.peak < SILENT {
        say(
            Severity::Problem,
            "recording-silent",
            "The recording is silent.".to_owned(),
            "Look whether the right microphone was chosen and turned up.",
        );
    } else if got.peak < SOFT {
        say(
            Severity::Caution,
            "recording-soft",
            "The recording is very soft, so that noise may hide what is played.".to_owned(),
            "Turn the microphone up or move nearer.",
        );
    }
    // A few full samples are a single hard stroke; a thousandth of all is a microphone driven too hard.
    if got.full > 20 && got.full.saturating_mul(1000) > got.heard {
        say(
            Severity::Caution,
            "recording-overdriven",
            "The recording is overdriven: loud tones are cut off, and their level and colour can't be told."
                .to_owned(),
            "Turn the microphone down or move away from it.",
        );
    }
    found
}

//! How does sound reach the sound card? Through the machine's own player of raw samples; block by block, so that it sounds at once.

use super::Heard;
use crate::DeskError;
use sound::Sound;
use std::io::{ErrorKind, Write};
use std::process::{Child, Command, Stdio};

/// Programs that play raw samples from their standard input, and how they are told: 16 bits, little endian, one channel.
/// PipeWire's, PulseAudio's, ALSA's.
fn players(rate: u32) -> [(&'static str, Vec<String>); 3] {
    let own = |words: &[&str]| words.iter().map(|word| (*word).to_owned()).collect::<Vec<_>>();
    let rate = rate.to_string();
    [
        (
            "pw-cat",
            own(&["--playback", "--format=s16", "--channels=1", "--rate", &rate, "-"]),
        ),
        (
            "pacat",
            own(&[
                "--playback",
                "--format=s16le",
                "--channels=1",
                "--latency-msec=50",
                "--rate",
                &rate,
            ]),
        ),
        (
            "aplay",
            own(&["-q", "-t", "raw", "-f", "S16_LE", "-c", "1", "-r", &rate, "-"]),
        ),
    ]
}

/// Plays what is heard and comes back when it is over.
///
/// # Errors
/// If the machine has no sound card that can be reached.
pub fn to_card(heard: &Heard) -> Result<(), DeskError> {
    let performance = super::joined(&heard.performances);
    let sound = Sound::at_once(&performance, &heard.request, &heard.sounder)?;
    let mut stream = sound.stream()?;
    let mut child = open(heard.request.rate.get())?;
    let Some(mut pipe) = child.stdin.take() else {
        return Err(DeskError::NoSoundCard);
    };
    let mut block = [0.0_f32; 1024];
    let mut bytes = Vec::with_capacity(2048);
    let mut any = false;
    loop {
        let size = stream.fill(&mut block);
        if size == 0 {
            break;
        }
        bytes.clear();
        for sample in block.iter().take(size) {
            #[expect(clippy::cast_possible_truncation, reason = "held to the range just before")]
            let value = (sample * 32_767.0).round().clamp(-32_768.0, 32_767.0) as i16;
            bytes.extend_from_slice(&value.to_le_bytes());
        }
        match pipe.write_all(&bytes) {
            Ok(()) => any = true,
            Err(error) if error.kind() == ErrorKind::BrokenPipe => break,
            Err(source) => {
                return Err(DeskError::Unwritable {
                    path: "the sound card".into(),
                    source,
                });
            }
        }
    }
    drop(pipe);
    match child.wait() {
        Ok(status) if status.success() && any => Ok(()),
        _ => Err(DeskError::NoSoundCard),
    }
}

fn open(rate: u32) -> Result<Child, DeskError> {
    players(rate)
        .into_iter()
        .find_map(|(name, words)| {
            Command::new(name)
                .args(words)
                .stdin(Stdio::piped())
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .ok()
        })
        .ok_or(DeskError::NoSoundCard)
}

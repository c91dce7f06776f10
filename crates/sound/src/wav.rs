//! How is it written as WAV? Sixteen bits, mono, block by block: memory doesn't grow with the length.
//!
//! Source: Multimedia Programming Interface and Data Specifications 1.0 (1991), WAVE form, PCM.

use crate::numbers::sixteen;
use crate::{Sound, SoundError};
use std::io::Write;

/// Samples written at a time.
const BLOCK: usize = 4_096;

/// Writes a sound as a WAV file.
///
/// # Errors
/// If the writer fails, the sound is longer than a WAV file can say (about 13 hours), or a SoundFont cannot play.
pub fn write_wav(sound: &Sound, rate: u32, out: &mut impl Write) -> Result<(), SoundError> {
    let bytes = sound.samples().saturating_mul(2);
    let size = u32::try_from(bytes)
        .ok()
        .filter(|size| *size < u32::MAX - 64)
        .ok_or(SoundError::TooLong)?;
    out.write_all(b"RIFF")?;
    out.write_all(&(size + 36).to_le_bytes())?;
    out.write_all(b"WAVEfmt ")?;
    out.write_all(&16_u32.to_le_bytes())?;
    // PCM, one channel.
    out.write_all(&1_u16.to_le_bytes())?;
    out.write_all(&1_u16.to_le_bytes())?;
    out.write_all(&rate.to_le_bytes())?;
    out.write_all(&(rate * 2).to_le_bytes())?;
    out.write_all(&2_u16.to_le_bytes())?;
    out.write_all(&16_u16.to_le_bytes())?;
    out.write_all(b"data")?;
    out.write_all(&size.to_le_bytes())?;
    let mut stream = sound.stream()?;
    let mut block = vec![0.0; BLOCK];
    let mut bytes = Vec::with_capacity(BLOCK * 2);
    loop {
        let size = stream.fill(&mut block);
        if size == 0 {
            return Ok(());
        }
        bytes.clear();
        let samples = block.get(..size).unwrap_or(&[]);
        bytes.extend(samples.iter().flat_map(|value| sixteen(*value).to_le_bytes()));
        out.write_all(&bytes)?;
    }
}

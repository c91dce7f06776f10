//! How does a SoundFont that the user has play the part? Through `rustysynth`, each note on a channel of its own turn, bent
//! to its exact pitch.

use crate::SoundError;
use crate::numbers::{index, length};
use crate::player::Player;
use crate::request::SampleRate;
use crate::tones::Tone;
use rustysynth::{SoundFont, Synthesizer, SynthesizerSettings};
use std::sync::Arc;

/// A SoundFont read from bytes.
#[derive(Clone)]
pub struct Font {
    font: Arc<SoundFont>,
}

impl std::fmt::Debug for Font {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Font").finish_non_exhaustive()
    }
}

/// The largest SoundFont that is read.
const LARGEST: usize = 1 << 30;

impl Font {
    /// Reads the bytes of an `.sf2` file.
    ///
    /// # Errors
    /// If they are no SoundFont 2, or more than a gigabyte.
    pub fn read(bytes: &[u8]) -> Result<Self, SoundError> {
        if bytes.len() > LARGEST {
            return Err(SoundError::Font("it is larger than a gigabyte".to_owned()));
        }
        let mut reader = bytes;
        let font = SoundFont::new(&mut reader).map_err(|error| SoundError::Font(error.to_string()))?;
        Ok(Self { font: Arc::new(font) })
    }
}

/// What happens at a sample.
#[derive(Clone, Copy, Debug)]
enum Act {
    Off(i32, i32),
    /// Channel, bend, key, velocity.
    On(i32, i32, i32, i32),
}

pub(crate) struct FontPlayer {
    synthesizer: Synthesizer,
    acts: Vec<(u64, u8, Act)>,
    next: usize,
    end: u64,
    right: Vec<f32>,
    left: Vec<f32>,
}

/// The channels that take notes in turn: all but the tenth, which is percussion.
const CHANNELS: [i32; 15] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 10, 11, 12, 13, 14, 15];

impl FontPlayer {
    /// `program` counts from 1, as General MIDI's list does.
    pub fn new(font: &Font, tones: &[Tone], program: u8, rate: SampleRate) -> Result<Self, SoundError> {
        let rate_number = i32::try_from(rate.get()).unwrap_or(44_100);
        let mut settings = SynthesizerSettings::new(rate_number);
        // Notes begin at a block's start: short blocks keep them within a third of a millisecond.
        settings.block_size = 16;
        settings.enable_reverb_and_chorus = false;
        let mut synthesizer =
            Synthesizer::new(&font.font, &settings).map_err(|error| SoundError::Font(error.to_string()))?;
        for channel in CHANNELS {
            synthesizer.process_midi_message(channel, 0xC0, i32::from(program.clamp(1, 128)) - 1, 0);
        }
        let mut acts = Vec::with_capacity(tones.len() * 2);
        for (n, tone) in tones.iter().enumerate() {
            let Some(hertz) = tone.hertz else { continue };
            let channel = CHANNELS.get(n % CHANNELS.len()).copied().unwrap_or(0);
            let semitones = 69.0 + 12.0 * (hertz / 440.0).log2();
            let key = semitones.round().clamp(0.0, 127.0);
            let bend = 8_192.0 + (semitones - key) * 4_096.0;
            let level = tone.loudness.first().map_or(0.0, |(_, level)| *level) + tone.accent;
            // 0 dB is mf; velocity 80, four steps a decibel.
            let velocity = (80.0 + 4.0 * level).clamp(1.0, 127.0);
            let (key, bend, velocity) = (whole(key), whole(bend.clamp(0.0, 16_383.0)), whole(velocity));
            acts.push((tone.from, 1, Act::On(channel, bend, key, velocity)));
            acts.push((tone.to, 0, Act::Off(channel, key)));
        }
        acts.sort_by_key(|(at, rank, _)| (*at, *rank));
        let tail = u64::from(rate.get());
        let end = tones.iter().map(|tone| tone.to).max().map_or(0, |to| to + tail);
        Ok(Self {
            synthesizer,
            acts,
            next: 0,
            end,
            right: Vec::new(),
            left: Vec::new(),
        })
    }

    fn act(&mut self, act: Act) {
        match act {
            Act::Off(channel, key) => self.synthesizer.note_off(channel, key),
            Act::On(channel, bend, key, velocity) => {
                self.synthesizer
                    .process_midi_message(channel, 0xE0, bend & 0x7F, bend >> 7);
                self.synthesizer.note_on(channel, key, velocity);
            }
        }
    }
}

fn whole(value: f64) -> i32 {
    i32::try_from(crate::numbers::count(value)).unwrap_or(0)
}

impl Player for FontPlayer {
    fn add(&mut self, now: u64, block: &mut [f32]) {
        let end = now + length(block.len());
        let mut at = now;
        while at < end {
            while let Some((_, _, act)) = self.acts.get(self.next).copied().filter(|(when, ..)| *when <= at) {
                self.act(act);
                self.next += 1;
            }
            let until = self
                .acts
                .get(self.next)
                .map_or(end, |(when, ..)| (*when).min(end));
            let size = index(until - at);
            self.left.clear();
            self.left.resize(size, 0.0);
            self.right.clear();
            self.right.resize(size, 0.0);
            self.synthesizer.render(&mut self.left, &mut self.right);
            let first = index(at - now);
            for (out, (left, right)) in block
                .iter_mut()
                .skip(first)
                .zip(self.left.iter().zip(&self.right))
            {
                *out += 0.5 * (left + right);
            }
            at = until;
        }
    }

    fn end(&self) -> u64 {
        self.end
    }
}

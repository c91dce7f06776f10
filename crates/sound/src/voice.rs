//! How is one tone made, sample by sample? Its table read at an exact step, shaped by attack, loudness and release.

use crate::numbers::{factor, index, length, real, sample};
use crate::table::{Table, step};
use crate::tones::Tone;
use performance::play::Attack;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Loudness is followed in steps of so many samples.
const STEP: usize = 32;
/// Seconds in which joined tones pass over into each other.
const JOIN: f64 = 0.016;
/// Seconds in which an accent falls back by 20 dB… to the level of the note.
const ACCENT: f64 = 0.25;
/// The loudness at which the soft and the bright table of a tone are made, in decibels from mf.
const SOFT: f64 = -12.0;
const BRIGHT: f64 = 9.0;

/// Tables by pitch, made when first needed.
#[derive(Debug, Default)]
pub(crate) struct Tables {
    made: BTreeMap<(u64, u64), Arc<(Table, Table)>>,
}

impl Tables {
    /// Past this many pitches the tables are made anew: memory stays bounded.
    const MOST: usize = 256;

    fn of(&mut self, tone: &Tone, hertz: f64, rate: f64) -> Arc<(Table, Table)> {
        let key = (hertz.to_bits(), (tone.timbre.attack * 1e6).to_bits());
        if self.made.len() >= Self::MOST {
            self.made.clear();
        }
        let table = |loudness: f64| Table::new(&tone.timbre.partials(hertz, loudness, rate * 0.45));
        Arc::clone(
            self.made
                .entry(key)
                .or_insert_with(|| Arc::new((table(SOFT), table(BRIGHT)))),
        )
    }
}

/// One sounding tone.
#[derive(Debug)]
pub(crate) struct Voice {
    tone: Tone,
    /// None for a stroke without pitch.
    tables: Option<Arc<(Table, Table)>>,
    phase: u64,
    step: u64,
    /// Samples made so far.
    done: u64,
    attack: u64,
    /// Samples after letting go until silence.
    release: u64,
    rate: f64,
    noise: u32,
    gain: (f32, f32),
}

impl Voice {
    pub fn new(tone: Tone, tables: &mut Tables, rate: f64) -> Self {
        let seconds = match tone.attack {
            Attack::Plain => tone.timbre.attack,
            Attack::Soft => tone.timbre.attack * 1.8,
            Attack::Crisp => tone.timbre.attack * 0.5,
            Attack::Strong => tone.timbre.attack * 0.6,
            Attack::Joined => JOIN,
        };
        let whole = tone.to.saturating_sub(tone.from);
        let release = if tone.joined_on {
            JOIN
        } else if tone.attack == Attack::Crisp {
            tone.timbre.release * 0.6
        } else {
            tone.timbre.release
        };
        let made = tone.hertz.map(|hertz| tables.of(&tone, hertz, rate));
        Self {
            // An attack never takes more than half of its note.
            attack: crate::numbers::count(seconds * rate).min(whole / 2).max(1),
            release: crate::numbers::count(release * rate).max(1),
            step: step(tone.hertz.unwrap_or(0.0), rate),
            phase: 0,
            done: 0,
            rate,
            noise: 0x2545_F491,
            gain: (0.0, 0.0),
            tables: made,
            tone,
        }
    }

    /// The sample at which it is silent again.
    pub fn end(&self) -> u64 {
        self.tone.to + self.release
    }

    /// The two amplitudes (soft and bright table) at a sample of the tone.
    fn gains(&self, at: u64) -> (f32, f32) {
        let whole = self.tone.to - self.tone.from;
        let mut level = level_at(&self.tone.loudness, at);
        let seconds = real(at) / self.rate;
        level += self.tone.accent * (-seconds / ACCENT * 2.3).exp();
        let mut gain = factor(level);
        if at < self.attack {
            // A raised cosine: no click, and the two halves of a join add up to one.
            gain *= 0.5 - 0.5 * (std::f64::consts::PI * real(at) / real(self.attack)).cos();
        }
        if at > whole {
            let gone = (real(at - whole) / real(self.release)).min(1.0);
            gain *= 0.5 + 0.5 * (std::f64::consts::PI * gone).cos();
        }
        if let Some(decay) = self.tone.timbre.decay {
            gain *= (-2.3 * seconds / decay).exp();
        }
        let bright = ((level - SOFT) / (BRIGHT - SOFT)).clamp(0.0, 1.0);
        (sample(gain * (1.0 - bright)), sample(gain * bright))
    }

    /// Adds its samples to a block that begins at sample `now`; false once it is silent for good.
    pub fn add(&mut self, now: u64, block: &mut [f32]) -> bool {
        let end = self.end();
        let first = index(self.tone.from.saturating_sub(now)).min(block.len());
        let last = index(end.saturating_sub(now)).min(block.len());
        let Some(out) = block.get_mut(first..last) else {
            return end > now + length(block.len());
        };
        if self.done == 0 {
            self.gain = self.gains(0);
        }
        for chunk in out.chunks_mut(STEP) {
            let size = length(chunk.len());
            let goal = self.gains(self.done + size);
            self.chunk(chunk, goal);
            self.done += size;
            self.gain = goal;
        }
        end > now + length(block.len())
    }

    fn chunk(&mut self, chunk: &mut [f32], goal: (f32, f32)) {
        let (mut soft, mut bright) = self.gain;
        let each = sample(1.0 / real(length(chunk.len())));
        let (more_soft, more_bright) = ((goal.0 - soft) * each, (goal.1 - bright) * each);
        match &self.tables {
            Some(tables) => {
                let (soft_table, bright_table) = (&tables.0, &tables.1);
                for out in chunk {
                    *out += soft * soft_table.at(self.phase) + bright * bright_table.at(self.phase);
                    self.phase = self.phase.wrapping_add(self.step);
                    soft += more_soft;
                    bright += more_bright;
                }
            }
            None => {
                // A short rustle for notes without pitch: a fixed sequence of numbers (xorshift, Marsaglia 2003).
                for out in chunk {
                    self.noise ^= self.noise << 13;
                    self.noise ^= self.noise >> 17;
                    self.noise ^= self.noise << 5;
                    let value = sample(f64::from(self.noise) / f64::from(u32::MAX) - 0.5);
                    *out += (soft + bright) * value * 0.3;
                    soft += more_soft;
                    bright += more_bright;
                }
            }
        }
    }
}

/// The level at a sample, evenly between points.
fn level_at(points: &[(u64, f64)], at: u64) -> f64 {
    let next = points.partition_point(|(point, _)| *point <= at);
    let before = next.checked_sub(1).and_then(|n| points.get(n));
    match (before, points.get(next)) {
        (Some((a, from)), Some((b, to))) if b > a => from + (to - from) * real(at - a) / real(b - a),
        (Some((_, level)), _) | (None, Some((_, level))) => *level,
        (None, None) => 0.0,
    }
}

//! Who plays the part? Our own tone, or a SoundFont that the user has: both behind one trait.

use crate::tones::Tone;
use crate::voice::{Tables, Voice};

/// Something that plays tones block by block, forwards only.
pub trait Player {
    /// Adds what sounds from sample `now` on to a block. Called with blocks that follow each other.
    fn add(&mut self, now: u64, block: &mut [f32]);
    /// The sample at which everything is silent again.
    fn end(&self) -> u64;
}

/// Our own tone: a few voices at a time, each started when its block comes.
#[derive(Debug)]
pub(crate) struct OwnTone {
    tones: std::vec::IntoIter<Tone>,
    next: Option<Tone>,
    sounding: Vec<Voice>,
    tables: Tables,
    rate: f64,
    end: u64,
}

/// Most voices that sound together; more than any single line with its releases needs.
const MOST_VOICES: usize = 64;

impl OwnTone {
    /// Tones in order of their beginning.
    pub fn new(tones: Vec<Tone>, rate: f64) -> Self {
        // The longest release is well under a second.
        let tail = crate::numbers::count(rate * 0.2);
        let end = tones.iter().map(|tone| tone.to).max().map_or(0, |to| to + tail);
        let mut tones = tones.into_iter();
        let next = tones.next();
        Self {
            tones,
            next,
            sounding: Vec::new(),
            tables: Tables::default(),
            rate,
            end,
        }
    }
}

impl Player for OwnTone {
    fn add(&mut self, now: u64, block: &mut [f32]) {
        let until = now + crate::numbers::length(block.len());
        while let Some(tone) = self.next.take_if(|tone| tone.from < until) {
            if self.sounding.len() < MOST_VOICES {
                self.sounding.push(Voice::new(tone, &mut self.tables, self.rate));
            }
            self.next = self.tones.next();
        }
        self.sounding.retain_mut(|voice| voice.add(now, block));
    }

    fn end(&self) -> u64 {
        self.end
    }
}

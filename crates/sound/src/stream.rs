//! How does it come out block by block? Part, click and drone mixed, brought to the level, kept within full scale.

use crate::SoundError;
use crate::click::Clicker;
use crate::limiter::Limiter;
use crate::numbers::{count, factor, index, length, sample};
use crate::player::{OwnTone, Player};
use crate::request::SoundRequest;
use crate::soundfont::{Font, FontPlayer};
use crate::timbre::Timbre;
use crate::tones::{drone_tones, part_tones};
use ebur128::{EbuR128, Mode};
use performance::play::Performance;

/// Who plays the part.
#[derive(Clone, Debug)]
pub enum Sounder {
    /// Our own tone.
    Own(Timbre),
    /// A SoundFont and its program, counted from 1.
    Font(Font, u8),
}

/// Samples mixed at a time.
const BLOCK: usize = 1_024;
/// Seconds by which the limiter looks ahead.
const AHEAD: f64 = 0.005;
/// Of music played at once, so many seconds are measured beforehand.
const MEASURED_AT_ONCE: f64 = 4.0;
/// No more than this is amplified, in decibels: silence stays silence.
const MOST_GAIN: f64 = 40.0;

/// Everything that sounds, before level and limit.
struct Mix {
    players: Vec<Box<dyn Player + Send>>,
    clicker: Clicker,
    now: u64,
    end: u64,
}

impl Mix {
    fn new(performance: &Performance, request: &SoundRequest, sounder: &Sounder) -> Result<Self, SoundError> {
        let rate = f64::from(request.rate.get());
        let mut players: Vec<Box<dyn Player + Send>> = Vec::new();
        if request.part {
            match sounder {
                Sounder::Own(timbre) => {
                    players.push(Box::new(OwnTone::new(
                        part_tones(performance, request, *timbre),
                        rate,
                    )));
                }
                Sounder::Font(font, program) => {
                    let tones = part_tones(performance, request, Timbre::of(None));
                    players.push(Box::new(FontPlayer::new(font, &tones, *program, request.rate)?));
                }
            }
        }
        if request.drone.is_some() {
            players.push(Box::new(OwnTone::new(drone_tones(performance, request), rate)));
        }
        let clicker = Clicker::new(performance, request);
        let whole = count(performance.seconds() * rate);
        let ends = players.iter().map(|player| player.end());
        let end = ends.chain([clicker.end(), whole]).max().unwrap_or(whole);
        Ok(Self {
            players,
            clicker,
            now: 0,
            end,
        })
    }

    /// Fills a block from its start; false if nothing more comes.
    fn fill(&mut self, block: &mut [f32]) -> bool {
        block.fill(0.0);
        for player in &mut self.players {
            player.add(self.now, block);
        }
        self.clicker.add(self.now, block);
        self.now += length(block.len());
        self.now < self.end
    }
}

/// A performance made ready to be heard: at its level, as often as wanted.
pub struct Sound<'a> {
    performance: &'a Performance,
    request: &'a SoundRequest,
    sounder: &'a Sounder,
    gain: f64,
    samples: u64,
}

impl<'a> Sound<'a> {
    /// Measures the whole once, so that it comes out at the level asked for, by EBU R128 within a fraction of a decibel:
    /// for files.
    ///
    /// # Errors
    /// If a SoundFont cannot play.
    pub fn measured(
        performance: &'a Performance,
        request: &'a SoundRequest,
        sounder: &'a Sounder,
    ) -> Result<Self, SoundError> {
        let mut sound = Self::bare(performance, request, sounder)?;
        let (loudness, peak) = sound.measure(None, false)?;
        sound.set(loudness);
        // Where the limiter has to work hard the level is looked at again.
        for _ in 0..3 {
            if peak * factor(sound.gain) <= f64::from(crate::limiter::CEILING) {
                break;
            }
            let (loudness, _) = sound.measure(None, true)?;
            let short = sound.level() - loudness;
            if !short.is_finite() || short.abs() < 0.2 {
                break;
            }
            sound.gain = (sound.gain + short).min(MOST_GAIN);
        }
        Ok(sound)
    }

    /// Measures only the beginning, so that it sounds at once: for a sound card.
    ///
    /// # Errors
    /// If a SoundFont cannot play.
    pub fn at_once(
        performance: &'a Performance,
        request: &'a SoundRequest,
        sounder: &'a Sounder,
    ) -> Result<Self, SoundError> {
        let mut sound = Self::bare(performance, request, sounder)?;
        let (loudness, _) = sound.measure(Some(MEASURED_AT_ONCE), false)?;
        sound.set(loudness);
        Ok(sound)
    }

    fn bare(
        performance: &'a Performance,
        request: &'a SoundRequest,
        sounder: &'a Sounder,
    ) -> Result<Self, SoundError> {
        let samples = Mix::new(performance, request, sounder)?.end;
        Ok(Self {
            performance,
            request,
            sounder,
            gain: 0.0,
            samples,
        })
    }

    fn level(&self) -> f64 {
        if self.request.level.is_finite() {
            self.request.level.clamp(-40.0, -12.0)
        } else {
            -20.0
        }
    }

    fn set(&mut self, loudness: f64) {
        let gain = self.level() - loudness;
        self.gain = if gain.is_finite() {
            gain.clamp(-60.0, MOST_GAIN)
        } else {
            0.0
        };
    }

    /// How many samples it has.
    #[must_use]
    pub fn samples(&self) -> u64 {
        self.samples
    }

    /// The decibels by which the mix is raised to its level.
    #[must_use]
    pub fn gain(&self) -> f64 {
        self.gain
    }

    /// The sound from its beginning.
    ///
    /// # Errors
    /// If a SoundFont cannot play.
    pub fn stream(&self) -> Result<Stream, SoundError> {
        let mix = Mix::new(self.performance, self.request, self.sounder)?;
        let rate = f64::from(self.request.rate.get());
        Ok(Stream::new(mix, sample(factor(self.gain)), rate))
    }

    /// Integrated loudness in LUFS and the highest sample of (at most so many seconds of) it.
    fn measure(&self, seconds: Option<f64>, limited: bool) -> Result<(f64, f64), SoundError> {
        let rate = self.request.rate.get();
        let mut meter = EbuR128::new(1, rate, Mode::I | Mode::HISTOGRAM)?;
        let mut block = vec![0.0; BLOCK];
        let mut peak = 0.0_f32;
        let most = seconds.map_or(u64::MAX, |seconds| count(seconds * f64::from(rate)));
        let mut done = 0;
        if limited {
            let mut stream = self.stream()?;
            loop {
                let size = stream.fill(&mut block);
                if size == 0 {
                    break;
                }
                meter.add_frames_f32(block.get(..size).unwrap_or(&[]))?;
            }
        } else {
            let mut mix = Mix::new(self.performance, self.request, self.sounder)?;
            loop {
                let more = mix.fill(&mut block);
                meter.add_frames_f32(&block)?;
                peak = block.iter().fold(peak, |peak, value| peak.max(value.abs()));
                // Silence at the beginning (a count-in without a click) tells nothing.
                if peak > 0.0 {
                    done += length(BLOCK);
                }
                if !more || done >= most {
                    break;
                }
            }
            // Less than one measured block of 0.4 s: silence makes it up.
            block.fill(0.0);
            for _ in 0..rate / 2_000 + 1 {
                meter.add_frames_f32(&block)?;
            }
        }
        Ok((meter.loudness_global()?, f64::from(peak)))
    }
}

/// Samples in order, mono, from −1 to 1.
pub struct Stream {
    mix: Mix,
    gain: f32,
    limiter: Limiter,
    block: Vec<f32>,
    ready: Vec<f32>,
    given: usize,
    /// Samples still to come.
    left: u64,
}

impl Stream {
    fn new(mix: Mix, gain: f32, rate: f64) -> Self {
        let left = mix.end;
        Self {
            mix,
            gain,
            limiter: Limiter::new(index(count(AHEAD * rate))),
            block: vec![0.0; BLOCK],
            ready: Vec::with_capacity(BLOCK),
            given: 0,
            left,
        }
    }

    /// Samples still to come.
    #[must_use]
    pub fn left(&self) -> u64 {
        self.left
    }

    /// Writes the next samples; how many, 0 at the end.
    pub fn fill(&mut self, out: &mut [f32]) -> usize {
        let mut written = 0;
        while written < out.len() && self.left > 0 {
            if self.given >= self.ready.len() {
                self.refill();
            }
            let from = self.ready.get(self.given..).unwrap_or(&[]);
            let size = from.len().min(out.len() - written).min(index(self.left));
            if let (Some(to), Some(from)) = (out.get_mut(written..written + size), from.get(..size)) {
                to.copy_from_slice(from);
            }
            self.given += size;
            written += size;
            self.left -= length(size);
        }
        written
    }

    fn refill(&mut self) {
        self.ready.clear();
        self.given = 0;
        while self.ready.is_empty() {
            self.mix.fill(&mut self.block);
            for value in &self.block {
                self.ready.extend(self.limiter.next(value * self.gain));
            }
        }
    }
}

impl Iterator for Stream {
    type Item = f32;

    fn next(&mut self) -> Option<f32> {
        let mut one = [0.0];
        (self.fill(&mut one) == 1).then_some(one[0])
    }
}

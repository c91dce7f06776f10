//! Where and how does the click sound? Downbeats, beats and subdivisions; some bars silent, to test the inner pulse.

use crate::numbers::{count, factor, index, length, real, sample};
use crate::request::{Click, SoundRequest, Subdivision};
use notation::{Quarters, Rational};
use performance::play::Performance;
use std::f64::consts::TAU;

/// One click.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ClickAt {
    /// Its first sample.
    pub sample: u64,
    /// Which.
    pub kind: ClickKind,
}

/// How weighty a click is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum ClickKind {
    /// The first beat of a bar.
    Downbeat,
    /// Any other beat.
    Beat,
    /// Between beats.
    Division,
}

impl ClickKind {
    /// Hertz, and amplitude of the first swing. Judgement: a higher and louder downbeat, as on any metronome.
    const fn sound(self) -> (f64, f64) {
        match self {
            Self::Downbeat => (1_760.0, 0.55),
            Self::Beat => (1_175.0, 0.38),
            Self::Division => (880.0, 0.16),
        }
    }
}

/// Seconds for which a click stays, in which it then falls to a tenth, and after which it is over. Long enough to be as loud
/// as a part without being sharper than full scale allows.
const BODY: f64 = 0.012;
const FALL: f64 = 0.050;
const LASTS: f64 = 0.140;

/// All clicks of a performance in order of time. A count-in always clicks.
#[must_use]
pub fn clicks(performance: &Performance, request: &SoundRequest) -> Vec<ClickAt> {
    let Some(click) = request.click else {
        return Vec::new();
    };
    let rate = f64::from(request.rate.get());
    let sounding = sounding_slots(performance, &click);
    let mut found = Vec::new();
    for beat in &performance.beats {
        if !sounding.get(beat.slot).copied().unwrap_or(true) {
            continue;
        }
        let parts = match click.subdivision {
            Subdivision::None => 1,
            Subdivision::ByMetre => beat.division,
            Subdivision::Into(parts) => parts.clamp(1, 8),
        };
        let end = performance
            .slots
            .get(beat.slot)
            .map_or(beat.at, performance::play::Slot::end);
        for part in 0..parts.max(1) {
            let at: Quarters =
                beat.at + beat.length * Rational::new(i64::from(part), i64::from(parts.max(1)));
            if part > 0 && at >= end {
                break;
            }
            let kind = match (part, beat.accent) {
                (0, 0) => ClickKind::Downbeat,
                (0, _) => ClickKind::Beat,
                _ => ClickKind::Division,
            };
            found.push(ClickAt {
                sample: count(performance.clock.begins(at) * rate),
                kind,
            });
        }
    }
    found.sort_by_key(|click| (click.sample, click.kind));
    found
}

/// For each slot whether the click sounds in it. Bars are counted from the first after each count-in.
fn sounding_slots(performance: &Performance, click: &Click) -> Vec<bool> {
    let Some((on, off)) = click.drop_out.filter(|(on, off)| on.saturating_add(*off) > 0) else {
        return vec![true; performance.slots.len()];
    };
    let period = on.saturating_add(off);
    let mut bar = 0_u32;
    let slots = performance.slots.iter().map(|slot| {
        if slot.count_in {
            bar = 0;
            return true;
        }
        let sounds = bar % period < on;
        bar = bar.wrapping_add(1);
        sounds
    });
    slots.collect()
}

/// The clicks that sound in a block, added to it.
#[derive(Debug)]
pub(crate) struct Clicker {
    clicks: Vec<ClickAt>,
    /// The first click that may still sound.
    first: usize,
    lasts: u64,
    shapes: [Vec<f32>; 3],
}

impl Clicker {
    pub fn new(performance: &Performance, request: &SoundRequest) -> Self {
        let rate = f64::from(request.rate.get());
        let lasts = count(LASTS * rate);
        let level = request.click.map_or(0.0, |click| click.level.clamp(-40.0, 12.0));
        let shape = |kind: ClickKind| -> Vec<f32> {
            let (hertz, amplitude) = kind.sound();
            (0..lasts)
                .map(|n| {
                    let seconds = real(n) / rate;
                    let fall = (-2.3 * (seconds - BODY).max(0.0) / FALL).exp();
                    sample(factor(level) * amplitude * fall * (TAU * hertz * seconds).cos())
                })
                .collect()
        };
        Self {
            clicks: clicks(performance, request),
            first: 0,
            lasts,
            shapes: [ClickKind::Downbeat, ClickKind::Beat, ClickKind::Division].map(shape),
        }
    }

    pub fn add(&mut self, now: u64, block: &mut [f32]) {
        let end = now + length(block.len());
        while self
            .clicks
            .get(self.first)
            .is_some_and(|click| click.sample + self.lasts <= now)
        {
            self.first += 1;
        }
        for click in self
            .clicks
            .iter()
            .skip(self.first)
            .take_while(|click| click.sample < end)
        {
            let shape = match click.kind {
                ClickKind::Downbeat => &self.shapes[0],
                ClickKind::Beat => &self.shapes[1],
                ClickKind::Division => &self.shapes[2],
            };
            let begun = index(now.saturating_sub(click.sample));
            let at = index(click.sample.saturating_sub(now));
            let rest = shape.get(begun..).unwrap_or(&[]);
            for (out, value) in block.iter_mut().skip(at).zip(rest) {
                *out += value;
            }
        }
    }

    /// The sample at which the last click is over.
    pub fn end(&self) -> u64 {
        self.clicks.last().map_or(0, |click| click.sample + self.lasts)
    }
}

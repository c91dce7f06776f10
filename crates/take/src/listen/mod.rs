//! What pitch, how loud, what changes? A recording followed frame by frame.

mod candidates;
mod difference;
mod flux;
mod level;
mod noise;
mod partials;
mod path;
mod spectrum;
#[cfg(test)]
mod tests;
mod tuning;
mod window;

use crate::ear::Ear;
use crate::numbers::{count, real};
use crate::recording::Recording;
use crate::track::{Frame, Track, hertz_of};
use candidates::{Periods, candidates};
use difference::Difference;
use flux::Flux;
pub(crate) use level::Fine;
use level::decibels;
use partials::Looks;
pub(crate) use partials::{Begins, Partials};
use std::sync::Arc;
use window::Window;

/// Seconds from frame to frame, nearly: a whole number of samples.
const HOP_SECS: f64 = 0.005;
/// A frame holds at least so many of the longest periods looked for …
const PERIODS: f64 = 2.2;
/// … and is at least so long: shorter ones hear noise as pitch.
const SHORTEST_SECS: f64 = 0.040;

/// What lies under this part of the lowest pitch is rumble …
const RUMBLE: f64 = 0.5;
/// … and over so many times the highest, but not under so many hertz, hiss: it only blurs the period.
const HISS: f64 = 6.0;
const LEAST_HISS: f64 = 2_000.0;

/// A recording as it is heard by an ear.
#[must_use]
pub fn listen(recording: &Recording, ear: &Ear) -> Track {
    let ear = ear.bounded();
    let rate = f64::from(recording.rate.max(1));
    let hop = count(HOP_SECS * rate).max(1);
    let hop_secs = real(hop) / rate;
    let periods = Periods {
        shortest: (rate / hertz_of(ear.highest)).max(2.0),
        longest: rate / hertz_of(ear.lowest),
    };
    let size = count((periods.longest * PERIODS).max(SHORTEST_SECS * rate)).max(16) / 2 * 2;
    let fine = if periods.shortest < 24.0 { 4 } else { 2 };
    let mut difference = Difference::new(size, fine);
    let mut flux = Flux::new(rate);
    let rumble = hertz_of(ear.lowest) * RUMBLE;
    let hiss = (hertz_of(ear.highest) * HISS).max(LEAST_HISS);
    let hiss = (hiss < rate * 0.4).then_some(hiss);
    let pitch_window = || Window::new(&recording.samples, rate, (rumble, hiss), size);
    difference.noise = noise::profile(
        &mut difference,
        pitch_window(),
        recording.samples.len(),
        hop,
        periods,
    );
    let mut for_pitch = pitch_window();
    let mut window = Window::new(&recording.samples, rate, (rumble, None), flux.size());
    let mut level = Fine::new(rate);
    let mut looks = Looks::new(rate, hop, hertz_of(ear.lowest));
    let mut whole = Window::new(&recording.samples, rate, (rumble, None), looks.size());
    let frame_count = if recording.samples.is_empty() {
        0
    } else {
        recording.samples.len() / hop + 1
    };
    let mut frames = Vec::with_capacity(frame_count);
    for n in 0..frame_count {
        for_pitch.centre_on(n * hop, |_| {});
        for_pitch.centre_on(n * hop, |_| {});
        window.centre_on(n * hop, |sample| level.push(sample));
        let mut frame = Frame {
            secs: real(n) * hop_secs,
            ..Frame::default()
        };
        if difference.look(for_pitch.middle(size)) {
            frame.candidates = candidates(&difference, periods, rate);
        }
        frame.level_db = decibels(window.energy(hop * 2));
        frame.flux = flux.next(window.middle(flux.size()));
        whole.centre_on(n * hop, |_| {});
        looks.next(whole.middle(looks.size()));
        frames.push(frame);
    }
    path::follow(&mut frames, hop_secs);
    let a4 = ear.a4.or_else(|| tuning::a4(&frames, hop_secs)).unwrap_or(440.0);
    let floor_db = level::floor(&frames);
    Track {
        hop_secs,
        frames,
        a4,
        floor_db,
        fine: level,
        partials: Arc::new(looks.done()),
    }
}

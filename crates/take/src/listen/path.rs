//! Which of the candidates are the tone? The likeliest path through them, and where there is none.
//!
//! Source: Mauch & Dixon 2014, pYIN, section 2.2: a hidden Markov model with voiced and unvoiced states, decoded by Viterbi's
//! method. Departures: the states are the candidates themselves, not a grid of pitches, so a pitch is never rounded and memory
//! is a few bytes a frame; and a leap of any size costs the same (a slurred octave is as fast as a slurred second), where the
//! paper lets pitch move by two and a half semitones a frame at most.

use crate::track::{CANDIDATES, Frame, key_of};

/// States of a frame: its candidates, then "no pitch".
const STATES: usize = CANDIDATES + 1;
const SILENT: usize = CANDIDATES;

/// Semitones by which pitch moves in 5 ms without being thought of as leaping: a wide fast vibrato has 0.15.
const GLIDE: f64 = 0.2;
/// What a leap costs, in nats.
const LEAP: f64 = 7.0;
/// What it costs to begin or to end.
const TURN: f64 = 4.0;
/// The belief that never goes below this.
const LEAST: f64 = 1e-4;

/// Sets the key of each frame.
pub(super) fn follow(frames: &mut [Frame], hop_secs: f64) {
    let mut back: Vec<[u8; STATES]> = Vec::with_capacity(frames.len());
    let glide = GLIDE * hop_secs / 0.005;
    let mut before: Option<([f64; CANDIDATES], [f64; STATES])> = None;
    for frame in frames.iter() {
        let keys = frame.candidates.map(|candidate| {
            if candidate.probability > 0.0 {
                key_of(f64::from(candidate.hertz))
            } else {
                f64::NAN
            }
        });
        let mut total = emissions(frame);
        let mut from = [0_u8; STATES];
        if let Some((old_keys, old)) = &before {
            for (state, (total, from)) in total.iter_mut().zip(from.iter_mut()).enumerate() {
                let (cost, best) = cheapest(state, &keys, old_keys, old, glide);
                *total += cost;
                *from = best;
            }
        }
        back.push(from);
        before = Some((keys, total));
    }
    let Some((_, last)) = before else { return };
    let end = last
        .iter()
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(b.1))
        .map_or(SILENT, |(state, _)| state);
    let mut state = end;
    for (frame, from) in frames.iter_mut().zip(&back).rev() {
        frame.key = frame
            .candidates
            .get(state)
            .filter(|candidate| candidate.probability > 0.0)
            .map(|candidate| key_of(f64::from(candidate.hertz)));
        state = from.get(state).map_or(SILENT, |state| usize::from(*state));
    }
}

/// What each state costs by what is heard in the frame.
fn emissions(frame: &Frame) -> [f64; STATES] {
    let mut costs = [f64::INFINITY; STATES];
    for (cost, candidate) in costs.iter_mut().zip(&frame.candidates) {
        if candidate.probability > 0.0 {
            *cost = -f64::from(candidate.probability).max(LEAST).ln();
        }
    }
    if let Some(cost) = costs.get_mut(SILENT) {
        *cost = -(1.0 - f64::from(frame.voicing())).max(LEAST).ln();
    }
    costs
}

/// The cheapest way into a state.
fn cheapest(
    state: usize,
    keys: &[f64; CANDIDATES],
    old_keys: &[f64; CANDIDATES],
    old: &[f64; STATES],
    glide: f64,
) -> (f64, u8) {
    let mut best = (f64::INFINITY, 0_u8);
    for (other, (cost, number)) in old.iter().zip(0_u8..).enumerate() {
        let way = match (other == SILENT, state == SILENT) {
            (true, true) => 0.0,
            (true, false) | (false, true) => TURN,
            (false, false) => {
                let moved = keys
                    .get(state)
                    .zip(old_keys.get(other))
                    .map_or(f64::NAN, |(to, from)| to - from);
                if moved.is_nan() {
                    f64::INFINITY
                } else {
                    (0.5 * (moved / glide).powi(2)).min(LEAP)
                }
            }
        };
        if cost + way < best.0 {
            best = (cost + way, number);
        }
    }
    best
}

//! What can still be heard where the pitch was lost? In noise the tracker is silent though its candidates keep pointing at one pitch:
//! with the score's pitches in mind such stretches are believed if they last.
//!
//! Only frames without a followed pitch are filled, only with what the candidates hold. A path through the score's pitches and "none"
//! is found by Viterbi's algorithm: some ten frames that agree outweigh the price of beginning a tone.

use crate::Track;
use crate::expected::Expected;
use crate::track::key_of;

/// Logarithm of how likely a frame is without a tone, where one of the score's pitches would have all of the candidates' belief.
const NO_TONE: f64 = -1.5;
/// What a tone has at least, whatever the candidates say.
const LEAST: f64 = 0.03;
/// Belief that the candidates must have together to count, as against the sum of them.
const FAINT: f64 = 0.02;
/// Price of beginning a tone, of ending it.
const BEGINS: f64 = 5.0;
const ENDS: f64 = 2.0;

/// The track with lost stretches filled in; `tuning` is what the player's A4 is above 440 Hz, in semitones.
pub(super) fn informed(track: &Track, line: &[Expected], tuning: f64) -> Track {
    let mut keys: Vec<f64> = line.iter().map(|note| note.key).collect();
    keys.sort_unstable_by(f64::total_cmp);
    keys.dedup_by(|a, b| (*a - *b).abs() < 0.4);
    let mut filled = track.clone();
    let mut from = 0;
    while from < filled.frames.len() {
        let lost = |frame: &crate::Frame| frame.key.is_none();
        let run = filled
            .frames
            .iter()
            .skip(from)
            .take_while(|frame| lost(frame))
            .count();
        if run == 0 {
            from += 1;
            continue;
        }
        fill(&mut filled, (from, from + run), &keys, tuning);
        from += run;
    }
    filled
}

/// Belief that the candidates have in a key, as against all of them.
fn belief(candidates: &[(f64, f64)], key: f64) -> f64 {
    let all: f64 = candidates.iter().map(|(_, probability)| probability).sum();
    let near = candidates
        .iter()
        .map(|(heard, probability)| probability * super::segments::near((heard - key).abs()));
    near.sum::<f64>() / (all + FAINT)
}

/// A frame's candidates as key numbers with their belief.
fn candidates(frame: &crate::Frame) -> Vec<(f64, f64)> {
    frame
        .candidates()
        .map(|one| (key_of(f64::from(one.hertz)), f64::from(one.probability)))
        .collect()
}

fn fill(track: &mut Track, (from, to): (usize, usize), keys: &[f64], tuning: f64) {
    let Some(frames) = track.frames.get(from..to) else {
        return;
    };
    // The last state is "none".
    let none = keys.len();
    let mut cost = vec![BEGINS; keys.len()];
    cost.push(0.0);
    let mut came: Vec<Vec<u16>> = Vec::with_capacity(frames.len());
    for frame in frames {
        let silent = cost.get(none).copied().unwrap_or(0.0);
        let (best, best_cost) =
            cost.iter()
                .take(none)
                .copied()
                .enumerate()
                .fold(
                    (none, f64::INFINITY),
                    |best, one| {
                        if one.1 < best.1 { one } else { best }
                    },
                );
        let heard = candidates(frame);
        let mut next = Vec::with_capacity(cost.len());
        let mut back = Vec::with_capacity(cost.len());
        for (state, key) in keys.iter().enumerate() {
            let stays = cost.get(state).copied().unwrap_or(f64::INFINITY);
            let (price, before) = [
                (stays, state),
                (silent + BEGINS, none),
                (best_cost + BEGINS, best),
            ]
            .into_iter()
            .fold(
                (f64::INFINITY, none),
                |best, one| if one.0 < best.0 { one } else { best },
            );
            next.push(price - (LEAST + (1.0 - LEAST) * belief(&heard, key + tuning)).ln());
            back.push(u16::try_from(before).unwrap_or(0));
        }
        let (price, before) = if best_cost + ENDS < silent {
            (best_cost + ENDS, best)
        } else {
            (silent, none)
        };
        next.push(price - NO_TONE);
        back.push(u16::try_from(before).unwrap_or(0));
        cost = next;
        came.push(back);
    }
    let last = cost
        .iter()
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(b.1))
        .map_or(none, |(state, _)| state);
    let mut path = vec![none; came.len()];
    let mut state = last;
    for (n, back) in came.iter().enumerate().rev() {
        if let Some(place) = path.get_mut(n) {
            *place = state;
        }
        state = back.get(state).map_or(none, |before| usize::from(*before));
    }
    let mut carried: Option<f64> = None;
    let mut held = none;
    for (frame, state) in track.frames.iter_mut().skip(from).zip(path) {
        if state != held {
            (held, carried) = (state, None);
        }
        let Some(key) = keys.get(state) else { continue };
        carried = heard_near(frame, key + tuning).or(carried).or(Some(key + tuning));
        frame.key = carried;
    }
}

/// The mean of the candidates near a key.
fn heard_near(frame: &crate::Frame, key: f64) -> Option<f64> {
    let near = candidates(frame)
        .into_iter()
        .filter(|(heard, _)| (heard - key).abs() < 0.5);
    let (sum, weight) = near.fold((0.0, 0.0), |(sum, weight), (heard, probability)| {
        (sum + heard * probability, weight + probability)
    });
    (weight > 1e-4).then(|| sum / weight)
}

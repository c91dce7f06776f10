#![expect(clippy::cast_precision_loss, reason = "small counts")]

use super::*;
use crate::ear::Ear;
use crate::listen::listen;
use crate::testing::{Tone, sound, with_noise};

/// What was heard must be just these beginnings, each within so many seconds.
fn check(heard: &[Onset], truth: &[f64], within: f64) {
    let at: Vec<f64> = heard
        .iter()
        .map(|onset| (onset.secs * 1000.0).round() / 1000.0)
        .collect();
    assert_eq!(at.len(), truth.len(), "{at:?} for {truth:?}");
    for (heard, truth) in at.iter().zip(truth) {
        assert!((heard - truth).abs() <= within, "{heard} for {truth}");
    }
}

fn heard(tones: &[Tone], secs: f64) -> Vec<Onset> {
    onsets(&listen(&sound(tones, secs), &Ear::between(55.0, 84.0)))
}

/// Tones a slur joins: they pass over into each other in 16 ms.
fn slurred(from: f64, each: f64, keys: &[f64]) -> Vec<Tone> {
    let tone = |(n, key): (usize, &f64)| {
        let mut tone = Tone::new(from + each * n as f64, each, *key);
        (tone.attack, tone.release) = (if n == 0 { 0.03 } else { 0.016 }, 0.016);
        tone
    };
    keys.iter().enumerate().map(tone).collect()
}

#[test]
fn nothing_begins_in_silence() {
    check(&heard(&[], 0.5), &[], 0.0);
    assert!(onsets(&Track::default()).is_empty());
}

#[test]
fn tongued_repeats_of_one_note_are_told_apart() {
    let tones: Vec<Tone> = (0..6)
        .map(|n| Tone::new(0.1 + 0.15 * n as f64, 0.11, 67.0))
        .collect();
    check(&heard(&tones, 1.2), &[0.1, 0.25, 0.4, 0.55, 0.7, 0.85], 0.010);
}

#[test]
fn light_tonguing_without_a_rest_is_heard_too() {
    // The old tone fades while the new one rises: a dip, no silence.
    let tone = |n: usize| Tone {
        attack: 0.03,
        release: 0.03,
        ..Tone::new(0.1 + 0.2 * n as f64, 0.185, 67.0)
    };
    let tones: Vec<Tone> = (0..4).map(tone).collect();
    check(&heard(&tones, 1.1), &[0.1, 0.3, 0.5, 0.7], 0.015);
}

#[test]
fn slurred_notes_begin_where_the_pitch_changes() {
    let heard = heard(&slurred(0.1, 0.25, &[60.0, 62.0, 64.0, 67.0, 60.0]), 1.5);
    check(&heard, &[0.1, 0.35, 0.6, 0.85, 1.1], 0.012);
    let keys: Vec<f64> = heard.iter().map(|onset| onset.key.unwrap().round()).collect();
    assert_eq!(keys, [60.0, 62.0, 64.0, 67.0, 60.0]);
    assert!(heard[1..].iter().all(|onset| onset.by.pitch));
}

#[test]
fn slurred_sixteenths_at_144_are_all_there() {
    let keys = [60.0, 62.0, 64.0, 65.0, 67.0, 69.0, 71.0, 72.0];
    let truth: Vec<f64> = (0..8).map(|n| 0.1 + 0.104 * n as f64).collect();
    check(&heard(&slurred(0.1, 0.104, &keys), 1.1), &truth, 0.015);
}

#[test]
fn a_trill_of_a_semitone_at_ten_notes_a_second_is_notes() {
    let keys = [64.0, 65.0, 64.0, 65.0, 64.0, 65.0, 64.0, 65.0];
    let truth: Vec<f64> = (0..8).map(|n| 0.1 + 0.1 * n as f64).collect();
    check(&heard(&slurred(0.1, 0.1, &keys), 1.1), &truth, 0.015);
}

#[test]
fn vibrato_is_one_tone() {
    for vibrato in [0.2, 0.4, 0.5] {
        let tone = Tone {
            vibrato,
            ..Tone::new(0.1, 1.5, 69.3)
        };
        check(&heard(&[tone], 1.8), &[0.1], 0.012);
    }
}

#[test]
fn a_swell_is_one_tone() {
    let tone = Tone {
        attack: 0.8,
        ..Tone::new(0.1, 1.5, 69.0)
    };
    assert_eq!(heard(&[tone], 1.8).len(), 1);
}

#[test]
fn noise_ten_decibels_under_hides_no_beginning_and_adds_none() {
    let mut tones = slurred(0.3, 0.25, &[60.0, 64.0, 62.0]);
    tones.extend((0..3).map(|n| Tone::new(1.2 + 0.3 * n as f64, 0.25, 67.0)));
    let take = with_noise(sound(&tones, 2.4), 10.0);
    let heard = onsets(&listen(&take, &Ear::between(55.0, 84.0)));
    check(&heard, &[0.3, 0.55, 0.8, 1.2, 1.5, 1.8], 0.020);
}

#[test]
fn steps_forget_no_pitched_frame_and_stay_in_order() {
    let track = listen(
        &sound(&slurred(0.1, 0.2, &[60.0, 64.0, 59.0]), 1.0),
        &Ear::between(55.0, 84.0),
    );
    let steps = steps(&track.frames, track.hop_secs);
    assert!(steps.windows(2).all(|pair| pair[0].to <= pair[1].from));
    for (n, frame) in track.frames.iter().enumerate() {
        let inside = steps.iter().any(|step| (step.from..step.to).contains(&n));
        assert!(frame.key.is_none() || inside, "frame {n}");
    }
}

#![expect(clippy::cast_precision_loss, reason = "small counts")]

use super::*;
use crate::testing::{RATE, Tone, sound, with_noise};

/// Cents by which the followed pitch is off, for frames inside the tone, and the number of those without pitch.
fn off(track: &Track, from: f64, to: f64, truth: impl Fn(f64) -> f64) -> (Vec<f64>, usize) {
    let inside = track
        .frames
        .iter()
        .filter(|frame| (from..to).contains(&frame.secs));
    let (heard, not): (Vec<&Frame>, Vec<&Frame>) = inside.partition(|frame| frame.key.is_some());
    let off = heard
        .iter()
        .filter_map(|frame| Some(100.0 * (frame.key? - truth(frame.secs)).abs()))
        .collect();
    (off, not.len())
}

fn worst(values: &[f64]) -> f64 {
    values.iter().copied().fold(0.0, f64::max)
}

#[test]
fn the_difference_function_is_the_plain_formula() {
    let size = 200;
    let frame: Vec<f32> = sound(&[Tone::new(0.0, 0.1, 60.3)], 0.1).samples[300..300 + size].to_vec();
    for fine in [1, 2, 4] {
        let mut fast = Difference::new(size, fine);
        assert!(fast.look(&frame));
        let mut sum = 0.0;
        for lag in 1..size / 2 {
            let pairs = size - lag;
            let plain = (0..pairs)
                .map(|n| (frame[n] - frame[n + lag]).powi(2))
                .sum::<f32>()
                / pairs as f32;
            let got = fast.plain[lag * fine];
            assert!(
                (plain - got).abs() < 1e-5,
                "lag {lag} of {fine}: {plain} but {got}"
            );
            sum += plain;
            if fine == 1 {
                let normed = plain * lag as f32 / sum;
                assert!((normed - fast.normed[lag]).abs() < 1e-3, "lag {lag}: {normed}");
            }
        }
    }
}

#[test]
fn low_and_high_notes_are_heard_within_a_cent() {
    // B♭1 of a tuba, C2, a cello's open A, a flute's A5, a violin's C7, a piccolo's C8; and one 40 cents flat.
    for key in [34.0, 36.0, 57.0, 81.0, 96.0, 108.0, 69.6] {
        let track = listen(
            &sound(&[Tone::new(0.1, 0.5, key)], 0.7),
            &Ear::between(key - 12.0, key + 12.0),
        );
        let (off, missing) = off(&track, 0.15, 0.55, |_| key);
        assert_eq!(missing, 0, "key {key}");
        assert!(worst(&off) < 1.0, "key {key}: {}", worst(&off));
    }
}

#[test]
fn silence_and_noise_have_no_pitch() {
    let silence = Recording {
        rate: RATE,
        samples: vec![0.0; 11_025],
    };
    assert!(
        listen(&silence, &Ear::default())
            .frames
            .iter()
            .all(|frame| frame.key.is_none())
    );
    let mut noise = with_noise(sound(&[Tone::new(0.0, 0.5, 60.0)], 0.5), -60.0);
    noise.samples.iter_mut().for_each(|sample| *sample *= 0.001);
    let track = listen(&noise, &Ear::default());
    let pitched = track.frames.iter().filter(|frame| frame.key.is_some()).count();
    assert!(
        pitched * 20 < track.frames.len(),
        "{pitched} of {}",
        track.frames.len()
    );
}

#[test]
fn noise_ten_decibels_under_the_tone_costs_no_octave() {
    for key in [34.0, 57.0, 81.0, 96.0] {
        let take = with_noise(sound(&[Tone::new(0.1, 0.6, key)], 0.8), 10.0);
        let track = listen(&take, &Ear::between(key - 18.0, key + 18.0));
        let (off, missing) = off(&track, 0.15, 0.65, |_| key);
        assert_eq!(missing, 0, "key {key}");
        assert!(worst(&off) < 25.0, "key {key}: {}", worst(&off));
    }
}

#[test]
fn vibrato_is_followed_not_smoothed_away() {
    let tone = Tone {
        vibrato: 0.4,
        ..Tone::new(0.0, 1.0, 69.0)
    };
    let track = listen(&sound(&[tone], 1.0), &Ear::between(55.0, 96.0));
    let (off, missing) = off(&track, 0.1, 0.9, |t| {
        69.0 + 0.4 * (std::f64::consts::TAU * 5.5 * t).sin()
    });
    assert_eq!(missing, 0);
    assert!(worst(&off) < 8.0, "{}", worst(&off));
}

/// When the path leaps between two tones slurred at 0.4 s (passing over into each other until 0.41 s).
fn leap(from: f64, to: f64) -> f64 {
    let [mut first, mut second] = [Tone::new(0.1, 0.3, from), Tone::new(0.4, 0.3, to)];
    (first.release, second.attack) = (0.01, 0.01);
    let track = listen(&sound(&[first, second], 0.9), &Ear::between(48.0, 84.0));
    let nearer = |frame: &&Frame| frame.key.is_some_and(|key| (key - to).abs() < (key - from).abs());
    let pitched = || track.frames.iter().filter(|frame| frame.key.is_some());
    let after = pitched().find(nearer).unwrap().secs;
    let before = pitched().take_while(|frame| !nearer(frame)).last().unwrap().secs;
    assert!(
        pitched()
            .filter(|frame| frame.secs > after && frame.secs < 0.68)
            .all(|frame| nearer(&frame))
    );
    0.5 * (before + after)
}

#[test]
fn a_slurred_leap_is_heard_when_it_is_played() {
    for (from, to) in [
        (57.0, 64.0),
        (64.0, 57.0),
        (57.0, 73.0),
        (73.0, 57.0),
        (60.0, 62.0),
    ] {
        let at = leap(from, to);
        assert!((at - 0.405).abs() < 0.008, "{from} to {to}: {at}");
    }
    // An octave's period also fits the lower tone as long as any of that is in the frame: up is heard late, down early.
    for (from, to) in [(57.0, 69.0), (69.0, 57.0)] {
        let at = leap(from, to);
        assert!((at - 0.405).abs() < 0.025, "{from} to {to}: {at}");
    }
}

#[test]
fn sixteenths_at_144_keep_their_pitches() {
    let keys = [60.0, 62.0, 64.0, 65.0, 67.0, 65.0, 64.0, 62.0];
    let tones = (0..8)
        .map(|n| Tone::new(0.104 * n as f64, 0.08, keys[n]))
        .collect::<Vec<_>>();
    let track = listen(&sound(&tones, 1.0), &Ear::between(55.0, 91.0));
    for (n, key) in keys.iter().enumerate() {
        let from = 0.104 * n as f64;
        let (off, missing) = off(&track, from + 0.03, from + 0.075, |_| *key);
        assert_eq!(missing, 0, "note {n}");
        assert!(worst(&off) < 10.0, "note {n}: {}", worst(&off));
    }
}

#[test]
fn the_players_a_is_estimated_through_vibrato() {
    for cents in [-40.0_f64, -15.0, 0.0, 25.0, 40.0] {
        let keys = [60.0, 64.0, 67.0, 69.0, 66.0];
        let tones = (0..5).map(|n| Tone {
            vibrato: 0.25,
            ..Tone::new(0.5 * n as f64, 0.45, keys[n] + cents / 100.0)
        });
        let track = listen(&sound(&tones.collect::<Vec<_>>(), 2.6), &Ear::between(55.0, 91.0));
        let heard = 1200.0 * (track.a4 / 440.0).log2();
        assert!((heard - cents).abs() < 3.0, "{cents} heard as {heard}");
    }
}

#[test]
fn frames_cover_the_recording_and_its_ends() {
    let take = sound(&[Tone::new(0.0, 0.2, 60.0)], 0.2);
    let track = listen(&take, &Ear::default());
    assert_eq!(track.frames.len(), take.samples.len() / 110 + 1);
    assert!(listen(&Recording::default(), &Ear::default()).frames.is_empty());
    for length in [1, 2, 109, 110, 111] {
        let short = Recording {
            rate: RATE,
            samples: vec![0.1; length],
        };
        assert_eq!(listen(&short, &Ear::default()).frames.len(), length / 110 + 1);
    }
}

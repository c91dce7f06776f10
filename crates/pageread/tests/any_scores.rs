//! Whatever scores come back, a piece comes of them whose events stand in their bars and whose places are on the page.
#![allow(clippy::unwrap_used)]

use job::{SeenSystem, SeenWords};
use pageread::{System, assemble};
use proptest::prelude::*;

/// Scores of one frame of the reader; the first so many say what stands on the staff.
const FRAME: usize = 269;
const MAIN: usize = 76;

/// Frames in which a sign stands out, over noise: blank between two of them as often as not.
fn frames() -> impl Strategy<Value = Vec<f32>> {
    let frame = (
        0..MAIN,
        any::<bool>(),
        prop::collection::vec(-6.0_f32..6.0, FRAME),
    )
        .prop_map(|(sign, blank, mut scores)| {
            scores[if blank { 0 } else { sign }] = 20.0;
            scores
        });
    prop::collection::vec(frame, 0..60).prop_map(|frames| frames.concat())
}

fn place() -> SeenSystem {
    SeenSystem {
        left: 80.0,
        scale: 1.5,
        middle: (300.0, 310.0),
        width: 240,
        words: ["♩ = 96", "⟦A⟧", "17", "dolce", "D.C. al Fine", "mf", "="]
            .iter()
            .zip(0_u8..)
            .map(|(text, n)| words(f32::from(n) * 35.0, text))
            .collect(),
    }
}

fn words(left: f32, text: &str) -> SeenWords {
    SeenWords {
        bounds: (left, 60.0, left + 30.0, 75.0),
        text: text.to_owned(),
        sure: 0.9,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn a_piece_comes_of_any_scores(systems in prop::collection::vec(frames(), 0..4)) {
        let systems: Vec<System> = systems.iter().map(|scores| System::new(0, &place(), scores)).collect();
        let read = assemble(&systems);
        for event in &read.piece.parts[0].events {
            prop_assert!(event.place.bar.get() < read.piece.bars.len());
        }
        prop_assert!(read.doubtful <= read.signs && read.bars_off <= read.bars);
    }

    /// Numbers that are none, and frames cut off.
    #[test]
    fn nonsense_is_borne(scores in prop::collection::vec(prop_oneof![
        Just(f32::NAN), Just(f32::INFINITY), Just(f32::NEG_INFINITY), Just(f32::MAX), any::<f32>()
    ], 0..4 * FRAME)) {
        let odd = SeenSystem { left: f32::NAN, scale: f32::INFINITY, middle: (f32::NAN, -1.0), width: u32::MAX, words: vec![words(f32::NAN, "♩ ="), words(f32::INFINITY, "17")] };
        let _ = assemble(&[System::new(usize::MAX, &odd, &scores), System::new(0, &place(), &scores)]);
    }
}

//! The recorded page that the tests of mending stand on: two systems of a demo piece, as in `tests/page.rs`.

use job::{Answer, Letter};
use pageread::System;

const SEEN: &[u8] = include_bytes!("../../fixtures/two-systems.letter");

/// Its systems, as the press saw them.
pub fn systems() -> Vec<System> {
    let answer: Letter<Answer> = Letter::read(&mut &*SEEN).unwrap();
    let Answer::Seen(page) = answer.head else {
        panic!("the recorded answer is no page");
    };
    let seen = page.systems.iter().zip(&answer.blobs);
    seen.map(|(place, scores)| {
        let (fours, _) = scores.as_chunks::<4>();
        let scores: Vec<f32> = fours.iter().map(|four| f32::from_le_bytes(*four)).collect();
        System::new(0, place, &scores)
    })
    .collect()
}

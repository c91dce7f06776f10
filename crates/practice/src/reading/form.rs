//! How is the piece built? Phrases that answer each other, which of them return, and how each closes.

use super::chance::Chance;

/// How a phrase closes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Cadence {
    /// Open, on the dominant.
    Half,
    /// Closed, on the tonic.
    Full,
}

/// One phrase.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Phrase {
    /// Its material: phrases of one letter begin alike.
    pub(super) letter: u8,
    /// The earlier phrase whose beginning returns.
    pub(super) returns: Option<usize>,
    pub(super) bars: usize,
    pub(super) cadence: Cadence,
    /// Moves away from the home chord: a middle part.
    pub(super) away: bool,
}

/// Letters of the phrases by their number; capital letters close.
/// Source: period, ternary and rounded binary forms as handbooks of form give them (common practice).
const SCHEMES: [&[&str]; 8] = [
    &["A"],
    &["aA"],
    &["abA", "aaA"],
    &["aAbA", "abcA", "aAbA"],
    &["aAbcA", "abcaA"],
    &["aAbcaA", "aAbaAA"],
    &["aAbcbaA"],
    &["aAbBcaaA", "aAbcaAaA"],
];

/// The phrases of a piece of so many bars (at least one).
pub(super) fn phrases(bars: usize, chance: &mut Chance) -> Vec<Phrase> {
    let lengths = lengths(bars);
    let scheme = scheme(lengths.len(), chance);
    let mut phrases: Vec<Phrase> = Vec::new();
    for (letter, bars) in scheme.bytes().zip(lengths) {
        let material = letter.to_ascii_lowercase();
        let returns = phrases
            .iter()
            .position(|phrase| phrase.letter == material)
            .filter(|first| phrases.get(*first).is_some_and(|phrase| phrase.bars <= bars + 1));
        let full = letter.is_ascii_uppercase();
        phrases.push(Phrase {
            letter: material,
            returns,
            bars,
            cadence: if full { Cadence::Full } else { Cadence::Half },
            away: material != b'a',
        });
    }
    phrases
}

/// Fours, with what is left over in the last phrase or a phrase of its own.
fn lengths(bars: usize) -> Vec<usize> {
    let (fours, rest) = (bars / 4, bars % 4);
    let mut lengths = vec![4; fours];
    match (fours, rest) {
        (_, 0) => {}
        (0, rest) => lengths.push(rest),
        // Six bars are three and three, five and nine have one longer phrase, seven is four and three.
        (1, 2) => lengths = vec![3, 3],
        (_, 1 | 2) => {
            if let Some(last) = lengths.last_mut() {
                *last += rest;
            }
        }
        _ => lengths.push(rest),
    }
    lengths
}

fn scheme(phrases: usize, chance: &mut Chance) -> String {
    if let Some(schemes) = SCHEMES.get(phrases.saturating_sub(1)) {
        return chance.pick(schemes).unwrap_or("A").to_owned();
    }
    // A longer piece comes back to its first part after each new one.
    let mut scheme = String::from("aA");
    let mut new = b'b';
    while scheme.len() + 4 <= phrases {
        scheme.push(char::from(new));
        scheme.push(char::from(new.to_ascii_uppercase()));
        scheme.push_str("aA");
        new = if new >= b'f' { b'b' } else { new + 1 };
    }
    // The last part is the first one again; one or two phrases too few are made up in the middle.
    let missing = phrases.saturating_sub(scheme.len());
    let at = scheme.len() - 2;
    scheme.insert_str(at, &"gh".repeat(2)[..missing.min(4)]);
    scheme
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_length_is_filled_and_closes() {
        for bars in 1..=64 {
            for seed in 0..20 {
                let phrases = phrases(bars, &mut Chance::new(seed));
                assert_eq!(phrases.iter().map(|phrase| phrase.bars).sum::<usize>(), bars);
                assert_eq!(phrases.last().map(|phrase| phrase.cadence), Some(Cadence::Full));
                assert!(phrases.iter().all(|phrase| phrase.bars >= 2 || bars < 4));
            }
        }
    }

    #[test]
    fn eight_bars_are_question_and_answer() {
        let phrases = phrases(8, &mut Chance::new(1));
        let [question, answer] = phrases.as_slice() else {
            panic!("two phrases");
        };
        assert_eq!((question.cadence, answer.cadence), (Cadence::Half, Cadence::Full));
        assert_eq!(answer.returns, Some(0));
    }
}

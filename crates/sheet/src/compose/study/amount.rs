//! How much does a bar ask, in words? To read, and for the hands.

use load::reading::{THRESHOLDS, amount_words};
use load::{BarLoad, Player};

/// How much a bar asks.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Asks {
    /// From 1 (little to read) to 4 (very much); 0 for a bar of rests.
    pub(crate) to_read: u8,
    /// The same for the hands at tempo.
    pub(crate) hands: u8,
}

/// Up to so much of what the hands do comfortably at first sight is little, some, much at tempo; twice as much is what
/// they do comfortably after practice, as the trouble spots are judged. Judgement.
const HANDS: [f64; 3] = [0.5, 1.0, 2.0];

impl Asks {
    pub(crate) fn of(bar: &BarLoad, player: &Player) -> Self {
        let comfortable = load::first_tempo::movements(player.experience);
        Self {
            to_read: step(bar.reading.total(), THRESHOLDS),
            hands: step(bar.hand.total() / comfortable, HANDS),
        }
    }

    /// `much to read`.
    pub(super) fn reading_words(self) -> &'static str {
        let [little, some, much] = THRESHOLDS;
        match self.to_read {
            0 => "nothing to read",
            1 => amount_words(little),
            2 => amount_words(some),
            3 => amount_words(much),
            _ => amount_words(f64::INFINITY),
        }
    }

    /// `much for the hands`.
    pub(super) const fn hands_words(self) -> &'static str {
        match self.hands {
            0 => "nothing for the hands",
            1 => "little for the hands",
            2 => "some for the hands",
            3 => "much for the hands",
            _ => "very much for the hands",
        }
    }

    /// Both, in a clause; empty for a bar of rests.
    pub(crate) fn says(self) -> String {
        match (self.to_read, self.hands) {
            (0, 0) => String::new(),
            (_, 0) => self.reading_words().to_owned(),
            _ => format!("{}, {}", self.reading_words(), self.hands_words()),
        }
    }
}

fn step(amount: f64, [little, some, much]: [f64; 3]) -> u8 {
    if amount < 0.005 {
        0
    } else if amount <= little {
        1
    } else if amount <= some {
        2
    } else if amount <= much {
        3
    } else {
        4
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_those_of_the_reading_load() {
        for bits in [0.5, 11.0, 13.0, 30.0, 90.0] {
            let asks = Asks {
                to_read: step(bits, THRESHOLDS),
                hands: 0,
            };
            assert_eq!(asks.reading_words(), amount_words(bits));
        }
        assert_eq!(step(0.0, THRESHOLDS), 0);
    }
}

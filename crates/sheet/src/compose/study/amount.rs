//! How much does a bar ask, in words? To read, and for the hands.

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
const HANDS: [f64; 3] = [0.8, 1.5, 2.2];

impl Asks {
    pub(crate) fn of(bar: &BarLoad, player: &Player) -> Self {
        let comfortable = load::first_tempo::movements(player.experience);
        Self {
            to_read: bar.to_read(),
            hands: step(bar.hand.total() / comfortable, HANDS),
        }
    }

    /// `much to read`.
    pub(super) const fn reading_words(self) -> &'static str {
        match self.to_read {
            0 => "nothing to read",
            1 => "little to read",
            2 => "some to read",
            3 => "much to read",
            _ => "very much to read",
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
    fn words_are_those_of_the_study() {
        let mut bar = load::BarLoad {
            bar: notation::BarIndex::from_usize(0),
            reading: load::Account::default(),
            hand: load::Account::default(),
            breath: load::Account::default(),
            breath_secs: None,
            fullness: 0.0,
            beats: Vec::new(),
        };
        let player = Player::usual(None, instruments::Experience::Student);
        for (fullness, step) in [(0.0, 0), (0.2, 1), (0.5, 2), (1.0, 3), (2.0, 4)] {
            bar.fullness = fullness;
            let asks = Asks::of(&bar, &player);
            assert_eq!((asks.to_read, asks.reading_words()), (step, bar.to_read_words()));
        }
    }
}

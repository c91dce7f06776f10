//! What moves between two fingerings? Digits down, up, rolled, slid: what a hand does, without a price.

use super::hand::{Digit, Keys, State};

/// A digit that goes from some keys to others without leaving the instrument.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Slide {
    /// Which digit.
    pub digit: Digit,
    /// The keys it leaves.
    pub from: Keys,
    /// The keys it goes to.
    pub to: Keys,
    /// True between keys with rollers.
    pub on_rollers: bool,
}

/// What moves from one fingering to the next.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Movement {
    /// Digits that go down, or press a further key.
    pub down: Vec<Digit>,
    /// Digits that come up, or let go of a key.
    pub up: Vec<Digit>,
    /// Digits that roll between the whole hole and half of it.
    pub rolled: Vec<Digit>,
    /// Digits that change keys.
    pub slides: Vec<Slide>,
}

impl Movement {
    /// How many digits move.
    #[must_use]
    pub fn count(&self) -> usize {
        self.down.len() + self.up.len() + self.rolled.len() + self.slides.len()
    }

    /// Digits of one hand that go against each other: the smaller of those that go down and those that come up.
    #[must_use]
    pub fn against(&self, left: bool) -> usize {
        let of_hand = |digits: &[Digit]| digits.iter().filter(|digit| digit.is_left() == left).count();
        of_hand(&self.down).min(of_hand(&self.up))
    }

    /// True if one hand as a whole closes while the other opens.
    #[must_use]
    pub fn hands_against(&self) -> bool {
        let net = |left: bool| {
            let of_hand = |digits: &[Digit]| digits.iter().filter(|digit| digit.is_left() == left).count();
            of_hand(&self.down).cmp(&of_hand(&self.up))
        };
        net(true) != std::cmp::Ordering::Equal && net(true) == net(false).reverse()
    }

    /// Every digit that moves, in the order of the hands.
    #[must_use]
    pub fn digits(&self) -> Vec<Digit> {
        let slid = self.slides.iter().map(|slide| slide.digit);
        let mut all: Vec<Digit> = (self.down.iter().chain(&self.up).chain(&self.rolled).copied())
            .chain(slid)
            .collect();
        all.sort_unstable();
        all
    }
}

/// What moves from one state to another, with the chart's roller keys.
#[must_use]
pub fn movement(from: &State, to: &State, rollers: &[(Digit, Keys)]) -> Movement {
    let mut moved = Movement::default();
    for digit in Digit::ALL {
        let (before, after) = (from.of(digit), to.of(digit));
        if before == after {
            continue;
        }
        let halves = before.contains(Keys::HALF) != after.contains(Keys::HALF);
        if before.is_empty() {
            moved.down.push(digit);
        } else if after.is_empty() {
            moved.up.push(digit);
        } else if halves {
            moved.rolled.push(digit);
        } else if after.contains(before) {
            moved.down.push(digit);
        } else if before.contains(after) {
            moved.up.push(digit);
        } else {
            let both = before.with(after);
            moved.slides.push(Slide {
                digit,
                from: before,
                to: after,
                on_rollers: rollers
                    .iter()
                    .any(|(on, keys)| *on == digit && keys.contains(both)),
            });
        }
    }
    moved
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn state(text: &str) -> State {
        State::parse(text).expect(text)
    }

    #[test]
    fn each_kind_of_movement_is_told_apart() {
        let rollers = [(Digit::L4, Keys::parse("G#+C#").expect("keys"))];
        let moved = movement(
            &state("LT L1:h L2 L4:G# | R4:C"),
            &state("LT:o+R L1 L4:C# | R1 R4:Eb"),
            &rollers,
        );
        assert_eq!(moved.down, [Digit::LT, Digit::R1]);
        assert_eq!(moved.up, [Digit::L2]);
        assert_eq!(moved.rolled, [Digit::L1]);
        let slides: Vec<_> = moved.slides.iter().map(|s| (s.digit, s.on_rollers)).collect();
        assert_eq!(slides, [(Digit::L4, true), (Digit::R4, false)]);
        assert_eq!(
            (moved.count(), moved.against(true), moved.against(false)),
            (6, 1, 0)
        );
    }

    #[test]
    fn hands_go_against_each_other_only_as_a_whole() {
        let against = |a: &str, b: &str| movement(&state(a), &state(b), &[]).hands_against();
        assert!(against("L1 L2 |", "L1 | R1"));
        assert!(!against("L1 |", "L1 | R1"));
        assert!(
            !against("L1 | R1", "L2 | R1 R2"),
            "one up and one down in the left hand: no direction"
        );
    }

    proptest! {
        #[test]
        fn the_way_back_mirrors_the_way_there(a in any_state(), b in any_state()) {
            let (there, back) = (movement(&a, &b, &[]), movement(&b, &a, &[]));
            prop_assert_eq!(&there.down, &back.up);
            prop_assert_eq!(&there.up, &back.down);
            prop_assert_eq!(&there.rolled, &back.rolled);
            prop_assert_eq!(there.slides.len(), back.slides.len());
            prop_assert_eq!(movement(&a, &a, &[]).count(), 0);
        }
    }

    fn any_state() -> impl Strategy<Value = State> {
        let keys = prop::sample::select(vec!["", "o", "h", "Eb", "o+Eb", "C"]);
        prop::collection::vec(keys, 12).prop_map(|keys| {
            Digit::ALL
                .into_iter()
                .zip(keys)
                .fold(State::default(), |state, (digit, keys)| {
                    Keys::parse(keys).map_or(state, |keys| state.with(digit, keys))
                })
        })
    }
}

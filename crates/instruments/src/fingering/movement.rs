//! What moves between two fingerings? Digits down, up, rolled, slid: what a hand does, without a price.

use super::hand::{Digit, Keys, State};

/// What makes it easier for a digit to change keys.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Ease {
    /// Nothing.
    Slid,
    /// Rollers between the keys.
    Rollers,
    /// The finger rolls or pivots without leaving its place.
    Pivot,
}

/// A digit that goes from some keys to others without leaving the instrument.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Slide {
    /// Which digit.
    pub digit: Digit,
    /// The keys it leaves.
    pub from: Keys,
    /// The keys it goes to.
    pub to: Keys,
    /// What makes it easier.
    pub ease: Ease,
}

/// What matters about an instrument's keys when a finger goes from one to another.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Touch {
    /// Keys with rollers between them, by digit.
    pub rollers: Vec<(Digit, Keys)>,
    /// Keys between which a finger rolls or pivots, by digit.
    pub pivots: Vec<(Digit, Keys)>,
    /// Keys that one finger covers together and can't take or leave singly without sliding, by digit.
    pub straddled: Vec<(Digit, Keys)>,
}

impl Touch {
    fn ease(&self, digit: Digit, keys: Keys) -> Ease {
        let among = |list: &[(Digit, Keys)]| list.iter().any(|(on, all)| *on == digit && all.contains(keys));
        if among(&self.rollers) {
            Ease::Rollers
        } else if among(&self.pivots) {
            Ease::Pivot
        } else {
            Ease::Slid
        }
    }
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

/// What moves from one state to another on an instrument's keys.
#[must_use]
pub fn movement(from: &State, to: &State, touch: &Touch) -> Movement {
    let mut moved = Movement::default();
    for digit in Digit::ALL {
        let (before, after) = (from.of(digit), to.of(digit));
        if before == after {
            continue;
        }
        let both = before.with(after);
        let straddles = touch
            .straddled
            .iter()
            .any(|(on, all)| *on == digit && both.contains(*all));
        let halves = before.contains(Keys::HALF) != after.contains(Keys::HALF);
        if before.is_empty() {
            moved.down.push(digit);
        } else if after.is_empty() {
            moved.up.push(digit);
        } else if halves {
            moved.rolled.push(digit);
        } else if after.contains(before) && !straddles {
            moved.down.push(digit);
        } else if before.contains(after) && !straddles {
            moved.up.push(digit);
        } else {
            moved.slides.push(Slide {
                digit,
                from: before,
                to: after,
                ease: touch.ease(digit, both),
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
        let touch = Touch {
            rollers: vec![(Digit::L4, Keys::parse("G#+C#").expect("keys"))],
            ..Touch::default()
        };
        let moved = movement(
            &state("LT L1:h L2 L4:G# | R4:C"),
            &state("LT:o+R L1 L4:C# | R1 R4:Eb"),
            &touch,
        );
        assert_eq!(moved.down, [Digit::LT, Digit::R1]);
        assert_eq!(moved.up, [Digit::L2]);
        assert_eq!(moved.rolled, [Digit::L1]);
        let slides: Vec<_> = moved.slides.iter().map(|s| (s.digit, s.ease)).collect();
        assert_eq!(slides, [(Digit::L4, Ease::Rollers), (Digit::R4, Ease::Slid)]);
        assert_eq!(
            (moved.count(), moved.against(true), moved.against(false)),
            (6, 1, 0)
        );
    }

    #[test]
    fn hands_go_against_each_other_only_as_a_whole() {
        let against = |a: &str, b: &str| movement(&state(a), &state(b), &Touch::default()).hands_against();
        assert!(against("L1 L2 |", "L1 | R1"));
        assert!(!against("L1 |", "L1 | R1"));
        assert!(
            !against("L1 | R1", "L2 | R1 R2"),
            "one up and one down in the left hand: no direction"
        );
    }

    /// Source: Woodwind Fingering Guide: bis is for passages without B natural.
    #[test]
    fn leaving_one_of_two_keys_under_one_finger_is_a_slide() {
        let touch = Touch {
            straddled: vec![(Digit::L1, Keys::parse("o+bis").expect("keys"))],
            ..Touch::default()
        };
        let moved = movement(&state("L1:o+bis |"), &state("L1 |"), &touch);
        assert_eq!((moved.slides.len(), moved.count()), (1, 1));
        let lifted = movement(&state("L1:o+bis |"), &state("|"), &touch);
        assert_eq!((lifted.slides.len(), lifted.up.len()), (0, 1));
    }

    proptest! {
        #[test]
        fn the_way_back_mirrors_the_way_there(a in any_state(), b in any_state()) {
            let (there, back) = (movement(&a, &b, &Touch::default()), movement(&b, &a, &Touch::default()));
            prop_assert_eq!(&there.down, &back.up);
            prop_assert_eq!(&there.up, &back.down);
            prop_assert_eq!(&there.rolled, &back.rolled);
            prop_assert_eq!(there.slides.len(), back.slides.len());
            prop_assert_eq!(movement(&a, &a, &Touch::default()).count(), 0);
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

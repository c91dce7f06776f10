//! Which wrong answers stand beside the right one, and in what order? Drawn by lot, the same for the same seed.

use super::{Choice, Choosing, Look, Worth};
use crate::reading::chance::Chance;

/// Lots for one question.
pub(super) struct Lots(Chance);

impl Lots {
    /// Each question draws for itself.
    pub(super) fn of(seed: u64, look: Look) -> Self {
        let name = look.id().bytes();
        let own = name.fold(seed ^ 0x9E37_79B9_7F4A_7C15, |all, byte| {
            all.rotate_left(9) ^ u64::from(byte)
        });
        Self(Chance::new(own))
    }

    pub(super) fn below(&mut self, number: usize) -> usize {
        self.0.below(number)
    }

    /// Any order, each as likely as another (Fisher and Yates).
    pub(super) fn shuffle<T>(&mut self, all: &mut [T]) {
        for last in (1..all.len()).rev() {
            all.swap(last, self.below(last + 1));
        }
    }

    /// So many of them, in any order.
    pub(super) fn some<T>(&mut self, mut all: Vec<T>, most: usize) -> Vec<T> {
        self.shuffle(&mut all);
        all.truncate(most);
        all
    }

    /// One to be chosen: all that is right, and wrong ones up to so many in all. What is doubtful stands before what is wrong.
    pub(super) fn one(
        &mut self,
        asks: &str,
        right: Vec<Choice>,
        others: Vec<Choice>,
        most: usize,
    ) -> Choosing {
        let mut choices = right;
        let (mut doubtful, wrong): (Vec<Choice>, Vec<Choice>) = others
            .into_iter()
            .partition(|choice| choice.worth == Worth::Doubtful);
        self.shuffle(&mut doubtful);
        let wrong = self.some(wrong, most);
        for choice in doubtful.into_iter().take(1).chain(wrong) {
            if choices.len() < most && choices.iter().all(|known| known.says != choice.says) {
                choices.push(choice);
            }
        }
        self.shuffle(&mut choices);
        Choosing {
            asks: asks.to_owned(),
            several: false,
            choices,
        }
    }
}

/// Several to be chosen, and at the end that there is none of it.
pub(super) fn several(asks: &str, mut choices: Vec<Choice>, none: &str) -> Choosing {
    let any = choices.iter().any(|choice| choice.worth == Worth::Right);
    let worth = if any { Worth::Wrong } else { Worth::Right };
    choices.push(Choice::new(worth, none, "", Vec::new()));
    Choosing {
        asks: asks.to_owned(),
        several: true,
        choices,
    }
}

//! Is what comes a return? Follows the last place in the piece that went like this, for as long as it goes on alike.
//!
//! A look-alike is recognised by its last notes, values and intervals, so that one shifted to other notes is one too.

use std::collections::BTreeMap;

/// So many things alike make a return.
const SEED: usize = 2;
/// Longer agreements are not told apart.
const LONGEST: usize = 32;

/// What was read, and the place that is being followed.
#[derive(Clone, Debug, Default)]
pub struct Returning {
    read: Vec<Step>,
    last_after: BTreeMap<u64, usize>,
    /// The next thing to come by the place followed, and for how long it has agreed.
    next: Option<usize>,
    agreed: usize,
}

/// A thing read: the symbol of its value, and the interval that led to it (`None` for a rest and for the first note).
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Step {
    /// Its value.
    pub value: u8,
    /// Semitones from the note before.
    pub interval: Option<i32>,
}

impl Returning {
    /// What comes if it is a return.
    #[must_use]
    pub fn expected(&self) -> Option<Step> {
        self.next.and_then(|at| self.read.get(at)).copied()
    }

    /// For how many things it has agreed, as a class: 0 for no return.
    #[must_use]
    pub const fn class(&self) -> usize {
        match (self.next.is_some(), self.agreed) {
            (false, _) => 0,
            (true, ..=4) => 1,
            (true, 5..=8) => 2,
            (true, 9..=16) => 3,
            (true, _) => 4,
        }
    }

    /// Reads on. If it was a return, says of which thing read.
    pub fn read(&mut self, step: Step) -> Option<usize> {
        let like = self.next.filter(|_| self.expected() == Some(step));
        if like.is_some() {
            self.next = self.next.map(|at| at + 1);
            self.agreed = (self.agreed + 1).min(LONGEST);
        } else {
            self.next = None;
        }
        self.read.push(step);
        let Some(tail) = self
            .read
            .len()
            .checked_sub(SEED)
            .and_then(|from| self.read.get(from..))
        else {
            return like;
        };
        let key = tail.iter().fold(0, |key: u64, step| {
            let interval = step
                .interval
                .map_or(0xff, |semitones| semitones.rem_euclid(0xff).unsigned_abs());
            (key << 16) | (u64::from(step.value) << 8) | u64::from(interval)
        });
        let earlier = self.last_after.insert(key, self.read.len());
        if self.next.is_none()
            && let Some(at) = earlier
        {
            self.next = Some(at);
            self.agreed = self.agreement(at);
        }
        like
    }

    /// How many things before a place agree with the last ones read.
    fn agreement(&self, at: usize) -> usize {
        let (now, then) = (
            self.read.iter().rev(),
            self.read.get(..at).unwrap_or(&[]).iter().rev(),
        );
        now.zip(then).take(LONGEST).take_while(|(a, b)| a == b).count()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_that_returns_on_other_notes_is_followed() {
        let mut returning = Returning::default();
        let figure = [2, 2, -4, 5, 1];
        let step = |interval| Step {
            value: 1,
            interval: Some(interval),
        };
        for interval in figure.into_iter().chain([7]).chain(figure.into_iter().take(3)) {
            let _ = returning.read(step(interval));
        }
        assert_eq!(returning.expected(), Some(step(5)));
        assert_eq!(returning.class(), 1);
        assert_eq!(returning.read(step(-1)), None);
        assert_eq!(returning.expected(), None);
        assert_eq!(returning.class(), 0);
    }
}

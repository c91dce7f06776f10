//! Which ways are still open at one moment? The cheapest for each state.

use super::{Doing, NOWHERE, Token};

/// Tokens dearer than the best by more than this are given up.
pub(super) const BEAM: f64 = 18.0;

/// The tokens of one moment, the cheapest for each state.
pub(super) struct Front {
    pub tokens: Vec<(Token, bool, u32)>,
    place: Vec<u32>,
    pub best: f64,
}

impl Front {
    pub fn new(notes: usize) -> Self {
        Self {
            tokens: Vec::new(),
            place: vec![NOWHERE; (notes + 1) * Doing::COUNT],
            best: f64::INFINITY,
        }
    }

    pub fn clear(&mut self) {
        for (token, _, _) in &self.tokens {
            if let Some(place) = self.place.get_mut(state(token)) {
                *place = NOWHERE;
            }
        }
        self.tokens.clear();
        self.best = f64::INFINITY;
    }

    /// Offers a token; `new` if something begins with it, `from` where it came from in the book.
    pub fn offer(&mut self, token: Token, new: bool, from: u32) {
        if token.cost > self.best + BEAM {
            return;
        }
        self.best = self.best.min(token.cost);
        let Some(place) = self.place.get_mut(state(&token)) else {
            return;
        };
        if *place == NOWHERE {
            *place = u32::try_from(self.tokens.len()).unwrap_or(NOWHERE);
            self.tokens.push((token, new, from));
        } else if let Some(held) = usize::try_from(*place).ok().and_then(|n| self.tokens.get_mut(n))
            && token.cost < held.0.cost
        {
            *held = (token, new, from);
        }
    }
}

pub(super) fn state(token: &Token) -> usize {
    usize::try_from(token.note).unwrap_or(0) * Doing::COUNT + token.doing.index()
}

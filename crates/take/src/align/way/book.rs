//! Which steps led here? The book of them, cleared of ways given up, and read backwards in the end.

use super::front::{BEAM, state};
use super::{Doing, NOWHERE, Step, Token, Walk};

/// What is written down of each step: where it came from, and the step.
#[derive(Clone, Copy, Debug)]
pub(super) struct Entry {
    from: u32,
    note: u32,
    doing: Doing,
    new: bool,
    unparted: bool,
}

/// No more than so many are kept: twice as many as there are notes, within bounds, since one may begin at any of them.
const FEWEST_KEPT: usize = 500;
const MOST_KEPT: usize = 4_000;
/// The book is cleared of ways given up when it holds so many steps more than after the last time.
const CLEARED_EACH: usize = 1_000_000;

impl Walk<'_> {
    /// Keeps the best tokens and writes their steps down.
    pub(super) fn settle(&mut self) -> Vec<Token> {
        let limit = self.front.best + BEAM;
        let mut kept: Vec<(Token, bool, u32)> = self
            .front
            .tokens
            .iter()
            .filter(|(token, _, _)| token.cost <= limit)
            .copied()
            .collect();
        let most = (2 * self.score.line.len()).clamp(FEWEST_KEPT, MOST_KEPT);
        if kept.len() > most {
            kept.select_nth_unstable_by(most, |a, b| a.0.cost.total_cmp(&b.0.cost));
            kept.truncate(most);
        }
        // A steady order whatever was offered first.
        kept.sort_by_key(|(token, _, _)| state(token));
        kept.into_iter()
            .map(|(mut token, new, from)| {
                let book = u32::try_from(self.book.len()).unwrap_or(NOWHERE);
                self.book.push(Entry {
                    from,
                    note: token.note,
                    doing: token.doing,
                    new,
                    unparted: token.unparted,
                });
                token.book = book;
                token
            })
            .collect()
    }

    /// Strikes out of the book what no living way leads over, when it has grown long: memory doesn't grow with the take.
    pub(super) fn clear_book(&mut self, live: &mut [Token]) {
        if self.book.len() < self.cleared + CLEARED_EACH {
            return;
        }
        let index = |at: u32| usize::try_from(at).ok().filter(|_| at != NOWHERE);
        let mut place = vec![NOWHERE; self.book.len()];
        for token in live.iter() {
            let mut at = token.book;
            while let Some(mark) = index(at)
                .and_then(|n| place.get_mut(n))
                .filter(|mark| **mark == NOWHERE)
            {
                *mark = 0;
                at = index(at)
                    .and_then(|n| self.book.get(n))
                    .map_or(NOWHERE, |entry| entry.from);
            }
        }
        // Steps come after those that they lead on from: one pass gives new places to both.
        let mut kept: Vec<Entry> = Vec::new();
        for n in 0..self.book.len() {
            let (Some(entry), Some(0)) = (self.book.get(n), place.get(n)) else {
                continue;
            };
            let from = index(entry.from)
                .and_then(|from| place.get(from))
                .copied()
                .unwrap_or(NOWHERE);
            let now = u32::try_from(kept.len()).unwrap_or(NOWHERE);
            kept.push(Entry { from, ..*entry });
            if let Some(place) = place.get_mut(n) {
                *place = now;
            }
        }
        for token in live.iter_mut() {
            token.book = index(token.book)
                .and_then(|n| place.get(n))
                .copied()
                .unwrap_or(NOWHERE);
        }
        self.cleared = kept.len();
        self.book = kept;
    }

    /// The steps of the best token, from the first on, as the take ends at `end`.
    pub(super) fn back(&self, live: &[Token], end: f64) -> Vec<Step> {
        let whole = |token: &Token| token.cost + self.ends(token, end);
        let best = live.iter().min_by(|a, b| whole(a).total_cmp(&whole(b)));
        let mut at = best.map_or(NOWHERE, |token| token.book);
        let mut steps = Vec::new();
        while let Some(entry) = usize::try_from(at)
            .ok()
            .filter(|_| at != NOWHERE)
            .and_then(|n| self.book.get(n))
        {
            steps.push(Step {
                doing: entry.doing,
                note: usize::try_from(entry.note).unwrap_or(0),
                new: entry.new,
                unparted: entry.unparted,
            });
            at = entry.from;
        }
        steps.reverse();
        steps
    }
}

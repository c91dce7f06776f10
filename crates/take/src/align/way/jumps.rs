//! Where may the player go on but with the next note? Back, on, by the page, or into the piece at all.

use super::front::BEAM;
use super::{Doing, NOWHERE, Token, Walk};
use crate::align::prices;
use crate::align::segments::Segment;
use crate::numbers::real;

impl Walk<'_> {
    /// Back, on, or into the piece at all, to any note.
    pub(super) fn jumps(&mut self, live: &[Token], segment: &Segment) {
        let begins = segment.attack >= 0.25 || segment.step > 0.5;
        let rested = |token: &Token| matches!(token.doing, Doing::Rests | Doing::Outside);
        // For each note the cheapest token from which one goes back to it or before, and on to it.
        let notes = self.score.line.len();
        let mut back: Vec<u32> = vec![NOWHERE; notes + 1];
        let mut on: Vec<u32> = vec![NOWHERE; notes + 1];
        let mut outside = NOWHERE;
        let costs: Vec<f64> = live
            .iter()
            .map(|token| {
                token.cost
                    - if self.stopped(token, segment.from) {
                        prices::STOPPED
                    } else {
                        0.0
                    }
            })
            .collect();
        let cost = |n: u32| {
            usize::try_from(n)
                .ok()
                .and_then(|n| costs.get(n))
                .copied()
                .unwrap_or(f64::INFINITY)
        };
        for (n, token) in live.iter().enumerate() {
            if !(begins || rested(token)) {
                continue;
            }
            let n = u32::try_from(n).unwrap_or(NOWHERE);
            if token.doing == Doing::Outside && !token.knows {
                if cost(n) < cost(outside) {
                    outside = n;
                }
                continue;
            }
            let at = usize::try_from(token.note).unwrap_or(0);
            for list in [&mut back, &mut on] {
                if let Some(held) = list.get_mut(at)
                    && cost(n) < cost(*held)
                {
                    *held = n;
                }
            }
        }
        for at in (0..notes).rev() {
            let after = back.get(at + 1).copied().unwrap_or(NOWHERE);
            if let Some(held) = back.get_mut(at)
                && cost(after) < cost(*held)
            {
                *held = after;
            }
        }
        for at in 1..notes {
            let before = on.get(at - 1).copied().unwrap_or(NOWHERE);
            if let Some(held) = on.get_mut(at)
                && cost(before) < cost(*held)
            {
                *held = before;
            }
        }
        let token = |n: u32| usize::try_from(n).ok().and_then(|n| live.get(n));
        for target in 0..notes {
            let Some(note) = self.score.line.get(target) else {
                break;
            };
            let again = self.score.again.get(target).copied().unwrap_or(false);
            let wide = |from: usize| 0.35 * (1.0 + real(from.abs_diff(target)) / 8.0).ln();
            // Back: from the note itself on is no going back.
            let choices = [
                (
                    back.get(target + 1).copied().unwrap_or(NOWHERE),
                    prices::back_to(note),
                ),
                (
                    target
                        .checked_sub(2)
                        .and_then(|n| on.get(n))
                        .copied()
                        .unwrap_or(NOWHERE),
                    prices::on_to(note),
                ),
                (
                    outside,
                    prices::begins(note) + if again { prices::LATER_ROUND } else { 0.0 },
                ),
            ];
            for (from, price) in choices {
                let Some(came) = token(from) else { continue };
                let far = if came.doing == Doing::Outside && !came.knows {
                    0.0
                } else {
                    wide(usize::try_from(came.note).unwrap_or(0))
                };
                self.lands(came, target, cost(from) + price + far, segment);
            }
        }
        for (n, came) in live.iter().enumerate() {
            if (came.doing == Doing::Outside && !came.knows) || !(begins || rested(came)) {
                continue;
            }
            let nexts = self.score.page_next.get(usize::try_from(came.note).unwrap_or(0));
            for next in nexts.into_iter().flatten() {
                let price = cost(u32::try_from(n).unwrap_or(NOWHERE)) + prices::PAGE_ORDER;
                self.lands(came, usize::try_from(*next).unwrap_or(0), price, segment);
            }
        }
    }

    pub(super) fn lands(&mut self, came: &Token, target: usize, cost: f64, segment: &Segment) {
        if cost > self.front.best + BEAM {
            return;
        }
        let Ok(note) = u32::try_from(target) else { return };
        let next = Token {
            cost: cost + self.misfit(note),
            doing: Doing::Holds,
            note,
            began: segment.from,
            let_go: f64::INFINITY,
            knows: came.knows || came.doing != Doing::Outside,
            unparted: false,
            ..*came
        };
        self.front.offer(next, true, came.book);
    }
}

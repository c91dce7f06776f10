//! Did it come when it was due? The time taken against the token's pulse, and whether the player stopped.

use super::{Doing, Token, Walk};
use crate::align::prices;
use crate::expected::between;

/// How fast a token's pulse follows its notes.
const FOLLOWS: f64 = 0.25;
/// Most by which one note moves the pulse (natural logarithm).
const MOST_AT_ONCE: f64 = 0.35;
/// A note comes on time that is off by no more than this part of the time since the one before.
const ON_TIME: f64 = 0.15;

impl Walk<'_> {
    /// What the time from a token's note to another costs, what it costs if the notes between took none, and the pulse after it.
    pub(super) fn time(&self, token: &Token, target: u32, now: f64) -> (f64, f64, f64) {
        let index = |note: u32| usize::try_from(note).unwrap_or(0);
        let (from, to) = (index(token.note), index(target));
        let model = between(self.score.line, from, to);
        let took = now - token.began;
        let free = self
            .score
            .line
            .get(from..to)
            .is_some_and(|between| between.iter().any(|note| note.free));
        let pulse = self.pulse.at(token.began).unwrap_or(token.pulse);
        if free {
            return (0.3, 0.3, token.pulse);
        }
        let due = model * pulse.exp();
        let mut price = prices::time(took, due);
        let alike = |a: usize, b: usize| match (self.score.line.get(a), self.score.line.get(b)) {
            (Some(a), Some(b)) => (a.key - b.key).abs() < 0.5,
            _ => false,
        };
        // Late by whole notes in a row of one pitch: the count would slip.
        if price >= prices::LATEST && took > due && alike(to, to + 1) && self.left_out_fits(token, to, took) {
            price += prices::COUNT_SLIPS;
        }
        let mut cut_short = f64::INFINITY;
        if to > from + 1 {
            let first = between(self.score.line, from, from + 1) * pulse.exp();
            cut_short = 0.7 + prices::time(took, first);
        }
        if !token.knows && self.pulse.points.is_empty() {
            // Without a pulse yet any is taken, near the general one rather.
            price = (price * 0.4).min(1.0);
            cut_short = (cut_short * 0.4).min(1.0);
        }
        let says = (took.max(0.01) / model.max(0.01)).ln();
        let trust = FOLLOWS * (model / 0.3).min(1.0);
        let moved = if token.knows {
            token.pulse + (says - token.pulse).clamp(-MOST_AT_ONCE, MOST_AT_ONCE) * trust
        } else {
            token.pulse + (says - token.pulse).clamp(-0.7, 0.7) * 0.6
        };
        (
            price,
            cut_short,
            moved.clamp(self.general - 1.4, self.general + 1.4),
        )
    }

    /// What it costs to end the take with a token's note: anywhere but at the end of the piece, and if that note was held longer than it is.
    /// One that is too short may have been cut off.
    pub(super) fn ends(&self, token: &Token, end: f64) -> f64 {
        let at = usize::try_from(token.note).unwrap_or(0);
        let Some(note) = self.score.line.get(at).filter(|_| token.doing != Doing::Outside) else {
            return 0.0;
        };
        let early = if at + 1 < self.score.line.len() {
            prices::ENDS_EARLY
        } else {
            0.0
        };
        let pulse = self.pulse.at(token.began).unwrap_or(token.pulse).exp();
        let (held, due) = (token.heard_until(end) - token.began, note.length_secs * pulse);
        if note.free || held <= due {
            return early;
        }
        early + prices::time(held, due)
    }

    /// Whether the player has waited longer than the music does.
    pub(super) fn stopped(&self, token: &Token, now: f64) -> bool {
        if token.doing == Doing::Outside {
            return true;
        }
        let at = usize::try_from(token.note).unwrap_or(0);
        let due = between(self.score.line, at, at + 1).max(0.05) * token.pulse.exp();
        let waited = now - token.began;
        waited > due * 1.35 + 0.08 && !self.left_out_fits(token, at + 1, waited)
    }

    /// Whether a wait ends when one of the notes after the next was due: rather notes left out than a stop.
    fn left_out_fits(&self, token: &Token, next: usize, waited: f64) -> bool {
        let at = usize::try_from(token.note).unwrap_or(0);
        let pulse = self.pulse.at(token.began).unwrap_or(token.pulse).exp();
        let last = (next + prices::MOST_SKIPPED).min(self.score.line.len().saturating_sub(1));
        (next + 1..=last).any(|later| {
            let due = between(self.score.line, at, later) * pulse;
            let step = between(self.score.line, later - 1, later) * pulse;
            (waited - due).abs() < ON_TIME * step
        })
    }
}

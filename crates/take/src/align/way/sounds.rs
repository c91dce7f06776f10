//! A tone sounds: does the note go on, does one too many begin, or the next, or one after notes left out?

use super::{Doing, Token, Walk};
use crate::align::prices;
use crate::align::segments::Segment;
use crate::expected::Expected;

/// What the notes left out between two cost.
#[derive(Clone, Copy, Default)]
pub(super) struct LeftOut {
    /// If none of them sounded.
    missing: f64,
    /// If those that can sounded on with the note before.
    sounding_on: f64,
    /// How many could.
    alike: usize,
    /// How many there are.
    notes: usize,
}

/// How much a tone counts that is none of the notes: little if it is short.
fn foreign(secs: f64) -> f64 {
    (secs / prices::FULL_FOREIGN).powi(2).min(1.0)
}

/// How much a tone counts by its length.
pub(super) fn share(segment: &Segment) -> f64 {
    (segment.secs() / prices::FULL_TONE).min(1.0)
}

/// Whether a tone may be two at once: one that rings on and the next, a step or two from it, heard as a pitch between them that
/// draws near the second.
fn blends(segment: &Segment, from: f64, to: f64) -> bool {
    let leap = to - from;
    let between = |key: f64| key > from.min(to) - BLEND_ROOM && key < from.max(to) + BLEND_ROOM;
    (0.5..=WIDEST_BLEND).contains(&leap.abs())
        && segment.secs() < LONGEST_BLEND
        && (segment.glides * leap.signum() > BLEND_GLIDES || segment.voiced < BLEND_VOICED)
        && segment.key().is_some_and(between)
}

/// Semitones between two notes that may blend; how far their pitch may lie beside them; by how much it moves at least.
const WIDEST_BLEND: f64 = 5.2;
const BLEND_ROOM: f64 = 0.3;
const BLEND_GLIDES: f64 = 0.15;
/// Or it is heard as a pitch only in less than this part of it.
const BLEND_VOICED: f64 = 0.75;
/// Seconds that it lasts at most.
const LONGEST_BLEND: f64 = 0.25;

impl Walk<'_> {
    pub(super) fn sounding(&mut self, token: &Token, segment: &Segment) {
        self.goes_on(token, segment);
        self.one_too_many(token, segment);
        if token.doing == Doing::Outside {
            if token.knows {
                self.goes_on_with(token, segment);
            }
            return;
        }
        let outside = Token {
            cost: token.cost + prices::OUTSIDE + prices::OUTSIDE_TONE * foreign(segment.secs()),
            doing: Doing::Outside,
            ..*token
        };
        self.front.offer(outside, false, token.book);
        let mut left_out = LeftOut::default();
        for ahead in 1..=(1 + prices::MOST_ALIKE) {
            // Notes left out are few; notes of one pitch that sounded on may be many.
            if ahead > 1 + prices::MOST_SKIPPED && left_out.alike < ahead - 1 {
                break;
            }
            let Some(target) = u32::try_from(ahead)
                .ok()
                .and_then(|ahead| token.note.checked_add(ahead))
            else {
                break;
            };
            if self.note(target).is_none() {
                break;
            }
            self.enters(token, target, left_out, segment);
            self.leave_out(&mut left_out, token, target, segment.from);
        }
    }

    /// Adds what leaving a note out costs on the way from a token's note.
    fn leave_out(&self, left_out: &mut LeftOut, token: &Token, target: u32, now: f64) {
        let (Some(note), Some(before)) = (
            self.note(target),
            target.checked_sub(1).and_then(|n| self.note(n)),
        ) else {
            left_out.missing += prices::MISSING;
            left_out.sounding_on += prices::MISSING;
            return;
        };
        let first = left_out.notes == 0;
        left_out.notes += 1;
        let holds = token.doing == Doing::Holds || token.doing == Doing::Rests && !token.after_wrong;
        let alike = holds && (note.key - before.key).abs() < 0.5;
        let price = if first {
            prices::missing(note)
        } else {
            prices::missing(note).min(prices::MISSING_AGAIN)
        };
        let Some(from) = self.note(token.note).filter(|_| alike) else {
            left_out.missing += price;
            left_out.sounding_on += price;
            return;
        };
        // How much of the note left out the tone before it lasted.
        let until = if token.doing == Doing::Rests {
            token.rests_from
        } else {
            now
        };
        let held = until - token.began;
        let pulse = self.pulse.at(token.began).unwrap_or(token.pulse).exp();
        let end = |of: &Expected| (of.secs + of.length_secs - from.secs) * pulse;
        let lasted = ((held - end(before)) / (end(note) - end(before)).max(0.02)).clamp(0.0, 1.0);
        left_out.missing += price + prices::TOO_LONG * lasted;
        // Where two attacks were not heard the next will hardly be.
        let unparted = if left_out.alike < 2 {
            prices::UNPARTED
        } else {
            prices::UNPARTED_AGAIN
        };
        left_out.alike += 1;
        left_out.sounding_on += unparted + prices::TOO_SHORT * (1.0 - lasted);
    }

    /// The same goes on.
    fn goes_on(&mut self, token: &Token, segment: &Segment) {
        let fading = if segment.fades { prices::FADING } else { 1.0 };
        let changed = if segment.step > 0.6 {
            prices::WRONG_AGAIN * share(segment) * fading
        } else {
            0.0
        };
        // What stirs soon after a beginning belongs to it.
        let since = segment.from - token.began;
        let settled = (since / prices::SETTLES).clamp(prices::UNSETTLED, 1.0);
        let reattack = prices::REATTACK * segment.attack;
        let price = match token.doing {
            Doing::Holds => self.misfit(token.note) * fading + reattack * settled,
            Doing::Wrong => (reattack * settled).max(changed),
            // One more is a note too many of its own (see below) unless nothing begins.
            Doing::Extra => {
                // What it lasts longer counts on, however it is cut.
                let lasted = segment.from - token.rests_from;
                let longer = foreign(segment.to - token.rests_from) - foreign(lasted);
                reattack.max(changed) + (prices::EXTRA - 0.3) * longer
            }
            Doing::Outside => prices::OUTSIDE_TONE * foreign(segment.secs()),
            Doing::Rests => {
                let lapse = segment.from - token.rests_from;
                if lapse > prices::LONGEST_LAPSE {
                    return;
                }
                let fits = if token.after_wrong {
                    changed
                } else {
                    self.misfit(token.note)
                };
                prices::LAPSE + reattack * (lapse / 0.04).min(1.0) + fits
            }
        };
        let doing = match token.doing {
            Doing::Rests if token.after_wrong => Doing::Wrong,
            Doing::Rests => Doing::Holds,
            other => other,
        };
        let let_go = if doing == Doing::Extra {
            token.let_go
        } else {
            f64::INFINITY
        };
        let next = Token {
            cost: token.cost + price,
            doing,
            let_go,
            ..*token
        };
        self.front.offer(next, false, token.book);
    }

    /// After something other the note that was to come next.
    fn goes_on_with(&mut self, token: &Token, segment: &Segment) {
        let next = usize::try_from(token.note).unwrap_or(0) + 1;
        if next < self.score.line.len() {
            self.lands(token, next, token.cost + prices::INSIDE_AGAIN, segment);
        }
    }

    fn one_too_many(&mut self, token: &Token, segment: &Segment) {
        if token.doing == Doing::Outside {
            return;
        }
        // A click in a silence, shorter than any note: as in the midst of something other.
        let price = if segment.alone && segment.secs() < prices::FULL_TONE {
            prices::OUTSIDE_TONE
        } else {
            prices::EXTRA - 0.3
        };
        let next = Token {
            cost: token.cost + 0.3 + price * foreign(segment.secs()),
            doing: Doing::Extra,
            rests_from: segment.from,
            ..*token
        };
        self.front.offer(next, true, token.book);
    }

    /// The next note, or one after notes left out, begins: rightly or at another pitch.
    fn enters(&mut self, token: &Token, target: u32, left_out: LeftOut, segment: &Segment) {
        let (Some(from), Some(note)) = (self.note(token.note), self.note(target)) else {
            return;
        };
        let connected = token.doing != Doing::Rests;
        let unattacked = if connected && (note.key - from.key).abs() < 0.5 && token.doing == Doing::Holds {
            prices::NO_ATTACK * (1.0 - (segment.attack * 1.6).min(1.0))
        } else {
            0.0
        };
        let (took, cut_short, pulse) = self.time(token, target, segment.from);
        // Notes that sounded on took their time; of those left out it may have been left out, too.
        let sounding_on = left_out.sounding_on + took;
        let missing = left_out.missing + took.min(cut_short);
        let alone = if segment.alone { prices::ALONE } else { 0.0 };
        // A wrong note of the pitch before it needs an attack: else that one sounds on.
        let sounds_on = connected && token.doing == Doing::Holds && segment.is_at(from.key);
        let unattacked_too = if sounds_on && unattacked == 0.0 {
            prices::NO_ATTACK * (1.0 - (segment.attack * 1.6).min(1.0))
        } else {
            0.0
        };
        let wrong = prices::wrong(note) + alone + unattacked_too;
        let fading = if segment.fades { prices::BEGINS_FADING } else { 0.0 };
        let right = token.cost + sounding_on.min(missing) + unattacked + fading;
        let misfit = self.misfit(target)
            * if blends(segment, from.key, note.key) {
                prices::BLENDED
            } else {
                1.0
            };
        let nothing_of_it = if misfit > prices::MISFIT / 2.0 { alone } else { 0.0 };
        let next = Token {
            cost: right + misfit + nothing_of_it,
            unparted: sounding_on < missing,
            doing: Doing::Holds,
            note: target,
            began: segment.from,
            let_go: f64::INFINITY,
            pulse,
            knows: true,
            ..*token
        };
        self.front.offer(next, true, token.book);
        let next = Token {
            cost: right + wrong * share(segment).max(0.4),
            doing: Doing::Wrong,
            ..next
        };
        self.front.offer(next, true, token.book);
    }
}

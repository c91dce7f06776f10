//! Which way through the notes did the player take? The cheapest one, found by passing tokens from stretch to stretch.
//!
//! A hidden Markov model whose states are the notes (held rightly, or another pitch in their place, a note too many after them, the
//! silence after them) and "something else", with jumps back and on; each token keeps its own pulse and the time at which
//! its note began (per-survivor processing), so that lengths count without a state for each length. Sources: Viterbi 1967; score
//! following by hidden Markov models, Orio & Déchelle 2001, and with jumps to anywhere at an affordable price, Nakamura, Nakamura &
//! Sagayama 2016 ("Real-time audio-to-score alignment of music performances containing errors and arbitrary repeats and skips");
//! alignment with jumps, Fremerey, Müller & Clausen 2010 (from memory). Departure: stretches between onsets instead of frames, which
//! is some twenty times less work.

use super::prices;
use super::segments::Segment;
use crate::expected::{Expected, between};
use crate::numbers::real;

/// What goes on at a note.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Doing {
    /// The note sounds.
    Holds,
    /// Another pitch in its place.
    Wrong,
    /// A note too many after it.
    Extra,
    /// Silence after it.
    Rests,
    /// Something that is not the piece.
    Outside,
}

impl Doing {
    const COUNT: usize = 5;

    const fn index(self) -> usize {
        match self {
            Self::Holds => 0,
            Self::Wrong => 1,
            Self::Extra => 2,
            Self::Rests => 3,
            Self::Outside => 4,
        }
    }
}

/// One stretch of the way found.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Step {
    /// What goes on.
    pub doing: Doing,
    /// At which note; for what comes before the first, 0.
    pub note: usize,
    /// It begins here: a note, a wrong one or one too many. False where it goes on.
    pub new: bool,
    /// Notes of the same pitch before it were heard as one long tone, as their time was taken.
    pub unparted: bool,
}

/// What is known before: the pulse as seconds taken for each second of the model (natural logarithm), by time.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct Pulse {
    /// Time and logarithm, in order of time.
    pub points: Vec<(f64, f64)>,
}

impl Pulse {
    fn at(&self, secs: f64) -> Option<f64> {
        let next = self.points.partition_point(|(at, _)| *at < secs);
        let after = self.points.get(next);
        let before = next.checked_sub(1).and_then(|n| self.points.get(n));
        match (before, after) {
            (Some(a), Some(b)) if b.0 > a.0 => Some(a.1 + (b.1 - a.1) * (secs - a.0) / (b.0 - a.0)),
            (Some(one), _) | (None, Some(one)) => Some(one.1),
            (None, None) => None,
        }
    }
}

/// A way that may still become the best.
#[derive(Clone, Copy, Debug)]
struct Token {
    cost: f64,
    doing: Doing,
    note: u32,
    /// When its note began.
    began: f64,
    /// Its pulse: natural logarithm of seconds taken for one of the model's.
    pulse: f64,
    /// Whether the pulse comes from its own notes.
    knows: bool,
    /// When its silence or its note too many began.
    rests_from: f64,
    /// What was silent for a moment was a wrong note.
    after_wrong: bool,
    /// The notes left out before its note sounded on with the one before them.
    unparted: bool,
    /// Its last step in the book.
    book: u32,
}

/// What is written down of each step: where it came from, and the step.
#[derive(Clone, Copy, Debug)]
struct Entry {
    from: u32,
    note: u32,
    doing: Doing,
    new: bool,
    unparted: bool,
}

/// Tokens dearer than the best by more than this are given up.
const BEAM: f64 = 18.0;
/// No more than so many are kept: twice as many as there are notes, within bounds, since one may begin at any of them.
const FEWEST_KEPT: usize = 500;
const MOST_KEPT: usize = 4_000;
/// The book is cleared of ways given up when it holds so many steps more than after the last time.
const CLEARED_EACH: usize = 1_000_000;
/// How fast a token's pulse follows its notes.
const FOLLOWS: f64 = 0.25;
/// Most by which one note moves the pulse (natural logarithm).
const MOST_AT_ONCE: f64 = 0.35;
/// A note comes on time that is off by no more than this part of the time since the one before.
const ON_TIME: f64 = 0.15;
const NOWHERE: u32 = u32::MAX;

/// The notes, and where the page leads on from each otherwise than in the order of the repeats.
pub(crate) struct Score<'a> {
    /// The notes.
    pub line: &'a [Expected],
    /// For each note, notes that follow it on the page on another time round.
    pub page_next: Vec<Vec<u32>>,
    /// Notes of the page that were to be played before, on an earlier time round.
    again: Vec<bool>,
    /// The pitches that come, each once.
    keys: Vec<f64>,
    /// For each note its pitch, as an index into them.
    key_of: Vec<usize>,
}

impl<'a> Score<'a> {
    pub fn new(line: &'a [Expected]) -> Self {
        use std::collections::BTreeMap;
        let mut places: BTreeMap<(notation::Place, notation::Id), Vec<usize>> = BTreeMap::new();
        for (index, note) in line.iter().enumerate() {
            places.entry((note.place, note.event)).or_default().push(index);
        }
        // Other times of the same written note: what follows them follows this one, too.
        let page_next = line
            .iter()
            .enumerate()
            .map(|(index, note)| {
                let same = places
                    .get(&(note.place, note.event))
                    .map_or(&[][..], Vec::as_slice);
                // The notes of one ornament stand at one place, too, but within one time round.
                same.iter()
                    .filter(|other| line.get(**other).is_some_and(|other| other.slot != note.slot))
                    .filter(|other| line.get(**other + 1).is_some())
                    .filter_map(|other| u32::try_from(other + 1).ok())
                    .filter(|next| usize::try_from(*next).is_ok_and(|next| next != index + 1))
                    .take(8)
                    .collect()
            })
            .collect();
        let again = line
            .iter()
            .map(|note| {
                places
                    .get(&(note.place, note.event))
                    .and_then(|same| line.get(*same.first()?))
                    .is_some_and(|first| first.slot < note.slot)
            })
            .collect();
        let mut keys: Vec<f64> = line.iter().map(|note| note.key).collect();
        keys.sort_unstable_by(f64::total_cmp);
        keys.dedup();
        let key_of = line
            .iter()
            .map(|note| keys.partition_point(|key| *key < note.key))
            .collect();
        Self {
            line,
            page_next,
            again,
            keys,
            key_of,
        }
    }
}

/// The tokens of one moment, the cheapest for each state.
struct Front {
    tokens: Vec<(Token, bool, u32)>,
    place: Vec<u32>,
    best: f64,
}

impl Front {
    fn new(notes: usize) -> Self {
        Self {
            tokens: Vec::new(),
            place: vec![NOWHERE; (notes + 1) * Doing::COUNT],
            best: f64::INFINITY,
        }
    }

    fn clear(&mut self) {
        for (token, _, _) in &self.tokens {
            if let Some(place) = self.place.get_mut(state(token)) {
                *place = NOWHERE;
            }
        }
        self.tokens.clear();
        self.best = f64::INFINITY;
    }

    /// Offers a token; `new` if something begins with it, `from` where it came from in the book.
    fn offer(&mut self, token: Token, new: bool, from: u32) {
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

fn state(token: &Token) -> usize {
    usize::try_from(token.note).unwrap_or(0) * Doing::COUNT + token.doing.index()
}

/// The cheapest way: one step for each stretch. `pulse` from an earlier look; empty if there was none; `general` the pulse of the whole
/// as far as it is known (natural logarithm).
pub(crate) fn way(score: &Score, segments: &[Segment], pulse: &Pulse, general: f64) -> Vec<Step> {
    let mut walk = Walk {
        score,
        pulse,
        general,
        front: Front::new(score.line.len()),
        misfits: Vec::new(),
        book: Vec::new(),
        cleared: 0,
    };
    let mut live = vec![Token {
        cost: 0.0,
        doing: Doing::Outside,
        note: 0,
        began: 0.0,
        pulse: general,
        knows: false,
        rests_from: 0.0,
        after_wrong: false,
        unparted: false,
        book: NOWHERE,
    }];
    for segment in segments {
        walk.front.clear();
        walk.misfits = score.keys.iter().map(|key| misfit(*key, segment)).collect();
        for token in &live {
            if segment.sounds() {
                walk.sounding(token, segment);
            } else {
                walk.silent(token, segment);
            }
        }
        if segment.sounds() {
            walk.jumps(&live, segment);
        }
        live = walk.settle();
        walk.clear_book(&mut live);
    }
    walk.back(&live)
}

/// What the notes left out between two cost.
#[derive(Clone, Copy, Default)]
struct LeftOut {
    /// If none of them sounded.
    missing: f64,
    /// If those that can sounded on with the note before.
    sounding_on: f64,
    /// How many could.
    alike: usize,
}

struct Walk<'a> {
    score: &'a Score<'a>,
    pulse: &'a Pulse,
    general: f64,
    front: Front,
    /// What each pitch of the score costs in the stretch that is looked at.
    misfits: Vec<f64>,
    book: Vec<Entry>,
    /// How many steps the book held when it was last cleared.
    cleared: usize,
}

/// How much a tone counts that is none of the notes: little if it is short.
fn foreign(secs: f64) -> f64 {
    (secs / prices::FULL_FOREIGN).powi(2).min(1.0)
}

/// How much a tone counts by its length.
fn share(segment: &Segment) -> f64 {
    (segment.secs() / prices::FULL_TONE).min(1.0)
}

fn misfit(key: f64, segment: &Segment) -> f64 {
    prices::MISFIT * (1.0 - segment.fits(key)) * share(segment)
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
    fn note(&self, index: u32) -> Option<&Expected> {
        self.score.line.get(usize::try_from(index).ok()?)
    }

    fn misfit(&self, index: u32) -> f64 {
        let key = usize::try_from(index)
            .ok()
            .and_then(|index| self.score.key_of.get(index));
        key.and_then(|key| self.misfits.get(*key))
            .copied()
            .unwrap_or(prices::MISFIT)
    }

    /// Nothing sounds, or nothing with a pitch.
    fn silent(&mut self, token: &Token, segment: &Segment) {
        let mut next = *token;
        match token.doing {
            Doing::Outside | Doing::Rests => {}
            Doing::Holds | Doing::Wrong | Doing::Extra => {
                next.doing = Doing::Rests;
                next.rests_from = segment.from;
                next.after_wrong = token.doing == Doing::Wrong;
            }
        }
        self.front.offer(next, false, token.book);
    }

    fn sounding(&mut self, token: &Token, segment: &Segment) {
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
        let holds = token.doing == Doing::Holds || token.doing == Doing::Rests && !token.after_wrong;
        let alike = holds && (note.key - before.key).abs() < 0.5;
        let price = prices::missing(note);
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
        let next = Token {
            cost: token.cost + price,
            doing,
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
        let next = Token {
            cost: token.cost + 0.3 + (prices::EXTRA - 0.3) * foreign(segment.secs()),
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

    /// What the time from a token's note to another costs, what it costs if the notes between took none, and the pulse after it.
    fn time(&self, token: &Token, target: u32, now: f64) -> (f64, f64, f64) {
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

    /// Back, on, or into the piece at all, to any note.
    fn jumps(&mut self, live: &[Token], segment: &Segment) {
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

    /// Whether the player has waited longer than the music does.
    fn stopped(&self, token: &Token, now: f64) -> bool {
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

    fn lands(&mut self, came: &Token, target: usize, cost: f64, segment: &Segment) {
        if cost > self.front.best + BEAM {
            return;
        }
        let Ok(note) = u32::try_from(target) else { return };
        let next = Token {
            cost: cost + self.misfit(note),
            doing: Doing::Holds,
            note,
            began: segment.from,
            knows: came.knows || came.doing != Doing::Outside,
            unparted: false,
            ..*came
        };
        self.front.offer(next, true, came.book);
    }

    /// Keeps the best tokens and writes their steps down.
    fn settle(&mut self) -> Vec<Token> {
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
    fn clear_book(&mut self, live: &mut [Token]) {
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

    /// The steps of the best token, from the first on.
    fn back(&self, live: &[Token]) -> Vec<Step> {
        let best = live.iter().min_by(|a, b| a.cost.total_cmp(&b.cost));
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

//! Which way through the notes did the player take? The cheapest one, found by passing tokens from stretch to stretch.
//!
//! A hidden Markov model whose states are the notes (held rightly, or another pitch in their place, a note too many after them, the
//! silence after them) and "something else", with jumps back and on; each token keeps its own pulse and the time at which
//! its note began (per-survivor processing), so that lengths count without a state for each length. Sources: Viterbi 1967; score
//! following by hidden Markov models, Orio & Déchelle 2001, and with jumps to anywhere at an affordable price, Nakamura, Nakamura &
//! Sagayama 2016 ("Real-time audio-to-score alignment of music performances containing errors and arbitrary repeats and skips");
//! alignment with jumps, Fremerey, Müller & Clausen 2010 (from memory). Departure: stretches between onsets instead of frames, which
//! is some twenty times less work.

mod book;
mod front;
mod jumps;
mod score;
mod sounds;
mod time;

use super::prices;
use super::segments::Segment;
use crate::expected::Expected;
use book::Entry;
use front::Front;
pub(crate) use score::Score;
use sounds::share;

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
    /// When its note was let go, or a note too many after it that was no mere noise; infinity while the note sounds.
    let_go: f64,
    /// What was silent for a moment was a wrong note.
    after_wrong: bool,
    /// The notes left out before its note sounded on with the one before them.
    unparted: bool,
    /// Its last step in the book.
    book: u32,
}

impl Token {
    /// Until when it sounded, as something else begins now.
    fn heard_until(&self, now: f64) -> f64 {
        if self.doing == Doing::Extra && now - self.rests_from >= prices::FULL_FOREIGN {
            now
        } else {
            self.let_go.min(now)
        }
    }
}

const NOWHERE: u32 = u32::MAX;

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
        let_go: f64::INFINITY,
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
    walk.back(&live, segments.last().map_or(0.0, |segment| segment.to))
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

fn misfit(key: f64, segment: &Segment) -> f64 {
    prices::MISFIT * (1.0 - segment.fits(key)) * share(segment)
}

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
                next.let_go = token.heard_until(segment.from);
                next.after_wrong = token.doing == Doing::Wrong;
            }
        }
        self.front.offer(next, false, token.book);
    }
}

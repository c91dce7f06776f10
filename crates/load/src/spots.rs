//! Where will it go wrong, and what is to be done about it? Ranked brackets of one to four bars.
//!
//! Each bar is held against what the player does comfortably: what there is to read at the first tempo, what the hands do at
//! the final one, air beyond the breath, what the survey told to look at first, and bars that are nearly another. A bracket grows from its
//! worst bar over neighbours that are almost as bad, and is practised into the next downbeat, since joins fail most
//! (common practice). Bars that come back unchanged are named with the first, not listed again. The mix is ours.

use crate::alike::{AlikeAnswer, How};
use crate::{Account, Share};
use notation::BarIndex;
use std::collections::BTreeMap;
use survey::Context;
use survey::look_first::LookFirst;

/// Most bars in a bracket.
const LONGEST: usize = 4;
/// Most brackets.
const MOST: usize = 8;
/// How many are read slowly before anything else.
pub const SLOWLY_FIRST: usize = 3;
/// A neighbour belongs to the bracket if it is so much of the worst bar.
const ALMOST: f64 = 0.75;
/// A bar is trouble if it asks for so much more than the middle bar of the piece.
const ABOVE: f64 = 1.2;
/// Marks are noticed in passing: they make a hard bar harder, but are seldom what goes wrong.
const MARKS: [(&str, f64); 2] = [("articulation", 0.4), ("dynamics", 0.4)];
/// Reasons named for a bracket.
const NAMED: usize = 4;
/// What one unit of the survey's "look first" weighs here, against a player's whole comfortable load.
const LOOK_FIRST: f64 = 0.05;
/// What a bar that is nearly another weighs: it is the bar that is played wrong.
const NEARLY: f64 = 0.3;

/// A bracket of trouble.
#[derive(Clone, PartialEq, Debug)]
pub struct Spot {
    /// First bar.
    pub from: BarIndex,
    /// Last bar; practised into the downbeat of the next.
    pub to: BarIndex,
    /// Why, the strongest first, in words.
    pub reasons: Vec<String>,
    /// What to do about it, a sentence.
    pub suggestion: &'static str,
    /// Later bars that are the same as one of these.
    pub also: Vec<BarIndex>,
    /// True for those to read slowly before anything else.
    pub slowly_first: bool,
    /// How bad: loads against what is comfortable; only good for ordering.
    pub weight: f64,
}

/// What the bars are judged by.
#[derive(Clone, Copy, Debug)]
pub struct Judged<'a> {
    /// The part, for the names of its bars.
    pub ctx: &'a Context<'a>,
    /// What there is to read, in bits, and how many a bar leaves time for at the first tempo.
    pub reading: (&'a [Account], &'a [f64]),
    /// Movements a second at the final tempo, and how many are comfortable then.
    pub hand: (&'a [Account], f64),
    /// Seconds without air, and how long a breath is.
    pub breath: (&'a [Account], f64),
    /// What the survey told to look at first.
    pub look_first: &'a [LookFirst],
    /// What returns.
    pub alike: &'a AlikeAnswer,
}

/// One reason with its weight.
struct Weighed {
    kind: &'static str,
    why: String,
    weight: f64,
    /// False for what only adds to the load: named if there is nothing else.
    is_reason: bool,
}

/// The brackets, the worst first.
#[must_use]
pub fn spots(judged: &Judged) -> Vec<Spot> {
    let reasons = reasons(judged);
    let weights: Vec<f64> = reasons
        .iter()
        .map(|bar| bar.iter().map(|r| r.weight).sum())
        .collect();
    let floor = ABOVE * middle(&weights);
    let same = returning(judged.alike);
    let mut taken: Vec<bool> = (0..weights.len()).map(|bar| same.contains_key(&bar)).collect();
    let mut order: Vec<usize> = (0..weights.len()).collect();
    order.sort_by(|a, b| at(&weights, *b).total_cmp(&at(&weights, *a)).then(a.cmp(b)));
    let mut spots = Vec::new();
    for peak in order {
        if spots.len() == MOST || at(&weights, peak) <= floor.max(1e-9) {
            break;
        }
        if taken.get(peak).copied().unwrap_or(true) {
            continue;
        }
        let (from, to) = grown(peak, &weights, &taken);
        taken
            .iter_mut()
            .take(to + 1)
            .skip(from)
            .for_each(|bar| *bar = true);
        spots.push(spot(from, to, &weights, &reasons, &same));
    }
    for spot in spots.iter_mut().take(SLOWLY_FIRST) {
        spot.slowly_first = true;
    }
    spots
}

fn at(weights: &[f64], bar: usize) -> f64 {
    weights.get(bar).copied().unwrap_or(0.0)
}

/// The middle weight of the bars that have any.
fn middle(weights: &[f64]) -> f64 {
    let mut some: Vec<f64> = weights.iter().copied().filter(|w| *w > 0.0).collect();
    some.sort_by(f64::total_cmp);
    some.get(some.len() / 2).copied().unwrap_or(0.0)
}

/// Bars that are an earlier one unchanged, and which.
fn returning(alike: &AlikeAnswer) -> BTreeMap<usize, usize> {
    let same = alike
        .look_alikes
        .iter()
        .filter(|a| a.how == How::Same && a.differences.is_empty());
    same.map(|alike| (alike.bar.get(), alike.like.get())).collect()
}

/// The bracket around its worst bar.
fn grown(peak: usize, weights: &[f64], taken: &[bool]) -> (usize, usize) {
    let (mut from, mut to) = (peak, peak);
    let enough = ALMOST * at(weights, peak);
    let free = |bar: usize| taken.get(bar).is_some_and(|taken| !taken);
    while to - from + 1 < LONGEST {
        let before = from
            .checked_sub(1)
            .filter(|bar| free(*bar))
            .map_or(0.0, |bar| at(weights, bar));
        let after = Some(to + 1)
            .filter(|bar| free(*bar))
            .map_or(0.0, |bar| at(weights, bar));
        if before.max(after) < enough {
            break;
        }
        if before > after { from -= 1 } else { to += 1 }
    }
    (from, to)
}

fn spot(
    from: usize,
    to: usize,
    weights: &[f64],
    reasons: &[Vec<Weighed>],
    same: &BTreeMap<usize, usize>,
) -> Spot {
    let inside = reasons.get(from..=to).unwrap_or_default();
    let mut all: Vec<&Weighed> = inside.iter().flatten().collect();
    all.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    let mut named: Vec<&Weighed> = Vec::new();
    let some = all.iter().any(|reason| reason.is_reason);
    for reason in all.iter().filter(|reason| reason.is_reason || !some) {
        // One of a kind, unless few kinds are there; never the same words twice.
        let known = named.iter().filter(|n| n.kind == reason.kind).count();
        if known < 2 && !named.iter().any(|n| n.why.contains(bare(&reason.why))) {
            named.push(reason);
        }
        if named.len() == NAMED {
            break;
        }
    }
    let mut kinds: BTreeMap<&str, f64> = BTreeMap::new();
    for reason in &all {
        *kinds.entry(reason.kind).or_default() += reason.weight;
    }
    let main = kinds
        .iter()
        .max_by(|a, b| a.1.total_cmp(b.1))
        .map_or("", |(kind, _)| *kind);
    Spot {
        from: BarIndex::from_usize(from),
        to: BarIndex::from_usize(to),
        reasons: named.iter().map(|reason| reason.why.clone()).collect(),
        suggestion: suggestion(main),
        also: same
            .iter()
            .filter(|(_, like)| (from..=to).contains(*like))
            .map(|(bar, _)| BarIndex::from_usize(*bar))
            .collect(),
        slowly_first: false,
        weight: weights
            .get(from..=to)
            .unwrap_or_default()
            .iter()
            .copied()
            .fold(0.0, f64::max),
    }
}

/// A reason without the article it may begin with: two floors may say the same.
fn bare(why: &str) -> &str {
    why.trim_start_matches("the ")
}

fn reasons(judged: &Judged) -> Vec<Vec<Weighed>> {
    let bars = judged.reading.0.len();
    let mut all: Vec<Vec<Weighed>> = (0..bars).map(|_| Vec::new()).collect();
    let mut add = |bar: usize, kind: &'static str, why: &str, weight: f64, is_reason: bool| {
        if let Some(bar) = all.get_mut(bar).filter(|_| weight > 0.0 && weight.is_finite()) {
            bar.push(Weighed {
                kind,
                why: why.to_owned(),
                weight,
                is_reason,
            });
        }
    };
    let mut shares = |accounts: &[Account], by: &dyn Fn(usize) -> f64| {
        for (bar, account) in accounts.iter().enumerate() {
            let whole = by(bar);
            for share in account.shares() {
                let Share { kind, why, amount } = share;
                let part = MARKS
                    .iter()
                    .find(|(mark, _)| mark == kind)
                    .map_or(1.0, |(_, part)| *part);
                add(bar, kind, why, part * amount / whole, share.is_reason());
            }
        }
    };
    let (reading, comfortable) = judged.reading;
    shares(reading, &|bar| {
        comfortable.get(bar).copied().unwrap_or(f64::INFINITY)
    });
    shares(judged.hand.0, &|_| judged.hand.1);
    shares(judged.breath.0, &|_| judged.breath.1);
    for look in judged.look_first {
        for reason in &look.reasons {
            add(
                reason.bar.get(),
                "look-first",
                &reason.says,
                reason.weight * LOOK_FIRST,
                true,
            );
        }
    }
    for alike in &judged.alike.look_alikes {
        if let (How::Nearly(_), Some(difference)) = (alike.how, alike.differences.first()) {
            add(
                alike.bar.get(),
                "look-alike",
                &format!("nearly bar {}, but {difference}", judged.ctx.label(alike.like)),
                NEARLY,
                true,
            );
        }
    }
    all
}

/// What to do about the kind of trouble that weighs most. Common practice throughout.
fn suggestion(kind: &str) -> &'static str {
    match kind {
        "fingers" | "partial" | "slide" | "valves" => {
            "play its two or three hardest notes to and fro slowly with the pencilled fingering, then the bar into the next downbeat"
        }
        "register-break" | "register" => {
            "slur slowly over the break, air first, fingers together, then into the next downbeat"
        }
        "leap" => "hear the far note before you play it: leave out what lies between, then put it back",
        "shift" | "string-crossing" => {
            "play only the notes before and after the shift, silently moving between, then all of it"
        }
        "outside-range" | "ledger-lines" => {
            "name the notes first, play them an octave nearer, then as written, rested and not for long"
        }
        "tongue" | "double-tongue" | "triple-tongue" => {
            "slur it first until the fingers know it, then tongue it slowly, then faster"
        }
        "out-of-breath" | "quick-breath" => {
            "pencil the breath in and practise the note before it short, the note after it on time"
        }
        "rhythm" | "metre" | "grace" => {
            "count it aloud and tap it, then on one note, then as written, into the next downbeat"
        }
        "pitch" => "say the note names in rhythm, sing or hear them, then play slowly into the next downbeat",
        "accidental" | "key" | "clef" => {
            "say the note names aloud with their sharps and flats, then play them slowly"
        }
        "look-alike" => "play it and the bar that it resembles one after the other, and say what differs",
        _ => {
            "play it slowly from the bar before into the next downbeat, four times right before a faster one"
        }
    }
}

//! How hard is each bar and beat, as JSON? Every number is the sum of its parts, unrounded, so that a program can check it.

use super::Said;
use load::{Account, BarLoad, Share};
use schemars::JsonSchema;
use serde::Serialize;

/// What a bar asks. The numbers are unrounded, so that they can be checked against their parts; show words, not bits.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BarLoadSaid {
    /// The bar's printed label.
    pub bar: String,
    /// The bar counted from 0.
    pub bar_index: u32,
    /// What there is to read, in bits: how unexpected pitches and rhythm are, and the marks to notice. The sum of
    /// `parts.reading`, and of the beats.
    pub reading_bits: f64,
    /// What the hands, lips and tongue do, in movements a second at the tempo climbed to (where none is known, at the fast
    /// end of the first reading). The sum of `parts.hand`, and of the beats.
    pub hand: f64,
    /// What breathing costs here, in seconds at the same tempo: air beyond the comfortable breath, and time taken from notes
    /// for breaths. The sum of `parts.breath`.
    pub breath: f64,
    /// Seconds at the same tempo of the longest stretch between breathing places that the bar lies in; null for a bar without
    /// notes, and for instruments that don't breathe. Not a sum.
    pub breath_secs: Option<f64>,
    /// What there is to read over what the player takes in while the bar lasts at the slow end of the first tempo; more than 1
    /// is more than comes in.
    pub fullness: f64,
    /// The same in words: `little to read` up to 0.4, `some to read` up to 0.75, `much to read` up to 1.1, `very much to read`
    /// beyond.
    pub in_words: String,
    /// The largest reasons: up to three for reading, then for the hands, then for breath.
    pub why: Vec<String>,
    /// What the numbers are made of.
    pub parts: Parts,
    /// The same by felt beat, in order; together they are the bar.
    pub beats: Vec<BeatLoadSaid>,
}

/// What a bar's numbers are made of.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Parts {
    /// Shares of `reading_bits`, in bits.
    pub reading: Vec<PartSaid>,
    /// Shares of `hand`, in movements a second.
    pub hand: Vec<PartSaid>,
    /// Shares of `breath`, in seconds.
    pub breath: Vec<PartSaid>,
}

/// One share of a load.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PartSaid {
    /// A short fixed name of the kind of reason: `pitch`, `rhythm`, `accidental`, `fingers`, `leap` …
    pub kind: String,
    /// The reason, a clause.
    pub why: String,
    /// How much it adds, in the unit of its load; always more than 0.
    pub amount: f64,
    /// In which of the bar's `beats` it falls, counted from 0; absent for breath.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub beat_index: Option<usize>,
}

/// What a beat asks.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BeatLoadSaid {
    /// The number of the felt beat as it is counted aloud, from 1.
    pub beat: u16,
    /// Where it begins, in quarter notes from the start of the bar.
    pub offset: f64,
    /// What there is to read, in bits.
    pub reading_bits: f64,
    /// Movements a second of its bar that fall into it.
    pub hand: f64,
    /// The largest reasons: up to three for reading, then for the hands.
    pub why: Vec<String>,
}

pub(super) fn loads(said: Said) -> Vec<BarLoadSaid> {
    said.study.bars.iter().map(|bar| load(bar, said)).collect()
}

fn load(bar: &BarLoad, said: Said) -> BarLoadSaid {
    let reading_bits = bar.reading.total();
    BarLoadSaid {
        bar: said.places.label(bar.bar),
        bar_index: bar.bar.0,
        reading_bits,
        hand: bar.hand.total(),
        breath: bar.breath.total(),
        breath_secs: bar.breath_secs,
        fullness: bar.fullness,
        in_words: bar.to_read_words().to_owned(),
        why: largest(&[&bar.reading, &bar.hand, &bar.breath]),
        parts: Parts {
            reading: parts(bar.beats.iter().map(|beat| &beat.reading)),
            hand: parts(bar.beats.iter().map(|beat| &beat.hand)),
            breath: bar
                .breath
                .shares()
                .iter()
                .map(|share| part(share, None))
                .collect(),
        },
        beats: bar
            .beats
            .iter()
            .map(|beat| BeatLoadSaid {
                beat: beat.beat,
                offset: beat.place.offset.to_f64(),
                reading_bits: beat.reading.total(),
                hand: beat.hand.total(),
                why: largest(&[&beat.reading, &beat.hand]),
            })
            .collect(),
    }
}

/// Reasons named for each load.
const NAMED: usize = 3;

fn largest(accounts: &[&Account]) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for account in accounts {
        let before = said.len();
        for share in account.largest_first() {
            if said.len() - before == NAMED {
                break;
            }
            if !said.contains(&share.why) {
                said.push(share.why.clone());
            }
        }
    }
    said
}

/// The shares of the beats; equal ones of a beat together.
fn parts<'a>(beats: impl Iterator<Item = &'a Account>) -> Vec<PartSaid> {
    let mut parts: Vec<PartSaid> = Vec::new();
    for (beat, account) in beats.enumerate() {
        let first = parts.len();
        for share in account.shares() {
            let of_beat = parts.get_mut(first..).unwrap_or_default();
            let known = of_beat
                .iter_mut()
                .find(|part| part.kind == share.kind && part.why == share.why);
            match known {
                Some(part) => part.amount += share.amount,
                None => parts.push(part(share, Some(beat))),
            }
        }
    }
    parts
}

fn part(share: &Share, beat_index: Option<usize>) -> PartSaid {
    PartSaid {
        kind: share.kind.to_owned(),
        why: share.why.clone(),
        amount: share.amount,
        beat_index,
    }
}

//! How much is there to read? How unexpected the next pitch and the next rhythm are, and the marks to notice.
//!
//! In bits: what is foreseen with probability p costs −log2 p. The forecast is made as the page is read, from what tunes in
//! general do (counts from old tune books, `long_term.md`) and from what this piece has shown so far, so that a bar that is
//! another bar costs little. On screen there are words ([`amount_words`]), never bits.
//!
//! What it does *not* do: look ahead, hear harmony, or know the player. Repeats are not unfolded: the page is read once.

mod alphabets;
mod amount;
mod long_term;
mod marks;
mod melody;
mod mix;
mod model;
mod parallel;
mod ppm;
mod returning;
mod short_term;
#[cfg(test)]
mod tests;
mod training;
mod viewpoints;
mod words;

pub use amount::{THRESHOLDS, amount_words};
pub use long_term::{LongTerm, Pruning};
pub use melody::{Item, Kind, Melody, Sounding, Stress};
pub use mix::Weights;
pub use model::{Foresight, ItemBits, Settings, Terms, bits};
pub use training::{Trainer, fitted};
pub(crate) use words::{UNEXPECTED, UNEXPECTED_VALUE};

use crate::{Account, Placed, Share, by_bar};
use notation::{Id, KeyRegion, Place};
use std::collections::BTreeMap;
use survey::Context;
use survey::metre::MetreAnswer;

/// What the survey found that helps to foresee.
#[derive(Clone, Copy, Debug, Default)]
pub struct Hints<'a> {
    /// The local keys, in order (`KeyAnswer::regions`).
    pub regions: &'a [KeyRegion],
    /// The metre with its grid of beats.
    pub metre: Option<&'a MetreAnswer>,
}

/// The reading load of a part.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct ReadingAnswer {
    /// Every share with its reason, in order of place; amounts in bits. Kinds: `pitch`, `rhythm`, `accidental`,
    /// `articulation`, `dynamics`, `clef`, `key`, `metre`, `grace`.
    pub shares: Vec<Placed>,
    /// The notes of the line, in order.
    pub notes: Vec<NoteBits>,
    /// How many bars the piece has.
    pub bars: usize,
}

/// How unexpected a note is.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct NoteBits {
    /// Its event.
    pub event: Id,
    /// Where it starts.
    pub place: Place,
    /// −log2 of the probability of its pitch.
    pub pitch_bits: f64,
    /// −log2 of the probability of its value, rests not counted.
    pub rhythm_bits: f64,
}

impl ReadingAnswer {
    /// The account of each bar.
    #[must_use]
    pub fn per_bar(&self) -> Vec<Account> {
        by_bar(&self.shares, self.bars)
    }
}

/// The reading load of a part, with the tune books' counts.
#[must_use]
pub fn reading_load(ctx: &Context<'_>, hints: &Hints<'_>) -> ReadingAnswer {
    reading_load_with(ctx, hints, &LongTerm::shipped(), &Settings::default())
}

/// The same with counts and settings of one's own: for checks that leave a book out.
#[must_use]
pub fn reading_load_with(
    ctx: &Context<'_>,
    hints: &Hints<'_>,
    long: &LongTerm,
    settings: &Settings,
) -> ReadingAnswer {
    let melody = Melody::of(ctx, hints);
    let bits = bits(&melody, long, settings);
    let mut answer = ReadingAnswer {
        shares: marks::marks(ctx, &returns(&melody, &bits)),
        bars: ctx.piece.bars.len(),
        ..ReadingAnswer::default()
    };
    let mut met = Vec::new();
    let mut before = None;
    for (item, bits) in melody.items.iter().zip(bits) {
        let length = (item.length, item.sounding().is_some());
        let new = !met.contains(&length);
        // Hundreds of different values are in no piece; the list stays short.
        if new && met.len() < 200 {
            met.push(length);
        }
        answer.add(item, "rhythm", bits.rhythm, words::value(item, bits.rhythm, new));
        let (Some(note), Some(pitch_bits)) = (item.sounding(), bits.pitch) else {
            continue;
        };
        answer.add(
            item,
            "pitch",
            pitch_bits,
            words::pitch(before, note.pitch, pitch_bits),
        );
        before = Some(note.pitch);
        answer.notes.push(NoteBits {
            event: note.event,
            place: item.place,
            pitch_bits,
            rhythm_bits: bits.rhythm,
        });
    }
    answer.shares.sort_by_key(|placed| placed.place);
    answer
}

/// The notes that are the return of an earlier one, with it.
fn returns(melody: &Melody, bits: &[ItemBits]) -> BTreeMap<Id, Id> {
    let event = |item: Option<&Item>| item.and_then(Item::sounding).map(|note| note.event);
    let pairs = melody.items.iter().zip(bits);
    pairs
        .filter_map(|(item, bits)| event(Some(item)).zip(event(melody.items.get(bits.like?))))
        .collect()
}

impl ReadingAnswer {
    fn add(&mut self, item: &Item, kind: &'static str, amount: f64, why: String) {
        if amount > 0.0 {
            self.shares.push(Placed {
                place: item.place,
                share: Share { kind, why, amount },
            });
        }
    }
}

//! Which bars hold the most accidentals? To be read slowly first.

use super::expects;
use super::reading::{How, Note};
use notation::{BarIndex, Id, KeySignature};

/// How many bars are named.
const SHOWN: usize = 5;
/// One accidental in a bar is nothing to slow down for.
const AT_LEAST: usize = 2;

/// Accidentals of one bar.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct BarDensity {
    /// The bar.
    pub bar: BarIndex,
    /// The first event with an accidental in it.
    pub first: Id,
    /// Signs printed (those that restore the signature too).
    pub printed: usize,
    /// Notes whose accidental is carried silently from earlier in the bar.
    pub carried: usize,
    /// Of both, those that neither the signature nor the key asks for.
    pub surprises: usize,
}

impl BarDensity {
    /// `5 signs, 2 more notes carried silently`.
    #[must_use]
    pub fn says(&self) -> String {
        let sign = if self.printed == 1 { "sign" } else { "signs" };
        match self.carried {
            0 => format!("{} {sign}", self.printed),
            1 => format!("{} {sign}, 1 more note altered silently", self.printed),
            n => format!("{} {sign}, {n} more notes altered silently", self.printed),
        }
    }
}

/// The densest bars: by surprises, then by signs and carried notes together, then in order.
pub(super) fn densest(notes: &[Note], expected: Option<&KeySignature>) -> Vec<BarDensity> {
    let mut bars: Vec<BarDensity> = Vec::new();
    for note in notes.iter().filter(|note| note.own()) {
        let carried = note.altered() && note.how == How::Bar;
        if !note.printed && !carried {
            continue;
        }
        if bars.last().is_none_or(|last| last.bar != note.bar()) {
            bars.push(BarDensity {
                bar: note.bar(),
                first: note.event.id,
                printed: 0,
                carried: 0,
                surprises: 0,
            });
        }
        if let Some(bar) = bars.last_mut() {
            bar.printed += usize::from(note.printed);
            bar.carried += usize::from(carried);
            bar.surprises += usize::from(!note.says_nothing_new() && !expects(expected, note));
        }
    }
    bars.retain(|bar| bar.printed + bar.carried >= AT_LEAST && bar.surprises > 0);
    bars.sort_by_key(|bar| std::cmp::Reverse((bar.surprises, bar.printed + bar.carried)));
    bars.truncate(SHOWN);
    bars
}

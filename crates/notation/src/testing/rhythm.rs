//! Which values fill a bar? Notes, dotted notes and tuplets, nested too, that add up to a length exactly.

use super::Maker;
use crate::{NoteValue, Quarters, Rational, TupletRatio, Written};

/// One event to be: what is printed, and the tuplets that start and end at it (outermost first).
#[derive(Clone, Debug)]
pub(super) struct Slot {
    pub written: Written,
    pub duration: Quarters,
    pub starts: Vec<TupletRatio>,
    pub ends: usize,
}

const RATIOS: [(u16, u16); 8] = [(3, 2), (5, 4), (6, 4), (7, 8), (2, 3), (4, 3), (7, 4), (3, 2)];
const VALUES: [NoteValue; 6] = [
    NoteValue::Quarter,
    NoteValue::Eighth,
    NoteValue::Half,
    NoteValue::N16th,
    NoteValue::Whole,
    NoteValue::N32nd,
];

impl Maker<'_> {
    /// Values that fill a length; it is a multiple of a 256th.
    pub(super) fn fill(&mut self, length: Quarters) -> Vec<Slot> {
        let mut slots = Vec::new();
        let mut left = length;
        while left.is_positive() {
            if slots.len() < 12 && self.chance(self.palette.tuplets, 40) && self.tuplet(&mut left, &mut slots)
            {
                continue;
            }
            let written = if slots.len() < 10 {
                self.value(left)
            } else {
                largest(left)
            };
            let duration = written.quarters();
            left -= duration;
            slots.push(Slot {
                written,
                duration,
                starts: Vec::new(),
                ends: 0,
            });
        }
        slots
    }

    fn value(&mut self, left: Quarters) -> Written {
        let value = self.choices.pick(&VALUES);
        let dots = if self.choices.chance(50) {
            1 + u8::from(self.choices.chance(40))
        } else {
            0
        };
        let written = Written {
            value,
            dots,
            tuplets: Vec::new(),
        };
        if written.quarters() <= left {
            written
        } else {
            largest(left)
        }
    }

    /// A tuplet that fits into what is left.
    fn tuplet(&mut self, left: &mut Quarters, slots: &mut Vec<Slot>) -> bool {
        let (actual, normal) = self.choices.pick(&RATIOS);
        let unit = self
            .choices
            .pick(&[NoteValue::Eighth, NoteValue::N16th, NoteValue::Quarter]);
        let length = unit.quarters() * Rational::whole(i64::from(normal));
        if length > *left {
            return false;
        }
        let first = slots.len();
        let ratio = TupletRatio { actual, normal };
        self.group(ratio, unit, &[], slots);
        let rest = *left - length;
        // A tuplet is no tuplet if a single note fills it.
        if slots.len() - first < 2 {
            slots.truncate(first);
            return false;
        }
        *left = rest;
        true
    }

    fn group(&mut self, ratio: TupletRatio, unit: NoteValue, outer: &[TupletRatio], slots: &mut Vec<Slot>) {
        let mut chain = outer.to_vec();
        chain.push(ratio);
        let first = slots.len();
        let mut left = ratio.actual;
        while left > 0 {
            let nested = outer.is_empty() && unit > NoteValue::N32nd;
            if nested && self.chance(self.palette.nested_tuplets, 40) {
                // Three halves of the unit in the time of one unit.
                let half =
                    NoteValue::ALL[NoteValue::ALL.iter().position(|v| *v == unit).unwrap_or(1).max(1) - 1];
                self.group(TupletRatio { actual: 3, normal: 2 }, half, &chain, slots);
                left -= 1;
                continue;
            }
            let double = left >= 2 && slots.len() > first && self.choices.chance(60);
            let position = NoteValue::ALL.iter().position(|v| *v == unit).unwrap_or(8);
            let value = NoteValue::ALL[position + usize::from(double)];
            let written = Written {
                value,
                dots: 0,
                tuplets: chain.clone(),
            };
            slots.push(Slot {
                duration: written.quarters(),
                written,
                starts: Vec::new(),
                ends: 0,
            });
            left -= if double { 2 } else { 1 };
        }
        if let Some(slot) = slots.get_mut(first) {
            slot.starts.insert(0, ratio);
        }
        if let Some(slot) = slots.last_mut() {
            slot.ends += 1;
        }
    }
}

/// The largest value, dotted once where it can be, that is not longer than a length.
fn largest(left: Quarters) -> Written {
    let written = |value, dots| Written {
        value,
        dots,
        tuplets: Vec::new(),
    };
    NoteValue::ALL
        .into_iter()
        .rev()
        .flat_map(|value| [written(value, 1), written(value, 0)])
        .find(|written| written.quarters() <= left)
        .unwrap_or(written(NoteValue::N1024th, 0))
}

//! Where do the beats fall? As the caller feels them, else as the metre is written.

use notation::{BarIndex, Metre, MetrePart, MetreSymbol, Part, Piece, Place, Quarters, Rational};
use std::collections::BTreeMap;

/// One beat of a full bar.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Beat {
    /// Where it starts, in quarter notes from the start of the full bar.
    pub start: Quarters,
    /// How long it lasts.
    pub length: Quarters,
    /// Into how many it divides: 2, or 3 for a dotted beat.
    pub division: u8,
    /// 0 for the downbeat, 1 for the middle of the bar or a group, 2 for the others.
    pub accent: u8,
}

/// The beats of one bar.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct BarBeats {
    /// The bar.
    pub bar: BarIndex,
    /// Where the bar's first moment stands in the full bar: more than 0 for a pickup.
    pub lead: Quarters,
    /// Length of the full bar in quarter notes.
    pub full: Quarters,
    /// The beats of the full bar, in order; empty without metre.
    pub beats: Vec<Beat>,
}

impl BarBeats {
    /// The note that a tempo word counts: the first beat's length; a quarter note without metre.
    #[must_use]
    pub fn unit(&self) -> Quarters {
        self.beats.first().map_or(Rational::ONE, |beat| beat.length)
    }

    /// Does a beat start at an offset in the bar?
    #[must_use]
    pub fn beat_at(&self, offset: Quarters) -> Option<&Beat> {
        let position = offset + self.lead;
        self.beats.iter().find(|beat| beat.start == position)
    }
}

/// The beats of every bar of a part: those given, the rest by the metre.
pub(super) fn all_beats(piece: &Piece, part: &Part, given: &[BarBeats]) -> Vec<BarBeats> {
    let given: BTreeMap<BarIndex, &BarBeats> = given.iter().map(|beats| (beats.bar, beats)).collect();
    let mut bars: Vec<BarBeats> = Vec::with_capacity(piece.bars.len());
    let mut before: Option<(Quarters, Quarters)> = None;
    for (index, bar) in piece.bars.iter().enumerate() {
        let here = BarIndex::from_usize(index);
        let own = given.get(&here).map(|beats| (*beats).clone());
        let beats = own.unwrap_or_else(|| {
            let metre = part.metre_at(Place::start_of(here));
            let full = metre.and_then(Metre::length).unwrap_or(bar.length);
            let lead = match before {
                _ if bar.length >= full => Quarters::ZERO,
                None => full - bar.length,
                // The second half of a bar that a repeat sign or a line break splits.
                Some((lead, length)) if lead + length + bar.length == full => lead + length,
                Some(_) => Quarters::ZERO,
            };
            BarBeats {
                bar: here,
                lead,
                full,
                beats: metre.map(by_metre).unwrap_or_default(),
            }
        });
        before = Some((beats.lead, bar.length));
        bars.push(beats);
    }
    bars
}

/// The beats of a metre as it is usually beaten: dotted in 6/8, 9/8, 12/8, halves in ¢, groups where they are printed.
/// Source: common practice.
#[must_use]
pub fn by_metre(metre: &Metre) -> Vec<Beat> {
    let mut beats: Vec<Beat> = Vec::new();
    let mut start = Quarters::ZERO;
    let several = metre.parts.len() > 1 || metre.parts.iter().any(|part| part.groups.len() > 1);
    for part in &metre.parts {
        for group in &part.groups {
            let first = beats.len();
            for (length, division) in lengths(part, *group, metre.symbol, several) {
                if !length.is_positive() || length.is_overflow() || beats.len() >= 400 {
                    return beats;
                }
                beats.push(Beat {
                    start,
                    length,
                    division,
                    accent: 2,
                });
                start += length;
            }
            let count = beats.len() - first;
            let middle = (!several && count >= 4 && count.is_multiple_of(2)).then_some(first + count / 2);
            for at in [Some(first).filter(|_| several), middle].into_iter().flatten() {
                if let Some(beat) = beats.get_mut(at) {
                    beat.accent = 1;
                }
            }
        }
    }
    if let Some(beat) = beats.first_mut() {
        beat.accent = 0;
    }
    beats
}

fn lengths(part: &MetrePart, group: u16, symbol: MetreSymbol, several: bool) -> Vec<(Quarters, u8)> {
    if part.beat_type == 0 {
        return Vec::new();
    }
    let written = Rational::new(4, i64::from(part.beat_type));
    let many =
        |count: u16, length: Quarters, division: u8| vec![(length, division); usize::from(count.min(400))];
    let short = part.beat_type >= 8;
    if short && several {
        // One beat a group: 2+2+3.
        let division = u8::try_from(group).unwrap_or(2);
        return vec![(written * Rational::whole(i64::from(group)), division)];
    }
    if short && group > 3 && group.is_multiple_of(3) {
        return many(group / 3, written * Rational::whole(3), 3);
    }
    if symbol == MetreSymbol::Cut && part.beat_type == 4 && group.is_multiple_of(2) {
        return many(group / 2, written * Rational::whole(2), 2);
    }
    many(group, written, 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn starts(metre: &Metre) -> Vec<(String, u8)> {
        by_metre(metre)
            .iter()
            .map(|beat| (beat.start.to_string(), beat.accent))
            .collect()
    }

    /// Source: common practice.
    #[test]
    fn usual_metres() {
        let of = |beats, kind| starts(&Metre::new(beats, kind));
        let named = |list: &[(&str, u8)]| -> Vec<(String, u8)> {
            list.iter()
                .map(|(start, accent)| ((*start).to_owned(), *accent))
                .collect()
        };
        assert_eq!(of(4, 4), named(&[("0", 0), ("1", 2), ("2", 1), ("3", 2)]));
        assert_eq!(of(6, 8), named(&[("0", 0), ("3/2", 2)]));
        assert_eq!(of(3, 8), named(&[("0", 0), ("1/2", 2), ("1", 2)]));
        let seven = Metre {
            parts: vec![MetrePart {
                groups: vec![2, 2, 3],
                beat_type: 8,
            }],
            symbol: MetreSymbol::Numbers,
        };
        assert_eq!(starts(&seven), named(&[("0", 0), ("1", 1), ("2", 1)]));
        assert!(of(4, 0).is_empty());
    }
}

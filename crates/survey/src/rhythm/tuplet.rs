//! Which notes form a tuplet together? Groups of so many in the time of so many, found from the printed ratios.

use super::voice::Item;
use crate::metre::BeatUnit;
use notation::{NoteValue, Quarters, Rational, TupletRatio};

/// One tuplet group.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TupletGroup {
    /// Where it starts, in quarter notes from the start of the bar.
    pub start: Quarters,
    /// How long it lasts, in quarter notes.
    pub length: Quarters,
    /// The outermost ratio.
    pub ratio: TupletRatio,
    /// The note value that the ratio counts (the shortest that makes it up).
    pub value: NoteValue,
    /// First item and the one after the last.
    pub items: (usize, usize),
    /// A tuplet stands inside it.
    pub nested: bool,
}

impl TupletGroup {
    /// Where it ends.
    #[must_use]
    pub fn end(&self) -> Quarters {
        self.start + self.length
    }

    /// How many of its notes lie before a position, as a whole number if the position is one of its divisions.
    #[must_use]
    pub fn division_at(&self, position: Quarters) -> Option<u16> {
        let one = self.length / Rational::whole(i64::from(self.ratio.actual.max(1)));
        let at = (position - self.start) / one;
        at.is_whole().then(|| u16::try_from(at.num()).ok()).flatten()
    }
}

/// The tuplet groups of a bar; `on_beat` tells whether an offset in the bar is the start of a beat.
#[must_use]
pub(super) fn groups(items: &[Item], on_beat: impl Fn(Quarters) -> bool) -> Vec<TupletGroup> {
    let mut groups = Vec::new();
    let mut at = 0;
    while at < items.len() {
        match group_from(items, at, &on_beat) {
            Some(group) => {
                at = group.items.1;
                groups.push(group);
            }
            None => at += 1,
        }
    }
    groups
}

/// No printed group is longer; a damaged one is given up there.
const LONGEST: usize = 256;

fn ratio(item: &Item) -> Option<TupletRatio> {
    item.written
        .as_ref()?
        .tuplets
        .first()
        .copied()
        .filter(|ratio| ratio.actual > 0 && ratio.normal > 0)
}

/// The group that starts at an item: it is complete where its sum is so many of its shortest value, and, where
/// values are mixed, where it reaches a beat or the ratio stops.
fn group_from(items: &[Item], first: usize, on_beat: &impl Fn(Quarters) -> bool) -> Option<TupletGroup> {
    let start = items.get(first)?;
    let ratio_here = ratio(start)?;
    let normal = Rational::whole(i64::from(ratio_here.normal));
    let mut shortest: Option<NoteValue> = None;
    let mut mixed = false;
    let mut nested = false;
    let mut complete: Option<TupletGroup> = None;
    let mut sum = Quarters::ZERO;
    for (at, item) in items.iter().enumerate().skip(first).take(LONGEST) {
        let Some(written) = item.written.as_ref().filter(|_| ratio(item) == Some(ratio_here)) else {
            break;
        };
        sum += item.duration;
        mixed |= shortest.is_some_and(|value| value != written.value) || written.dots > 0;
        nested |= written.tuplets.len() > 1;
        // Inside a nested tuplet the outer ratio counts a longer value than the one printed.
        if written.tuplets.len() == 1 {
            shortest = Some(shortest.map_or(written.value, |value| value.min(written.value)));
        }
        let one = shortest.map_or_else(
            || BeatUnit::of_quarters(sum / normal).map_or(Quarters::ZERO, BeatUnit::quarters),
            NoteValue::quarters,
        );
        if one.is_zero() || !(sum / (one * normal)).is_whole() {
            continue;
        }
        let value = shortest
            .or_else(|| BeatUnit::of_quarters(one).map(|unit| unit.value))
            .unwrap_or(written.value);
        complete = Some(TupletGroup {
            start: start.offset,
            length: sum,
            ratio: ratio_here,
            value,
            items: (first, at + 1),
            nested,
        });
        let next_differs = items.get(at + 1).and_then(ratio) != Some(ratio_here);
        if !mixed && !nested || next_differs || on_beat(item.end()) {
            break;
        }
    }
    complete
}

/// What a group is called: `triplet`, `quintuplet` …
#[must_use]
pub fn tuplet_word(actual: u16) -> String {
    match actual {
        2 => "duplet",
        3 => "triplet",
        4 => "quadruplet",
        5 => "quintuplet",
        6 => "sextuplet",
        7 => "septuplet",
        n => return format!("{n}-tuplet"),
    }
    .to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Context;
    use crate::rhythm::voice::MainVoice;
    use notation::sketch;

    fn of(text: &str) -> Vec<(String, u16, String)> {
        let piece = sketch(text).unwrap();
        let voice = MainVoice::read(&Context::new(&piece, 0).unwrap());
        groups(&voice.bars[0].items, Rational::is_whole)
            .iter()
            .map(|group| {
                (
                    group.start.to_string(),
                    group.ratio.actual,
                    group.length.to_string(),
                )
            })
            .collect()
    }

    fn row(start: &str, actual: u16, length: &str) -> (String, u16, String) {
        (start.to_owned(), actual, length.to_owned())
    }

    #[test]
    fn plain_and_mixed_triplets() {
        let three = "C5/e:3 C5/e:3 C5/e:3";
        assert_eq!(
            of(&format!("metre:2/4 {three} {three}")),
            [row("0", 3, "1"), row("1", 3, "1")]
        );
        assert_eq!(of("metre:2/4 C5/q:3 C5/e:3 C5/q"), [row("0", 3, "1")]);
        assert_eq!(of("metre:2/4 C5/q:3 C5/q:3 C5/q:3"), [row("0", 3, "2")]);
        assert_eq!(
            of("metre:2/4 C5/e:3 C5/s:3 C5/s:3 C5/e:3 C5/q"),
            [row("0", 3, "1")]
        );
        let sixteenths = "C5/s:3 C5/s:3 C5/s:3";
        assert_eq!(
            of(&format!("metre:1/4 {sixteenths} {sixteenths}")),
            [row("0", 3, "1/2"), row("1/2", 3, "1/2")]
        );
        assert_eq!(
            of("metre:1/4 C5/s:5 C5/s:5 C5/s:5 C5/s:5 C5/s:5"),
            [row("0", 5, "1")]
        );
        assert_eq!(of("metre:2/4 C5/e.:3 C5/s:3 C5/e:3 C5/q"), [row("0", 3, "1")]);
    }
}

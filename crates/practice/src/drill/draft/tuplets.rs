//! Which notes stand under one tuplet's bracket? Those that fill so many notes of one value.

use notation::{Quarters, Rational, TupletRatio, Written};

/// An event's printed value, if it has one, and its length.
pub(super) type Valued = (Option<Written>, Quarters);

/// The brackets over the events of a bar, level by level: the ratio, the first and the last event.
pub(super) fn brackets(events: &[Valued]) -> Vec<(TupletRatio, usize, usize)> {
    let chain = |index: usize| -> &[TupletRatio] {
        events
            .get(index)
            .and_then(|(written, _)| written.as_ref())
            .map_or(&[], |written| &written.tuplets)
    };
    let deepest = (0..events.len())
        .map(|index| chain(index).len())
        .max()
        .unwrap_or(0);
    let mut found = Vec::new();
    for level in 0..deepest.min(4) {
        let mut index = 0;
        while index < events.len() {
            let Some(ratio) = chain(index).get(level).copied() else {
                index += 1;
                continue;
            };
            let end = group_end(events, index, level, ratio);
            if end > index {
                found.push((ratio, index, end));
            }
            index = end + 1;
        }
    }
    found
}

/// Where a group that begins at an event ends: where so many notes of one value are full.
fn group_end(events: &[Valued], start: usize, level: usize, ratio: TupletRatio) -> usize {
    let mut sum = Quarters::ZERO;
    let mut smallest: Option<Quarters> = None;
    let mut end = start;
    for (index, (written, length)) in events.iter().enumerate().skip(start) {
        let written = written.as_ref();
        let Some(written) = written.filter(|written| written.tuplets.get(level) == Some(&ratio)) else {
            break;
        };
        let outer = written.tuplets.iter().take(level + 1);
        let scale = outer.fold(Rational::ONE, |scale, ratio| {
            scale * Rational::new(i64::from(ratio.actual), i64::from(ratio.normal))
        });
        sum += *length * scale;
        let base = written.value.quarters();
        smallest = Some(smallest.map_or(base, |known| known.min(base)));
        end = index;
        let unit = sum / Rational::whole(i64::from(ratio.actual.max(1)));
        let plain = unit.num().count_ones() == 1 && unit.den().count_ones() == 1;
        if plain && smallest.is_some_and(|smallest| unit >= smallest) {
            break;
        }
    }
    end
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::NoteValue;

    fn triplet(value: NoteValue) -> Valued {
        let written = Written {
            value,
            dots: 0,
            tuplets: vec![TupletRatio { actual: 3, normal: 2 }],
        };
        let length = written.quarters();
        (Some(written), length)
    }

    #[test]
    fn a_group_is_full_when_its_notes_are() {
        use NoteValue::{Eighth, Quarter};
        let spans = |values: &[NoteValue]| -> Vec<(usize, usize)> {
            let events: Vec<Valued> = values.iter().copied().map(triplet).collect();
            brackets(&events)
                .into_iter()
                .map(|(_, from, to)| (from, to))
                .collect()
        };
        assert_eq!(spans(&[Eighth; 6]), [(0, 2), (3, 5)]);
        assert_eq!(spans(&[Quarter, Eighth, Eighth, Quarter]), [(0, 1), (2, 3)]);
        assert_eq!(spans(&[Quarter, Quarter, Quarter]), [(0, 2)]);
    }
}

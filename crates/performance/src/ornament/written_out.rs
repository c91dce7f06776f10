//! How is an ornament written out? Its lengths as note values: dots, triplets, ties where no single value is long enough.

use notation::{NoteValue, Pitch, Quarters, Rational, TupletRatio, Written};

/// One note of an ornament as it would be printed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SmallNote {
    /// As written for the part.
    pub pitch: Pitch,
    /// Its values, tied together; empty where no usual value says the length.
    pub values: Vec<Written>,
}

/// The tuplets that are tried, in this order. Source: common practice.
const TUPLETS: [TupletRatio; 4] = [
    TupletRatio { actual: 3, normal: 2 },
    TupletRatio { actual: 5, normal: 4 },
    TupletRatio { actual: 7, normal: 4 },
    TupletRatio { actual: 9, normal: 8 },
];

/// Pitches and lengths (as [`super::Sounded`] gives them) as notes to print.
///
/// ```
/// use notation::{Pitch, Rational};
/// let d = Pitch::parse("D5").unwrap();
/// let written = performance::ornament::written_out(&[(d, Rational::new(1, 6)), (d, Rational::new(29, 16))]);
/// assert_eq!(written[0].values[0].tuplets[0].actual, 3);
/// assert_eq!(written[1].values.len(), 2); // a double-dotted quarter tied to a 64th
/// ```
#[must_use]
pub fn written_out(notes: &[(Pitch, Quarters)]) -> Vec<SmallNote> {
    let small = |(pitch, length): &(Pitch, Quarters)| SmallNote {
        pitch: *pitch,
        values: values(*length),
    };
    notes.iter().map(small).collect()
}

/// The values that add up to a length, longest first.
#[must_use]
pub fn values(length: Quarters) -> Vec<Written> {
    if !length.is_positive() || length.is_overflow() {
        return Vec::new();
    }
    if let Some(one) = single(length, None) {
        return vec![one];
    }
    if length.den().count_ones() == 1 {
        return tied(length);
    }
    let tuplet = |ratio: &TupletRatio| {
        let whole = length * Rational::new(i64::from(ratio.actual), i64::from(ratio.normal));
        single(whole, Some(*ratio))
    };
    TUPLETS.iter().find_map(tuplet).into_iter().collect()
}

/// A value with at most two dots.
fn single(length: Quarters, tuplet: Option<TupletRatio>) -> Option<Written> {
    (0..=2).find_map(|dots| {
        let base = length / (Rational::whole(2) - Rational::new(1, 1 << dots));
        let value = NoteValue::ALL
            .into_iter()
            .find(|value| value.quarters() == base)?;
        Some(Written {
            value,
            dots,
            tuplets: tuplet.into_iter().collect(),
        })
    })
}

/// The longest value that fits (at most two dots), and again for what is left.
fn tied(length: Quarters) -> Vec<Written> {
    let mut left = length;
    let mut found = Vec::new();
    while left.is_positive() && found.len() < 12 {
        let fits = NoteValue::ALL.into_iter().rev().flat_map(|value| {
            (0..=2_u8).rev().map(move |dots| Written {
                value,
                dots,
                tuplets: Vec::new(),
            })
        });
        let Some(longest) = fits
            .filter(|written| written.quarters() <= left)
            .max_by_key(Written::quarters)
        else {
            break;
        };
        left -= longest.quarters();
        found.push(longest);
    }
    if left.is_zero() { found } else { Vec::new() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn usual_lengths_have_usual_values() {
        let said = |num, den| -> Vec<(String, u8, usize)> {
            let of = |written: &Written| {
                (
                    written.value.name().to_owned(),
                    written.dots,
                    written.tuplets.len(),
                )
            };
            values(Rational::new(num, den)).iter().map(of).collect()
        };
        assert_eq!(said(1, 4), [("16th".to_owned(), 0, 0)]);
        assert_eq!(said(3, 8), [("16th".to_owned(), 1, 0)]);
        assert_eq!(said(7, 8), [("eighth".to_owned(), 2, 0)]);
        assert_eq!(said(1, 6), [("16th".to_owned(), 0, 1)]);
        assert_eq!(
            said(9, 8),
            [("quarter".to_owned(), 0, 0), ("32nd".to_owned(), 0, 0)]
        );
        assert!(values(Rational::ZERO).is_empty() && values(Rational::new(1, 11)).is_empty());
    }

    proptest! {
        #[test]
        fn values_add_up(num in 1i64..4_000, power in 0u32..9, third in 0usize..2) {
            let length = Rational::new(num, (1 << power) * [1, 3][third]);
            let found = values(length);
            if !found.is_empty() {
                let sum = found.iter().fold(Quarters::ZERO, |sum, written| sum + written.quarters());
                prop_assert_eq!(sum, length);
            } else {
                prop_assert!(length.den() % 3 == 0 || num > 300, "{length}");
            }
        }
    }
}

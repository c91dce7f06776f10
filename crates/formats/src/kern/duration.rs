//! How long is a note? The reciprocal number, its dots, and the printed value with its tuplet.
//!
//! Source: Humdrum reference, `**recip`: "reciprocal values corresponding to the American duration names", 0 for the
//! breve; `3%2` is two thirds of a whole note; 00 and 000 for the long and the maxima by common usage.

use notation::{NoteValue, Quarters, Rational, TupletRatio, Written};

/// Numbers past this are no durations.
const MOST: i64 = 100_000;

/// A duration as the token states it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Stated {
    pub quarters: Quarters,
    pub written: Option<Written>,
}

/// The digits, rational part and dots at the start of a text: how many bytes they take.
pub(super) fn span(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |from: usize| {
        bytes
            .get(from..)
            .unwrap_or_default()
            .iter()
            .take_while(|b| b.is_ascii_digit())
            .count()
    };
    let mut end = digits(0);
    if end > 0 && bytes.get(end) == Some(&b'%') {
        let under = digits(end + 1);
        if under > 0 {
            end += 1 + under;
        }
    }
    end + bytes
        .get(end..)
        .unwrap_or_default()
        .iter()
        .take_while(|b| **b == b'.')
        .count()
}

/// What a number with dots says; `None` if it is no duration.
pub(super) fn stated(text: &str) -> Option<Stated> {
    let number = text.trim_end_matches('.');
    let dots = u8::try_from(text.len() - number.len())
        .ok()
        .filter(|dots| *dots <= 8)?;
    let (over, under) = match number.split_once('%') {
        Some((over, under)) => (over, small(under).filter(|n| *n > 0)?),
        None => (number, 1),
    };
    let whole = if over.bytes().all(|b| b == b'0') {
        // 0, 00, 000: breve, long, maxima.
        let power = u32::try_from(over.len()).ok().filter(|n| (1..=3).contains(n))?;
        Rational::whole(1 << power) * Rational::whole(under)
    } else {
        Rational::new(under, small(over).filter(|n| *n > 0)?)
    };
    let base = whole * Rational::whole(4);
    let quarters = dotted(base, dots);
    if quarters.is_overflow() || !quarters.is_positive() {
        return None;
    }
    Some(Stated {
        quarters,
        written: written(base, dots).or_else(|| written_of(quarters)),
    })
}

fn small(text: &str) -> Option<i64> {
    text.parse().ok().filter(|n| (0..=MOST).contains(n))
}

fn dotted(base: Quarters, dots: u8) -> Quarters {
    base * (Rational::whole(2) - Rational::new(1, 1 << dots))
}

/// The printed form of any length: plain or dotted if it can be, else in a tuplet.
pub(super) fn written_of(quarters: Quarters) -> Option<Written> {
    (0..=3)
        .find_map(|dots| {
            let base = quarters / (Rational::whole(2) - Rational::new(1, 1 << dots));
            let plain = value_of(base)?;
            Some(Written {
                value: plain,
                dots,
                tuplets: Vec::new(),
            })
        })
        .or_else(|| written(quarters, 0))
        .or_else(|| {
            (1..=2).find_map(|dots| {
                written(
                    quarters / (Rational::whole(2) - Rational::new(1, 1 << dots)),
                    dots,
                )
            })
        })
}

/// The printed value of an undotted length.
fn written(base: Quarters, dots: u8) -> Option<Written> {
    if let Some(value) = value_of(base) {
        return Some(Written {
            value,
            dots,
            tuplets: Vec::new(),
        });
    }
    // So many in the time of the next smaller power of two: 12 is three eighths in the time of two.
    let odd = base.den() >> base.den().trailing_zeros();
    let actual = u16::try_from(odd).ok().filter(|n| (3..=1_000).contains(n))?;
    let normal = 1_u16 << actual.ilog2();
    let ratio = TupletRatio { actual, normal };
    let value = value_of(base * Rational::new(i64::from(actual), i64::from(normal)))?;
    Some(Written {
        value,
        dots,
        tuplets: vec![ratio],
    })
}

fn value_of(quarters: Quarters) -> Option<NoteValue> {
    NoteValue::ALL
        .into_iter()
        .find(|value| value.quarters() == quarters)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> String {
        assert_eq!(span(text), text.len(), "{text}");
        let Some(stated) = stated(text) else {
            return "none".to_owned();
        };
        let Some(written) = stated.written else {
            return stated.quarters.to_string();
        };
        assert_eq!(written.quarters(), stated.quarters, "{text}");
        let tuplet: String = written
            .tuplets
            .iter()
            .map(|t| format!(" {}:{}", t.actual, t.normal))
            .collect();
        format!(
            "{} {}{}{tuplet}",
            stated.quarters,
            written.value.name(),
            ".".repeat(usize::from(written.dots))
        )
    }

    /// Source: Humdrum reference, `**kern`, the table of durations; user's guide, chapter 6 (triplets, quintuplets, 92..).
    #[test]
    fn reciprocal_durations() {
        assert_eq!(said("4"), "1 quarter");
        assert_eq!(said("8."), "3/4 eighth.");
        assert_eq!(said("2.."), "7/2 half..");
        assert_eq!(said("0"), "8 breve");
        assert_eq!(said("00"), "16 long");
        assert_eq!(said("000"), "32 maxima");
        assert_eq!(said("0."), "12 breve.");
        assert_eq!(said("3"), "4/3 half 3:2");
        assert_eq!(said("6"), "2/3 quarter 3:2");
        assert_eq!(said("12"), "1/3 eighth 3:2");
        assert_eq!(said("12."), "1/2 eighth. 3:2");
        assert_eq!(said("24"), "1/6 16th 3:2");
        assert_eq!(said("10"), "2/5 eighth 5:4");
        assert_eq!(said("7"), "4/7 quarter 7:4");
        assert_eq!(said("92.."), "7/92 64th.. 23:16");
        assert_eq!(said("3%2"), "8/3 whole 3:2");
        assert_eq!(said("16%3"), "3/4 eighth.");
        assert_eq!(said("1%5"), "20");
    }

    #[test]
    fn what_is_no_duration() {
        for text in ["0%0", "4%0", "0000", "999999999999", "4.........", "200000"] {
            assert_eq!(said(text), "none", "{text}");
        }
        assert_eq!(span("4%c"), 1);
        assert_eq!(span("c4"), 0);
    }
}

//! When is it, in MEI's words? Beats of the metre as decimal numbers, and lengths split into plain note values.
//!
//! Source: MEI 5 Guidelines, `att.timestamp.log` (`tstamp`: beats of the metre, the first is 1; the end of the bar is one
//! more than its last beat) and `att.timestamp2.log` (`tstamp2`: bars crossed, then the beat).

use notation::{BarIndex, NoteValue, Part, Place, Quarters, Rational};

/// Decimal places of a beat that no decimal fraction can hold, such as a third.
const PLACES: u32 = 9;

/// An amount as a decimal number, rounded where it does not end.
pub(super) fn decimal(amount: Rational) -> String {
    let scale = 10_i128.pow(PLACES);
    if amount.is_overflow() {
        return "0".to_owned();
    }
    let (num, den) = (i128::from(amount.num()) * scale, i128::from(amount.den()));
    let rounded = (2 * num + den).div_euclid(2 * den);
    let (whole, rest) = (rounded.div_euclid(scale), rounded.rem_euclid(scale));
    if rest == 0 {
        return whole.to_string();
    }
    let digits = format!("{rest:09}");
    format!("{whole}.{}", digits.trim_end_matches('0'))
}

/// The note value that a bar of the part counts in: the number below of its metre, 4 without one.
pub(super) fn unit(part: &Part, bar: BarIndex) -> u16 {
    part.metre_at(Place::start_of(bar))
        .and_then(|metre| metre.parts.first())
        .map_or(4, |fraction| fraction.beat_type.max(1))
}

/// `tstamp` of a place.
pub(super) fn tstamp(part: &Part, place: Place) -> String {
    let beats = place.offset * Rational::new(i64::from(unit(part, place.bar)), 4) + Rational::ONE;
    decimal(beats.max(Rational::ZERO))
}

/// `tstamp2` of a place, seen from a bar; `None` if it lies before that bar.
pub(super) fn tstamp2(part: &Part, from: BarIndex, place: Place) -> Option<String> {
    let bars = place.bar.0.checked_sub(from.0)?;
    Some(format!("{bars}m+{}", tstamp(part, place)))
}

/// One plain value with at most four dots that lasts so long.
pub(super) fn plain_value(length: Quarters) -> Option<(NoteValue, u8)> {
    NoteValue::ALL
        .into_iter()
        .filter(|value| *value != NoteValue::Maxima)
        .flat_map(|value| (0..=4).map(move |dots| (value, dots)))
        .find(|(value, dots)| dotted(*value, *dots) == length)
}

fn dotted(value: NoteValue, dots: u8) -> Quarters {
    value.quarters() * (Rational::whole(2) - Rational::new(1, 1_i64 << dots.min(10)))
}

/// The longest undotted value that is not longer than this; the shortest if all are.
pub(super) fn nearest_value(length: Quarters) -> NoteValue {
    NoteValue::ALL
        .into_iter()
        .rev()
        .find(|value| *value != NoteValue::Maxima && value.quarters() <= length)
        .unwrap_or(NoteValue::N1024th)
}

/// A length as plain undotted values, longest first; what is left at the end is `None`'s due.
pub(super) fn split(length: Quarters) -> Option<Vec<NoteValue>> {
    let mut left = length;
    let mut values = Vec::new();
    while left.is_positive() {
        let value = nearest_value(left);
        if value.quarters() > left || values.len() >= 64 {
            return None;
        }
        left -= value.quarters();
        values.push(value);
    }
    Some(values)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_end_or_are_rounded() {
        let said = |num, den| decimal(Rational::new(num, den));
        assert_eq!(said(3, 2), "1.5");
        assert_eq!(said(7, 1), "7");
        assert_eq!(said(4, 3), "1.333333333");
        assert_eq!(said(5, 3), "1.666666667");
        assert_eq!(said(1, 1024), "0.000976563");
    }

    #[test]
    fn lengths_are_split_into_plain_values() {
        assert_eq!(plain_value(Rational::new(3, 2)), Some((NoteValue::Quarter, 1)));
        assert_eq!(plain_value(Rational::new(7, 4)), Some((NoteValue::Quarter, 2)));
        assert_eq!(plain_value(Rational::new(5, 4)), None);
        assert_eq!(
            split(Rational::new(5, 4)),
            Some(vec![NoteValue::Quarter, NoteValue::N16th])
        );
        assert_eq!(split(Rational::new(1, 3)), None);
    }
}

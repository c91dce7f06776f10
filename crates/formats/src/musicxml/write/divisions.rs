//! Into how many divisions is a quarter note split? Enough for every place and length of the part, if there are so many.

use notation::{Event, EventKind, NoteValue, Part, Piece, Place, Quarters, Rational};

/// The most divisions that are written; readers count in 32 bits, and ours takes no more.
const MOST: i64 = 10_000_000;
/// Where no number fits all: divisible by all up to 16 but 14 of them twice over.
const MANY: i64 = 720_720;

/// Divisions of a quarter note.
#[derive(Clone, Copy, Debug)]
pub(super) struct Divisions {
    pub per_quarter: i64,
    /// False if places and lengths must be rounded to them.
    pub exact: bool,
}

impl Divisions {
    /// Those of a part: the least that say everything exactly.
    pub(super) fn of(piece: &Piece, part: &Part, number: usize) -> Self {
        let mut lcm = Lcm(Some(1));
        let mut closest: Option<Quarters> = None;
        for event in &part.events {
            lcm.add(event.place.offset);
            lcm.add(event.end_offset());
            if let Some(away) = contradiction(event) {
                closest = Some(closest.map_or(away, |closest| closest.min(away)));
            }
        }
        let place = |place: Place| place.offset;
        part.clefs.iter().for_each(|c| lcm.add(place(c.place)));
        part.keys.iter().for_each(|c| lcm.add(place(c.place)));
        part.metres.iter().for_each(|c| lcm.add(place(c.place)));
        part.transpositions.iter().for_each(|c| lcm.add(place(c.place)));
        part.directions.iter().for_each(|d| lcm.add(place(d.place)));
        for anchor in part
            .spans
            .iter()
            .flat_map(|span| [span.start, span.end])
            .flatten()
        {
            lcm.add(anchor.place.offset);
        }
        piece.bars.iter().for_each(|bar| lcm.add(bar.length));
        piece
            .barlines
            .iter()
            .filter(|line| line.part == number)
            .for_each(|line| lcm.add(line.place.offset));
        piece
            .sound_hints
            .iter()
            .filter(|hint| hint.part == number)
            .for_each(|hint| lcm.add(hint.place.offset));
        let Some(per_quarter) = lcm.0 else {
            return Self {
                per_quarter: MANY,
                exact: false,
            };
        };
        Self {
            per_quarter: told_apart(per_quarter, closest),
            exact: true,
        }
    }

    /// The length of one division.
    pub(super) fn one(self) -> Quarters {
        Rational::new(1, self.per_quarter)
    }

    /// A place or length in divisions, rounded to the nearest.
    pub(super) fn count(self, quarters: Quarters) -> i64 {
        let exact = quarters * Rational::whole(self.per_quarter);
        if exact.is_overflow() {
            return 0;
        }
        (exact + Rational::new(1, 2)).floor()
    }
}

/// A least common multiple; none once it is past what can be written.
struct Lcm(Option<i64>);

impl Lcm {
    fn add(&mut self, length: Quarters) {
        let (Some(so_far), false) = (self.0, length.is_overflow()) else {
            return;
        };
        if so_far % length.den() == 0 {
            return;
        }
        let lcm = (so_far / gcd(so_far, length.den())).checked_mul(length.den());
        self.0 = lcm.filter(|lcm| *lcm <= MOST);
    }
}

const fn gcd(mut a: i64, mut b: i64) -> i64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// How far a note's length is from its printed value, where they differ.
fn contradiction(event: &Event) -> Option<Quarters> {
    let written = event.written.as_ref().filter(|_| event.grace.is_none())?;
    let whole_rest = matches!(event.kind, EventKind::Rest { .. }) && written.value == NoteValue::Whole;
    let away = (written.quarters() - event.duration).abs();
    (!whole_rest && away.is_positive() && !away.is_overflow()).then_some(away)
}

/// More divisions, so that a length that contradicts its printed value is not taken for a rounded one.
fn told_apart(per_quarter: i64, closest: Option<Quarters>) -> i64 {
    let Some(away) = closest else { return per_quarter };
    let in_divisions = away * Rational::whole(per_quarter);
    if in_divisions > Rational::ONE {
        return per_quarter;
    }
    let times = (Rational::ONE / in_divisions).floor().saturating_add(1);
    per_quarter
        .checked_mul(times)
        .filter(|most| *most <= MOST)
        .unwrap_or(per_quarter)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_common_multiple_of_what_occurs() {
        let mut lcm = Lcm(Some(1));
        for (num, den) in [(1, 2), (2, 3), (5, 4), (3, 5), (7, 1)] {
            lcm.add(Rational::new(num, den));
        }
        assert_eq!(lcm.0, Some(60));
        for den in [7, 11, 13, 17, 19, 23] {
            lcm.add(Rational::new(1, den));
        }
        assert_eq!(lcm.0, None);
        assert_eq!(told_apart(2, Some(Rational::new(1, 2))), 4);
        assert_eq!(told_apart(2, Some(Rational::new(3, 2))), 2);
    }

    #[test]
    fn every_length_is_whole_in_its_divisions() {
        let piece = notation::sketch("metre:2/4 C4/e:3 D4/e:3 E4/e:3 C4/s:5 D4/s:5 E4/s:5 F4/s:5 G4/s:5 |")
            .expect("a sketch");
        let divisions = Divisions::of(&piece, &piece.parts[0], 0);
        assert_eq!((divisions.per_quarter, divisions.exact), (15, true));
    }
}

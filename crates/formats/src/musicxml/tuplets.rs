//! In which tuplets does a note stand? The chain, outermost first, from brackets and the product that each note carries.
//!
//! Source: MusicXML 4.0, `<time-modification>` (the product of all levels) and `<tuplet>` (each level's own numbers).

use super::note::Fields;
use super::part::PartReader;
use super::spans::{Family, MarkKind};
use crate::xml::El;
use notation::{NoteValue, Rational, Severity, SpanKind, TupletRatio};

/// A tuplet whose bracket is open.
#[derive(Clone, Copy, Debug)]
pub(super) struct OpenTuplet {
    number: u16,
    ratio: Option<TupletRatio>,
    stated: bool,
}

/// The ratio of a `<time-modification>`; `None` if it is unusable or one to one.
pub(super) fn ratio(el: El<'_, '_>) -> Option<TupletRatio> {
    numbers(el).filter(|ratio| ratio.actual != ratio.normal)
}

/// The numbers of a `<time-modification>`; `None` if they are missing or zero.
fn numbers(el: El<'_, '_>) -> Option<TupletRatio> {
    let number = |name: &str| {
        el.child_text(name)
            .and_then(|text| text.parse().ok())
            .filter(|n| *n > 0)
    };
    Some(TupletRatio {
        actual: number("actual-notes")?,
        normal: number("normal-notes")?,
    })
}

fn quotient(ratio: TupletRatio) -> Rational {
    Rational::new(i64::from(ratio.actual), i64::from(ratio.normal))
}

fn of_quotient(quotient: Rational) -> Option<TupletRatio> {
    let actual = u16::try_from(quotient.num()).ok().filter(|n| *n > 0)?;
    Some(TupletRatio {
        actual,
        normal: u16::try_from(quotient.den()).ok().filter(|n| *n > 0)?,
    })
}

/// Usual ratios, for levels whose numbers the file leaves out.
const USUAL: [(u16, u16); 9] = [
    (3, 2),
    (5, 4),
    (6, 4),
    (7, 4),
    (7, 8),
    (2, 3),
    (4, 3),
    (9, 8),
    (5, 3),
];

impl PartReader<'_> {
    fn tuplet_marks<'t, 'a>(el: El<'t, 'a>) -> impl Iterator<Item = El<'t, 'a>> {
        el.children()
            .filter(|child| child.name() == "notations")
            .flat_map(El::children)
            .filter(|child| child.name() == "tuplet")
    }

    /// Opens the brackets that start at a note.
    pub(super) fn begin_tuplets(&mut self, el: El<'_, '_>, fields: &Fields<'_, '_>, voice: u16) {
        if !fields.notations {
            return;
        }
        for mark in Self::tuplet_marks(el).filter(|mark| mark.attr("type") == Some("start")) {
            let ratio = stated_ratio(mark);
            let number = number(mark);
            let open = &mut self.voice_state(voice).tuplets;
            // Nested brackets have numbers of their own: an open one with this number was never closed.
            open.retain(|tuplet| tuplet.number != number);
            if open.len() >= 16 {
                open.remove(0);
            }
            open.push(OpenTuplet {
                number,
                ratio,
                stated: ratio.is_some(),
            });
        }
    }

    /// Closes the brackets that end at a note, and keeps both ends as marks of spans.
    pub(super) fn end_tuplets(&mut self, el: El<'_, '_>, voice: u16, event: usize) {
        for mark in Self::tuplet_marks(el) {
            let number = number(mark);
            let open = &self.voice_state(voice).tuplets;
            match mark.attr("type") {
                Some("start") => {
                    let ratio = open
                        .iter()
                        .rev()
                        .find(|t| t.number == number)
                        .and_then(|t| t.ratio);
                    let ratio = ratio.unwrap_or(TupletRatio { actual: 0, normal: 0 });
                    let kind = SpanKind::Tuplet {
                        actual: ratio.actual,
                        normal: ratio.normal,
                        bracket: !mark.no("bracket"),
                    };
                    self.event_mark(mark, Family::Tuplet, number, MarkKind::Start(kind), event);
                }
                Some("stop") => self.event_mark(mark, Family::Tuplet, number, MarkKind::Stop, event),
                _ => self.unread("tuplet", "notations", crate::report::Why::Unknown),
            }
        }
        for mark in Self::tuplet_marks(el).filter(|mark| mark.attr("type") == Some("stop")) {
            let number = number(mark);
            let open = &mut self.voice_state(voice).tuplets;
            if let Some(at) = open.iter().rposition(|tuplet| tuplet.number == number) {
                open.remove(at);
            }
        }
    }

    /// The chain of tuplets in which a note stands.
    pub(super) fn tuplet_chain(&mut self, fields: &Fields<'_, '_>, voice: u16) -> Vec<TupletRatio> {
        let Some(modification) = fields.modification else {
            return Vec::new();
        };
        let Some(product) = numbers(modification) else {
            self.find(
                Severity::Caution,
                "tuplet-unclear",
                "a note stands in a tuplet whose numbers are missing or zero; they were left out",
                "check the rhythm of this bar against the page",
            );
            return Vec::new();
        };
        // One to one is no tuplet, unless two brackets cancel (a triplet in a duplet of three).
        if product.actual == product.normal && self.voice_state(voice).tuplets.len() < 2 {
            return Vec::new();
        }
        let open = &mut self.voice_state(voice).tuplets;
        resolve(open, product)
    }
}

/// Splits the product of a note's tuplets over the open brackets, and remembers what each bracket turned out to be.
fn resolve(open: &mut [OpenTuplet], product: TupletRatio) -> Vec<TupletRatio> {
    if open.len() < 2 {
        if let Some(only) = open.first_mut()
            && !only.stated
        {
            only.ratio.get_or_insert(product);
        }
        return vec![product];
    }
    let whole = quotient(product);
    // Some brackets may be over already though their end was never marked: the shortest chain that fits is right.
    for length in (1..=open.len()).rev() {
        let Some(chain) = open.get_mut(..length) else {
            continue;
        };
        let known = chain
            .iter()
            .filter_map(|t| t.ratio)
            .fold(Rational::ONE, |q, r| q * quotient(r));
        let missing = chain.iter().filter(|t| t.ratio.is_none()).count();
        let rest = whole / known;
        match missing {
            0 if rest == Rational::ONE => return chain.iter().filter_map(|t| t.ratio).collect(),
            0 => continue,
            1 => {
                let Some(found) = of_quotient(rest).filter(|r| r.actual > 1 && r.actual != r.normal) else {
                    continue;
                };
                chain
                    .iter_mut()
                    .filter(|t| t.ratio.is_none())
                    .for_each(|t| t.ratio = Some(found));
            }
            2 => {
                let pair = USUAL.iter().find_map(|(actual, normal)| {
                    let outer = TupletRatio {
                        actual: *actual,
                        normal: *normal,
                    };
                    let inner = of_quotient(rest / quotient(outer))?;
                    USUAL
                        .contains(&(inner.actual, inner.normal))
                        .then_some([outer, inner])
                });
                let Some(pair) = pair else { continue };
                chain
                    .iter_mut()
                    .filter(|t| t.ratio.is_none())
                    .zip(pair)
                    .for_each(|(t, ratio)| t.ratio = Some(ratio));
            }
            _ => continue,
        }
        return chain.iter().filter_map(|t| t.ratio).collect();
    }
    if product.actual == product.normal {
        return Vec::new();
    }
    if let Some(innermost) = open.last_mut() {
        innermost.ratio.get_or_insert(product);
    }
    vec![product]
}

fn number(mark: El<'_, '_>) -> u16 {
    mark.attr("number")
        .and_then(|text| text.parse().ok())
        .unwrap_or(1)
}

/// The level's own numbers, where the bracket states them (`<tuplet-actual>`, `<tuplet-normal>`).
fn stated_ratio(mark: El<'_, '_>) -> Option<TupletRatio> {
    let actual = mark.child("tuplet-actual")?;
    let normal = mark.child("tuplet-normal")?;
    let count = |el: El<'_, '_>| {
        el.child_text("tuplet-number")
            .and_then(|text| text.parse::<i64>().ok())
    };
    let value = |el: El<'_, '_>| -> Option<Rational> {
        let base = NoteValue::from_name(el.child_text("tuplet-type")?)?.quarters();
        let dots = el
            .children()
            .filter(|child| child.name() == "tuplet-dot")
            .take(5)
            .count();
        Some(match dots {
            0 => base,
            1 => base * Rational::new(3, 2),
            _ => base * Rational::new(7, 4),
        })
    };
    let (actual_count, normal_count) = (count(actual)?, count(normal)?);
    // Normal notes of another value (three eighths for one quarter) are counted in the value of the actual ones.
    let scale = match (value(actual), value(normal)) {
        (Some(a), Some(n)) => n / a,
        _ => Rational::ONE,
    };
    let normal_count = Rational::whole(normal_count) * scale;
    if !normal_count.is_whole() {
        return of_quotient(Rational::whole(actual_count) / normal_count);
    }
    let ratio = TupletRatio {
        actual: u16::try_from(actual_count).ok().filter(|n| *n > 0)?,
        normal: u16::try_from(normal_count.num()).ok().filter(|n| *n > 0)?,
    };
    Some(ratio)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn open(ratio: Option<(u16, u16)>) -> OpenTuplet {
        let ratio = ratio.map(|(actual, normal)| TupletRatio { actual, normal });
        OpenTuplet {
            number: 1,
            ratio,
            stated: ratio.is_some(),
        }
    }

    fn chain(open: &mut [OpenTuplet], actual: u16, normal: u16) -> Vec<(u16, u16)> {
        resolve(open, TupletRatio { actual, normal })
            .iter()
            .map(|r| (r.actual, r.normal))
            .collect()
    }

    /// Source: MusicXML 4.0 tutorial, nested tuplets: the note's numbers are the product of all levels.
    #[test]
    fn nested_levels_multiply_to_the_notes_numbers() {
        assert_eq!(chain(&mut [open(None)], 6, 4), [(6, 4)]);
        assert_eq!(
            chain(&mut [open(Some((3, 2))), open(Some((5, 4)))], 15, 8),
            [(3, 2), (5, 4)]
        );
        assert_eq!(
            chain(&mut [open(Some((3, 2))), open(None)], 15, 8),
            [(3, 2), (5, 4)]
        );
        assert_eq!(chain(&mut [open(None), open(None)], 9, 4), [(3, 2), (3, 2)]);
        assert_eq!(
            chain(&mut [open(Some((2, 3))), open(Some((3, 2)))], 6, 6),
            [(2, 3), (3, 2)]
        );
        // The inner bracket is over though nobody said so.
        assert_eq!(
            chain(&mut [open(Some((3, 2))), open(Some((5, 4)))], 3, 2),
            [(3, 2)]
        );
        // Brackets that contradict the note: the note is right.
        assert_eq!(
            chain(&mut [open(Some((3, 2))), open(Some((5, 4)))], 7, 4),
            [(7, 4)]
        );
    }
}

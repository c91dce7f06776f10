//! Which number does each span get? Spans of one kind that are open at once are told apart by numbers from 1 to 16.
//!
//! Source: MusicXML 4.0, number-level. The order in which ends are met is the reader's: by place, grace notes first, and
//! at one place ends before starts.

use notation::{BarIndex, Quarters};

/// Where an end stands in the order of reading: bar, offset, grace notes before the note, their order.
pub(super) type Order = (BarIndex, Quarters, u8, u16);

/// A span by its ends; a missing end is one that the source never tells.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ends {
    pub start: Option<Order>,
    pub end: Option<Order>,
}

const MOST: usize = 16;

/// Numbers that are taken.
#[derive(Default)]
struct Taken {
    /// By a span whose end is still to come.
    open: [bool; MOST],
    /// By a span that never ends: free again, but better left alone.
    worn: [bool; MOST],
}

impl Taken {
    fn take(&mut self, ends: bool) -> Option<usize> {
        let free = |worn: bool| (0..MOST).find(|at| !self.open[*at] && (worn || !self.worn[*at]));
        let at = free(false).or_else(|| free(true))?;
        if ends {
            self.open[at] = true;
        } else {
            self.worn[at] = true;
        }
        Some(at)
    }
}

/// What happens at a place, in the order of reading.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum What {
    /// An end whose start is never told: while the numbers of those that end here are still taken.
    LoneEnd,
    End,
    Start,
    /// The end of a span that starts at the same place is met after the starts there.
    LateEnd,
}

/// A number for each span of one family; `None` for one that can't be told apart or ends before it starts.
pub(super) fn numbers(spans: &[Ends]) -> Vec<Option<u8>> {
    let mut marks: Vec<(Order, What, usize)> = Vec::with_capacity(spans.len() * 2);
    for (index, span) in spans.iter().enumerate() {
        let late = span.start == span.end;
        if span.start.zip(span.end).is_some_and(|(start, end)| end < start) {
            continue;
        }
        marks.extend(span.start.map(|at| (at, What::Start, index)));
        let end = match span.start {
            None => What::LoneEnd,
            Some(_) if late => What::LateEnd,
            Some(_) => What::End,
        };
        marks.extend(span.end.map(|at| (at, end, index)));
    }
    // Of spans that start together the longest comes first: nested brackets are told outermost first.
    marks.sort_by_key(|(at, what, index)| {
        let end = spans.get(*index).and_then(|span| span.end);
        (*at, *what, std::cmp::Reverse(end), *index)
    });
    let mut taken = Taken::default();
    let mut given: Vec<Option<usize>> = vec![None; spans.len()];
    // An end without a start would be taken for that of a span that starts at the same place with its number.
    let mut lone: Vec<(Order, usize)> = Vec::new();
    for (at, what, index) in marks {
        lone.retain(|(of, number)| {
            taken.open[*number] = *of == at;
            *of == at
        });
        let (Some(span), Some(number)) = (spans.get(index), given.get_mut(index)) else {
            continue;
        };
        match (what, *number) {
            (What::Start, _) => *number = taken.take(span.end.is_some()),
            (_, Some(number)) => taken.open[number] = false,
            (_, None) if span.start.is_none() => {
                *number = taken.take(true);
                lone.extend(number.map(|number| (at, number)));
            }
            _ => {}
        }
    }
    let from_one = |at: usize| u8::try_from(at + 1).ok();
    given.into_iter().map(|at| at.and_then(from_one)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn span(start: u32, end: u32) -> Ends {
        let at = |bar| Some((BarIndex(bar), Quarters::ZERO, 1, 0));
        Ends {
            start: at(start),
            end: at(end),
        }
    }

    #[test]
    fn numbers_are_used_again_when_they_are_free() {
        let spans = [span(0, 4), span(1, 2), span(2, 3), span(3, 3), span(4, 5)];
        assert_eq!(numbers(&spans), [Some(1), Some(2), Some(2), Some(2), Some(1)]);
    }

    #[test]
    fn what_starts_together_is_told_longest_first() {
        assert_eq!(numbers(&[span(0, 1), span(0, 3)]), [Some(2), Some(1)]);
    }

    #[test]
    fn past_sixteen_and_backwards_there_is_none() {
        let mut spans = vec![span(0, 9); 17];
        spans.push(span(9, 2));
        let given = numbers(&spans);
        assert_eq!(given.iter().flatten().count(), 16);
        assert_eq!(given[17], None);
    }

    #[test]
    fn a_span_without_an_end_keeps_others_off_its_number() {
        let open = Ends {
            start: span(0, 1).start,
            end: None,
        };
        let late = Ends {
            start: None,
            end: span(2, 3).end,
        };
        assert_eq!(numbers(&[open, span(1, 3), late]), [Some(1), Some(2), Some(3)]);
        assert_eq!(
            numbers(&[late, span(3, 4), span(4, 5)]),
            [Some(1), Some(2), Some(1)]
        );
    }
}

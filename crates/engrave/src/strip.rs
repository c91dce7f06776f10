//! How do the hard bars alone become music? Each passage as a movement of its own, with its clef, key and metre, so that the
//! engraver writes all of them in one go and announces none before it comes.

use crate::look::{Look, StripItem};
use crate::printable::{Printable, job};
use job::Breaks;
use notation::{BarIndex, Finding, Piece};
use std::ops::Range;

/// The passages of a strip for the engraver.
pub(crate) fn to_job(piece: &Piece, look: &Look) -> Printable {
    let items = items(piece, look);
    let mut whole: Option<Printable> = None;
    let mut movements = String::new();
    for item in &items {
        let one = job(&notation::excerpt(piece, item.from, item.to), look, Breaks::Flow);
        movements.push_str(movement(&one.mei));
        whole.get_or_insert(one);
    }
    let mut whole = whole.unwrap_or_else(|| nothing(piece, look));
    if let Some(first) = whole.mei.find(START)
        && let Some(end) = whole.mei.rfind(END)
    {
        whole.mei.replace_range(first..end + END.len(), &movements);
    }
    whole.findings = findings(items.len());
    whole.first_bar = BarIndex(0);
    whole.last_bar = BarIndex::from_usize(piece.bars.len().saturating_sub(1));
    // Names that drawn things carry are the same as in the whole piece.
    whole.drawn_as = job(piece, look, Breaks::Flow).drawn_as;
    whole
}

/// The passages asked for that are there, each cut to the piece.
pub(crate) fn items(piece: &Piece, look: &Look) -> Vec<StripItem> {
    let last = piece.bars.len().saturating_sub(1);
    look.strip
        .iter()
        .filter(|item| item.from.get() <= last && item.from <= item.to && !piece.bars.is_empty())
        .map(|item| StripItem {
            to: item.to.min(BarIndex::from_usize(last)),
            ..item.clone()
        })
        .collect()
}

const START: &str = "<mdiv>";
const END: &str = "</mdiv>";

fn movement(mei: &str) -> &str {
    let inside = || mei.get(mei.find(START)?..mei.rfind(END)? + END.len());
    inside().unwrap_or("")
}

fn nothing(piece: &Piece, look: &Look) -> Printable {
    // The engraver needs something; it is not laid out.
    job(
        &notation::excerpt(piece, BarIndex(0), BarIndex(0)),
        look,
        Breaks::Flow,
    )
}

fn findings(items: usize) -> Vec<Finding> {
    if items > 0 {
        return Vec::new();
    }
    vec![Finding::new(
        notation::Severity::Note,
        "empty-strip",
        "there is no trouble spot to put on a strip",
        "choose bars for it, or print the whole part",
    )]
}

/// For each system the passage that it belongs to; `bars` are the systems' own.
pub(crate) fn passages(items: &[StripItem], bars: &[Range<u32>]) -> Vec<usize> {
    let mut at = 0_usize;
    let mut before: Option<&Range<u32>> = None;
    bars.iter()
        .map(|system| {
            // The next passage begins where the one before is complete, or where the bars don't go on.
            let done = before.is_some_and(|before| {
                items.get(at).is_none_or(|item| before.end > item.to.0) || system.start != before.end
            });
            if done {
                at = at.saturating_add(1);
            }
            before = Some(system);
            at.min(items.len().saturating_sub(1))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{passages, to_job};
    use crate::look::{Edition, Look, StripItem};
    use notation::{BarIndex, sketch};

    fn item(from: u32, to: u32) -> StripItem {
        StripItem {
            from: BarIndex(from),
            to: BarIndex(to),
            heading: None,
            reason: "leaps".to_owned(),
        }
    }

    #[test]
    fn each_passage_is_a_movement_with_what_is_in_force() {
        let piece = sketch("key:2 D5/w | E5/w | F#5/w | G5/w | A5/w |").unwrap();
        let mut look = Look::of(Edition::Strip);
        look.strip = vec![item(1, 2), item(4, 9), item(7, 8)];
        let printable = to_job(&piece, &look);
        assert_eq!(printable.mei.matches("<mdiv>").count(), 2);
        assert_eq!(printable.mei.matches("</mdiv>").count(), 2);
        assert_eq!(printable.mei.matches("<measure ").count(), 3);
        assert_eq!(printable.mei.matches("<keySig ").count(), 2);
    }

    #[test]
    fn a_strip_of_nothing_says_so() {
        let piece = sketch("D5/w |").unwrap();
        let printable = to_job(&piece, &Look::of(Edition::Strip));
        assert_eq!(printable.findings.len(), 1);
    }

    #[test]
    fn systems_belong_to_their_passages_even_where_these_overlap() {
        let items = [item(3, 8), item(5, 6), item(20, 21)];
        assert_eq!(passages(&items, &[3..6, 6..9, 5..7, 20..22]), [0, 0, 1, 2]);
        // One follows the other without a gap.
        let items = [item(3, 4), item(5, 6)];
        assert_eq!(passages(&items, &[3..5, 5..7]), [0, 1]);
        assert_eq!(passages(&[], &[]), Vec::<usize>::new());
    }
}

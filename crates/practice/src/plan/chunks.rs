//! How is a stretch cut into pieces to practise? Chunks that overlap by a bar, and chains built from the end.
//!
//! Joins fail most: every chunk begins with the last bar of the one before, and a chain always plays on into what is
//! known already. Common practice.

use crate::BarSpan;
use notation::BarIndex;

/// Chunks of at most `size` bars in order, each beginning with the last bar of the one before.
///
/// A rest of a single new bar goes with the chunk before, so that no chunk is all overlap but one bar.
#[must_use]
pub fn chunks(span: BarSpan, size: u32) -> Vec<BarSpan> {
    let size = size.max(2);
    let mut out = Vec::new();
    let mut from = span.from.0;
    loop {
        let to = from.saturating_add(size - 1).min(span.to.0);
        let to = if span.to.0 - to == 1 { span.to.0 } else { to };
        out.push(BarSpan::new(BarIndex(from), BarIndex(to)));
        if to >= span.to.0 {
            return out;
        }
        from = to;
    }
}

/// Backward chaining: the last chunk, then the last two, to the whole; every step ends at the end.
#[must_use]
pub fn backward_chain(span: BarSpan, size: u32) -> Vec<BarSpan> {
    let size = size.max(1);
    let mut out = Vec::new();
    let mut bars = size;
    loop {
        let from = (span.to.0 + 1).saturating_sub(bars).max(span.from.0);
        out.push(BarSpan::new(BarIndex(from), span.to));
        if from == span.from.0 {
            return out;
        }
        bars = bars.saturating_add(size);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn span(from: u32, to: u32) -> BarSpan {
        BarSpan::new(BarIndex(from), BarIndex(to))
    }

    fn said(spans: &[BarSpan]) -> Vec<(u32, u32)> {
        spans.iter().map(|span| (span.from.0, span.to.0)).collect()
    }

    #[test]
    fn chunks_of_four_overlap_by_a_bar() {
        assert_eq!(said(&chunks(span(1, 10), 4)), [(1, 4), (4, 7), (7, 10)]);
        assert_eq!(said(&chunks(span(1, 8), 4)), [(1, 4), (4, 8)]);
        assert_eq!(said(&chunks(span(5, 5), 4)), [(5, 5)]);
    }

    #[test]
    fn a_chain_starts_at_the_end() {
        assert_eq!(
            said(&backward_chain(span(1, 8), 2)),
            [(7, 8), (5, 8), (3, 8), (1, 8)]
        );
        assert_eq!(said(&backward_chain(span(1, 3), 2)), [(2, 3), (1, 3)]);
    }

    proptest! {
        #[test]
        fn chunks_cover_all_and_overlap_by_one(from in 0u32..50, more in 0u32..300, size in 2u32..12) {
            let whole = span(from, from + more);
            let all = chunks(whole, size);
            prop_assert_eq!(all[0].from, whole.from);
            prop_assert_eq!(all[all.len() - 1].to, whole.to);
            for pair in all.windows(2) {
                prop_assert_eq!(pair[0].to, pair[1].from);
                prop_assert!(pair[0].from < pair[1].from);
            }
            prop_assert!(all.iter().all(|chunk| chunk.to.0 - chunk.from.0 <= size));
        }

        #[test]
        fn each_step_of_a_chain_holds_the_one_before(from in 0u32..50, more in 0u32..300, size in 1u32..12) {
            let whole = span(from, from + more);
            let all = backward_chain(whole, size);
            prop_assert_eq!(all[all.len() - 1], whole);
            for pair in all.windows(2) {
                prop_assert!(pair[1].from < pair[0].from && pair[1].to == pair[0].to);
                prop_assert!(pair[0].from.0 - pair[1].from.0 <= size);
            }
        }
    }
}

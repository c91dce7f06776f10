//! Where should lines end? A choice over all bars at once: lines about as full as the engraver's own, ending where they must
//! (before a page turn) and rather where a phrase does.
//!
//! Widths are those of the engraver's first drawing, whose lines are all about equally full; what comes out is asked of it
//! again, and it spreads the bars over the line.

use job::Engraved;
use notation::{BarIndex, Piece};
use std::collections::BTreeMap;

/// A drawn bar.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Drawn {
    /// The bar; of a rest of several bars its first.
    pub bar: BarIndex,
    /// Its width without clef and key at the start of a line, in units.
    pub width: f64,
    /// It begins a line in the first drawing.
    pub begins_line: bool,
}

/// What is known of each possible line's end.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(crate) struct Wish {
    /// A line must begin with this bar.
    pub must: bool,
    /// A phrase begins with this bar: a line rather begins here than elsewhere.
    pub rather: bool,
}

/// The drawn bars in order, and how wide clef and key are at the start of a line.
pub(crate) fn drawn(piece: &Piece, engraved: &Engraved) -> (Vec<Drawn>, f64) {
    let by_id = crate::systems::by_id(piece);
    let mut all = Vec::new();
    let mut heads: Vec<f64> = Vec::new();
    for system in &engraved.systems {
        let measures = system.boxes.iter().filter(|boxed| boxed.class == "measure");
        let mut first = true;
        for (boxed, bar) in measures.filter_map(|boxed| Some((boxed, *by_id.get(boxed.id.as_str())?))) {
            let head = if first { head(system, &boxed.id) } else { 0.0 };
            if first {
                heads.push(head);
            }
            all.push(Drawn {
                bar,
                width: (boxed.rect.w - head).max(1.0),
                begins_line: first,
            });
            first = false;
        }
    }
    heads.sort_by(f64::total_cmp);
    let head = heads.get(heads.len() / 2).copied().unwrap_or(0.0);
    (all, head)
}

/// How wide clef, key and metre are at the start of a line.
fn head(system: &job::System, measure: &str) -> f64 {
    let signs = system.boxes.iter().filter(|boxed| {
        // What stands farther right is a change inside the bar.
        boxed.measure == measure
            && matches!(boxed.class.as_str(), "clef" | "keySig" | "keyAccid" | "meterSig")
            && boxed.rect.x < system.staff.x + 0.35 * system.staff.w
    });
    signs
        .map(|boxed| boxed.rect.right() - system.staff.x)
        .fold(0.0, f64::max)
}

/// A line that is fuller than this is too full.
const FULLEST: f64 = 1.3;
/// What it costs to end a line where no phrase ends, if phrases count.
const INSIDE_PHRASE: f64 = 0.25;
/// What it costs to begin a line elsewhere than the engraver did.
const MOVED: f64 = 0.01;

/// The bars with which lines begin, the first included. `room` is the width of a line after its clef and key.
pub(crate) fn lines(bars: &[Drawn], wishes: &BTreeMap<BarIndex, Wish>, room: f64) -> Vec<BarIndex> {
    let count = bars.len();
    let wish = |at: usize| {
        bars.get(at)
            .and_then(|bar| wishes.get(&bar.bar))
            .copied()
            .unwrap_or_default()
    };
    let phrases = wishes.values().any(|wish| wish.rather);
    let mut best: Vec<Option<(f64, usize)>> = vec![None; count + 1];
    if let Some(first) = best.first_mut() {
        *first = Some((0.0, 0));
    }
    for end in 1..=count {
        let mut width = 0.0;
        for start in (0..end).rev() {
            width += bars.get(start).map_or(0.0, |bar| bar.width);
            let fullness = width / room.max(1.0);
            if fullness > FULLEST && start + 1 < end {
                break;
            }
            if let Some((before, _)) = best.get(start).copied().flatten() {
                let moved = bars.get(start).is_some_and(|bar| !bar.begins_line);
                let all = before
                    + line(fullness, end == count)
                    + if moved { MOVED } else { 0.0 }
                    + if phrases && start > 0 && !wish(start).rather {
                        INSIDE_PHRASE
                    } else {
                        0.0
                    };
                if let Some(slot) = best.get_mut(end)
                    && slot.is_none_or(|(known, _)| all < known)
                {
                    *slot = Some((all, start));
                }
            }
            // No line reaches over a bar with which one must begin.
            if wish(start).must {
                break;
            }
        }
    }
    let mut starts = Vec::new();
    let mut end = count;
    while end > 0 {
        let Some((_, start)) = best.get(end).copied().flatten() else {
            break;
        };
        starts.extend(bars.get(start).map(|bar| bar.bar));
        end = start;
    }
    starts.reverse();
    starts
}

/// How bad a line is: the square of what it is too full or too empty; the last one may be as short as it is.
fn line(fullness: f64, last: bool) -> f64 {
    if last && fullness <= 1.0 {
        return 0.0;
    }
    let over = (fullness - 1.0) * if fullness > 1.0 { 1.5 } else { 1.0 };
    over.powi(2)
}

#[cfg(test)]
mod tests {
    use super::{Drawn, Wish, lines};
    use notation::BarIndex;
    use std::collections::BTreeMap;

    fn bars(widths: &[f64]) -> Vec<Drawn> {
        widths
            .iter()
            .enumerate()
            .map(|(index, width)| Drawn {
                bar: BarIndex::from_usize(index),
                width: *width,
                begins_line: index % 4 == 0,
            })
            .collect()
    }

    fn wish(at: u32, must: bool) -> BTreeMap<BarIndex, Wish> {
        BTreeMap::from([(BarIndex(at), Wish { must, rather: !must })])
    }

    fn numbers(starts: &[BarIndex]) -> Vec<u32> {
        starts.iter().map(|bar| bar.0).collect()
    }

    #[test]
    fn without_wishes_lines_stay_as_they_are() {
        let bars = bars(&[25.0; 16]);
        assert_eq!(numbers(&lines(&bars, &BTreeMap::new(), 100.0)), [0, 4, 8, 12]);
    }

    #[test]
    fn a_line_begins_where_it_must_and_its_neighbours_share_the_rest() {
        let bars = bars(&[25.0; 16]);
        let starts = numbers(&lines(&bars, &wish(7, true), 100.0));
        assert!(starts.contains(&7), "{starts:?}");
        // Seven bars before it: three and four, not one line of seven or four and a rest of three squeezed away.
        assert!(starts.contains(&3) || starts.contains(&4), "{starts:?}");
    }

    #[test]
    fn a_line_rather_ends_with_a_phrase() {
        let bars = bars(&[25.0; 16]);
        let phrases: BTreeMap<BarIndex, Wish> = [3, 6, 9, 12]
            .into_iter()
            .map(|bar| {
                (
                    BarIndex(bar),
                    Wish {
                        must: false,
                        rather: true,
                    },
                )
            })
            .collect();
        assert_eq!(numbers(&lines(&bars, &phrases, 100.0)), [0, 3, 6, 9, 12]);
    }

    #[test]
    fn a_bar_wider_than_the_line_stands_alone() {
        let bars = bars(&[250.0, 25.0, 25.0]);
        assert_eq!(numbers(&lines(&bars, &BTreeMap::new(), 100.0)), [0, 1]);
        assert_eq!(lines(&[], &BTreeMap::new(), 100.0), []);
    }
}

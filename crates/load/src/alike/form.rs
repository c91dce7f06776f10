//! What is the form in letters? Sections by what is printed, else by eights and fours, alike where their bars are.

use super::{How, LookAlike};
use crate::alike::shape::Shape;
use notation::BarIndex;
use std::collections::BTreeMap;

/// One section with its letter.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Section {
    /// First and last bar.
    pub bars: (BarIndex, BarIndex),
    /// `A`, `B` …, with a prime where it is an earlier one changed.
    pub letter: String,
}

/// The form.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Form {
    /// The sections in written order.
    pub sections: Vec<Section>,
    /// True if the sections stand on the page (double bars, repeats, rehearsal marks), false if they are counted off.
    pub printed: bool,
}

impl Form {
    /// In letters: `A A′ B A`.
    #[must_use]
    pub fn letters(&self) -> String {
        self.sections
            .iter()
            .map(|section| section.letter.as_str())
            .collect::<Vec<_>>()
            .join(" ")
    }
}

/// From this share of bars that return, a section is an earlier one changed; from the next, the same (ours).
const CHANGED: f64 = 0.5;
const SAME: f64 = 0.999;
/// Sections printed shorter than this on average are counted off in eights instead (ours).
const SHORTEST: usize = 4;

/// The form from the look-alikes. `bounds` are bars where printed sections begin.
pub(super) fn form(shapes: &[Shape], look_alikes: &[LookAlike], bounds: &[BarIndex]) -> Form {
    let bars = shapes.len();
    if bars == 0 {
        return Form::default();
    }
    let mut starts: Vec<usize> = bounds
        .iter()
        .map(|bar| bar.get())
        .filter(|bar| *bar < bars)
        .collect();
    starts.push(0);
    starts.sort_unstable();
    starts.dedup();
    let printed = starts.len() > 1 && bars / starts.len() >= SHORTEST;
    if !printed {
        starts = counted_off(shapes);
    }
    let same = classes(shapes, look_alikes);
    let mut sections: Vec<(usize, usize, usize, bool)> = Vec::new();
    let mut letters = 0;
    for (index, start) in starts.iter().enumerate() {
        let end = starts.get(index + 1).copied().unwrap_or(bars);
        let best = sections
            .iter()
            .filter(|(_, _, _, changed)| !changed)
            .map(|(s, e, letter, _)| (share(&same, (*start, end), (*s, *e)), *letter))
            .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        match best {
            Some((alike, letter)) if alike >= CHANGED => sections.push((*start, end, letter, alike < SAME)),
            _ => {
                sections.push((*start, end, letters, false));
                letters += 1;
            }
        }
    }
    Form {
        sections: sections
            .into_iter()
            .map(|(start, end, letter, changed)| Section {
                bars: (
                    BarIndex::from_usize(start),
                    BarIndex::from_usize(end.saturating_sub(1)),
                ),
                letter: format!("{}{}", name(letter), if changed { "′" } else { "" }),
            })
            .collect(),
        printed,
    }
}

/// `A` to `Z`, then `A2` and on.
fn name(letter: usize) -> String {
    let char = char::from(b'A' + u8::try_from(letter % 26).unwrap_or(0));
    match letter / 26 {
        0 => char.to_string(),
        n => format!("{char}{}", n + 1),
    }
}

/// Eight bars each where the piece is long enough, else four; a pickup goes with the first.
fn counted_off(shapes: &[Shape]) -> Vec<usize> {
    let bars = shapes.len();
    let length = if bars >= 24 { 8 } else { 4 };
    let lead = usize::from(bars % length == 1);
    let mut starts = vec![0];
    starts.extend(
        (lead + length..bars)
            .step_by(length)
            .filter(|start| bars - start >= length / 2),
    );
    starts
}

/// For each bar which bar it is in the end: itself, or the first of its kind.
fn classes(shapes: &[Shape], look_alikes: &[LookAlike]) -> Vec<usize> {
    let mut class: Vec<usize> = (0..shapes.len()).collect();
    let mut by_exact: BTreeMap<u64, usize> = BTreeMap::new();
    for (bar, shape) in shapes.iter().enumerate() {
        if let Some(first) = by_exact.get(&shape.exact) {
            class[bar] = *first;
        } else {
            by_exact.insert(shape.exact, bar);
        }
    }
    for alike in look_alikes {
        let returns = matches!(alike.how, How::Same | How::Octaves(_) | How::Nearly(0));
        if let (true, Some(of)) = (returns, class.get(alike.like.get()).copied())
            && let Some(bar) = class.get_mut(alike.bar.get())
        {
            *bar = of;
        }
    }
    class
}

/// The share of bars at the same place in both sections that are the same.
fn share(class: &[usize], (start, end): (usize, usize), (other, other_end): (usize, usize)) -> f64 {
    let length = (end - start).max(other_end - other).max(1);
    let alike = (start..end)
        .zip(other..other_end)
        .filter(|(a, b)| class.get(*a).is_some_and(|of| class.get(*b) == Some(of)))
        .count();
    let small = |n: usize| f64::from(u32::try_from(n).unwrap_or(u32::MAX));
    small(alike) / small(length)
}

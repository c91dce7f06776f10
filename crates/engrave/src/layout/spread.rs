//! How far from each other do the systems of a page stand? Evenly, within limits; a last page is not stretched.

use super::paging::{Gaps, Need, between, height};

/// The upper staff line of each system, from where music begins, in units.
pub(crate) fn spread(systems: &[Need], gaps: &Gaps, available: f64, stretch: bool) -> Vec<f64> {
    let gap = gap(systems, gaps, available, stretch);
    let mut tops = Vec::with_capacity(systems.len());
    let mut at = 0.0;
    for (index, system) in systems.iter().enumerate() {
        if let Some(upper) = index.checked_sub(1).and_then(|before| systems.get(before)) {
            at += upper.staff + upper.below + between(upper, system, gaps, gap);
        }
        at += system.above;
        tops.push(at);
    }
    tops
}

/// The white between two systems with which the page is full; found by halving, since [`between`] has a floor of its own.
fn gap(systems: &[Need], gaps: &Gaps, available: f64, stretch: bool) -> f64 {
    let most = if stretch { gaps.most } else { gaps.usual };
    if height(systems, gaps, most) <= available {
        return most;
    }
    let (mut low, mut high) = (gaps.least, most);
    for _ in 0..40 {
        let middle = f64::midpoint(low, high);
        if height(systems, gaps, middle) <= available {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

//! Where does a printed instruction act? Words stand over notes; players jump at bar lines.

use super::grid::Grid;
use super::signs::{Signs, What};
use notation::Place;

/// Where Fine or To Coda printed at a place acts: at the bar line that ends the bar, or inside the bar where a double
/// bar or repeat stands; at the bar line to its left if only that one is marked.
pub(super) fn closing(place: Place, signs: &Signs, grid: &Grid) -> Place {
    let place = within(place, grid);
    let right = grid.after(place.bar);
    if let Some(inside) = middle_line(place, signs, grid) {
        return inside;
    }
    let left = Place::start_of(place.bar);
    let at_left = place.offset.is_zero() && place.bar.0 > 0;
    if at_left && signs.section_ends_at(left) && !signs.section_ends_at(right) && right < grid.end() {
        return left;
    }
    right
}

/// Where Fine acts: as [`closing`], or right after a note under a fermata when music follows in the same bar.
pub(super) fn fine(place: Place, signs: &Signs, grid: &Grid) -> Place {
    let closing = closing(place, signs, grid);
    let place = within(place, grid);
    let held = signs
        .fermatas
        .get(signs.fermatas.partition_point(|end| *end <= place));
    match held {
        Some(end) if end.bar == place.bar && *end < closing && !signs.section_ends_at(closing) => *end,
        _ => closing,
    }
}

/// Where the words of a D.C. or D.S. act: as [`closing`], or one bar on, where the section ends.
pub(super) fn jump(place: Place, signs: &Signs, grid: &Grid) -> Place {
    let first = closing(place, signs, grid);
    let stops = |at: Place| {
        signs.section_ends_at(at)
            || signs.changes.binary_search_by_key(&at, |change| change.0).is_ok()
            || signs.codas.binary_search(&at).is_ok()
    };
    if first.offset.is_positive() || first >= grid.end() || stops(first) {
        return first;
    }
    // A sentence needs room: its words may begin a bar early.
    if let Some(inside) = pickup_fermata(first, signs, grid) {
        return inside;
    }
    let next = grid.after(first.bar);
    if signs.section_ends_at(next) {
        return next;
    }
    first
}

/// Where a segno or coda sign to be reached stands: the start of its bar, or its own offset if `partner`, the place
/// left for it, cuts its bar at the same point.
pub(super) fn opening(place: Place, partner: Option<Place>, signs: &Signs, grid: &Grid) -> Place {
    let exact = grid.place(place);
    let start = Place::start_of(place.bar);
    if exact.offset.is_zero() {
        // Written at the end of its bar although the section begins with that bar.
        let begins = |at: Place| partner == Some(at) || signs.section_ends_at(at);
        return if exact > start && begins(start) && !begins(exact) {
            start
        } else {
            exact
        };
    }
    let cut = partner.map(|at| {
        if at.offset.is_positive() {
            at.offset
        } else {
            grid.length(grid.bar_before(at))
        }
    });
    if cut == Some(exact.offset) || signs.section_ends_at(exact) {
        exact
    } else {
        Place::start_of(exact.bar)
    }
}

fn within(place: Place, grid: &Grid) -> Place {
    if place.bar >= grid.end().bar {
        grid.start_before(grid.end())
    } else {
        place
    }
}

/// A double bar or repeat inside the bar, at or after a place in it.
fn middle_line(place: Place, signs: &Signs, grid: &Grid) -> Option<Place> {
    let right = grid.after(place.bar);
    let here = place.offset.is_positive() && (signs.end_at(place) || signs.line_at(place).is_some());
    if here {
        return Some(place);
    }
    let next = [signs.end_after(place), signs.line_after(place)];
    next.into_iter().flatten().filter(|at| *at < right).min()
}

/// A fermata that ends inside a bar at whose later part a segno or coda sign stands: the next section's pickup.
fn pickup_fermata(bar: Place, signs: &Signs, grid: &Grid) -> Option<Place> {
    let end = signs
        .fermatas
        .get(signs.fermatas.partition_point(|end| *end <= bar))
        .copied()?;
    let from = signs.marks.partition_point(|mark| mark.place < bar);
    let here = signs
        .marks
        .iter()
        .skip(from)
        .take_while(|mark| mark.place.bar == bar.bar);
    let sign = here
        .into_iter()
        .any(|mark| matches!(mark.what, What::Segno | What::Coda));
    (sign && end < grid.after(bar.bar)).then_some(end)
}

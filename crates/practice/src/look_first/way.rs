//! Which way does it go? The order of playing among ways in which readers get lost.

use super::pick::Lots;
use super::signs::pointing;
use super::{Choice, Looked, Made, Spot, Worth};
use notation::{BarIndex, Piece, Place};
use performance::road::LeapKind;
use survey::road_map::{Run, order_in_words};

pub(super) fn road_map(looked: &Looked, lots: &mut Lots) -> Option<Made> {
    let piece = looked.ctx.piece;
    let map = &looked.survey.road_map;
    let last = BarIndex::from_usize(piece.bars.len().checked_sub(1)?);
    if map.runs.is_empty() {
        return None;
    }
    let words = |runs: &[Run]| said(piece, runs, last);
    let right = Choice::new(Worth::Right, words(&map.runs), "", Vec::new());
    let others = other_ways(&map.runs, last)
        .iter()
        .map(|runs| Choice::wrong(words(runs), ""))
        .filter(|choice| choice.says != right.says)
        .collect();
    let mut spots: Vec<Spot> = Vec::new();
    for leap in &map.unfolding.leaps {
        let (from, to) = (left(leap.from), leap.to.bar);
        if !spots.iter().any(|spot| spot.bars == [from, to]) {
            spots.push(Spot::new(
                Worth::Right,
                vec![from, to],
                leap_says(looked, leap.kind, to),
            ));
        }
    }
    Some(Made {
        choose: Some(lots.one("In what order are the bars played?", vec![right], others, 4)),
        point: Some(pointing(
            "Where does the way leap? Point at the bar it leaves, or the one where it goes on.",
            spots,
            "The way is straight: no repeat, no jump.",
        )),
        beside: map.traps.first().map_or_else(String::new, |trap| {
            format!(
                "In bar {}: {}.",
                looked.ctx.label(trap.place.bar),
                trap.says.trim_end_matches('.')
            )
        }),
    })
}

/// The bar after which reading stops: a place at the start of a bar is the end of the one before.
fn left(place: Place) -> BarIndex {
    if place.offset.is_zero() {
        BarIndex(place.bar.0.saturating_sub(1))
    } else {
        place.bar
    }
}

fn leap_says(looked: &Looked, kind: LeapKind, to: BarIndex) -> String {
    let to = looked.ctx.label(to);
    match kind {
        LeapKind::Repeat => format!("back to bar {to} for the repeat"),
        LeapKind::Ending => format!("over the ending, on at bar {to}"),
        LeapKind::DaCapo => format!("from the beginning again, bar {to}"),
        LeapKind::DalSegno => format!("back to the sign, bar {to}"),
        LeapKind::ToCoda => format!("over to the coda, bar {to}"),
        LeapKind::GoOn => format!("on again at bar {to}"),
        LeapKind::Section => format!("on at bar {to}, as the order of sections says"),
    }
}

/// `1–8, 1–16`; one run over the whole page is straight through.
fn said(piece: &Piece, runs: &[Run], last: BarIndex) -> String {
    let order = order_in_words(piece, runs);
    match runs {
        [only] if only.from == BarIndex(0) && only.to == last => format!("Straight through, {order}"),
        _ => order,
    }
}

/// Ways that a reader might take who overlooks a sign or sees one that is not there.
fn other_ways(runs: &[Run], last: BarIndex) -> Vec<Vec<Run>> {
    let whole = Run {
        from: BarIndex(0),
        to: last,
    };
    let middle = BarIndex(last.0 / 2);
    let first_half = Run {
        from: BarIndex(0),
        to: middle,
    };
    let mut ways = vec![
        vec![whole],
        vec![whole, whole],
        vec![first_half, whole],
        vec![whole, first_half],
    ];
    if runs.len() > 1 {
        // Without the last leap; without the first; one leap too many.
        ways.push(runs.get(..runs.len() - 1).unwrap_or_default().to_vec());
        ways.push(runs.get(1..).unwrap_or_default().to_vec());
        let mut more = runs.to_vec();
        more.extend(runs.last().copied());
        ways.push(more);
        // The first ending played the second time, too.
        if let [first, second, rest @ ..] = runs
            && second.from == first.from
            && second.to < first.to
        {
            let mut again = vec![*first, *first];
            again.extend(rest.iter().copied());
            ways.push(again);
        }
    }
    ways
}

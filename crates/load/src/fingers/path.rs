//! Which ways together cost least? The cheapest path through all fingerings of a passage, against the all-basic one.

use super::Weights;
use super::price::{Way, moved, step};
use instruments::fingering::Chart;
use notation::Pitch;
use std::collections::BTreeMap;

/// An alternate is proposed only where, over the notes it is used for, it spares a slide or saves at least this much: the
/// movement of one finger.
pub(super) const PAYS: f64 = 1.0;
/// Smaller differences are rounding.
const NOTHING: f64 = 1e-9;

/// The ways of one note, the first being the one used if nothing speaks against it.
pub(super) struct Stop<'a> {
    /// Notes with the same number have the same ways.
    pub(super) set: usize,
    /// The note as the chart reads it, in semitones.
    pub(super) key: i32,
    /// The same as a pitch.
    pub(super) read: Pitch,
    pub(super) ways: &'a [Way<'a>],
}

/// The prices of every step between the ways of two notes, kept per pair of notes.
pub(super) struct Prices<'a> {
    chart: &'a Chart,
    weights: &'a Weights,
    kept: BTreeMap<(usize, usize), Vec<f64>>,
}

impl<'a> Prices<'a> {
    pub(super) fn new(chart: &'a Chart, weights: &'a Weights) -> Self {
        Self {
            chart,
            weights,
            kept: BTreeMap::new(),
        }
    }

    /// Row by row: all ways of the second note for the first way of the first note, and so on.
    fn between(&mut self, from: &Stop, to: &Stop) -> &[f64] {
        let (chart, weights) = (self.chart, self.weights);
        self.kept.entry((from.set, to.set)).or_insert_with(|| {
            let rises = to.key.saturating_sub(from.key);
            let steps = from
                .ways
                .iter()
                .flat_map(|a| to.ways.iter().map(move |b| step(chart, weights, a, b, rises)));
            steps.collect()
        })
    }

    /// The price of a step from one way to another.
    pub(super) fn one(&mut self, from: &Stop, i: usize, to: &Stop, j: usize) -> f64 {
        let width = to.ways.len();
        self.between(from, to).get(i * width + j).copied().unwrap_or(0.0)
    }
}

/// The way chosen for each note of a passage played without a break: an index into its ways.
pub(super) fn choose(stops: &[Stop], prices: &mut Prices) -> Vec<usize> {
    let mut chosen = cheapest(stops, prices);
    no_needless_lesser(stops, prices, &mut chosen);
    keep_what_pays(stops, prices, &mut chosen);
    chosen
}

/// The price of a path through a passage, the breaks of register left out.
pub(super) fn total(stops: &[Stop], prices: &mut Prices, path: &[usize]) -> f64 {
    let weights = prices.weights;
    let own: f64 = (stops.iter().zip(path))
        .filter_map(|(stop, index)| stop.ways.get(*index))
        .map(|way| way.price(weights))
        .sum();
    let steps: f64 = stops
        .windows(2)
        .zip(path.windows(2))
        .map(|(pair, indices)| match (pair, indices) {
            ([from, to], [i, j]) => prices.one(from, *i, to, *j),
            _ => 0.0,
        })
        .sum();
    own + steps
}

/// Dynamic programming from the last note back, so that of equal paths the one is taken that begins as usual.
pub(super) fn cheapest(stops: &[Stop], prices: &mut Prices) -> Vec<usize> {
    let Some((last, before)) = stops.split_last() else {
        return Vec::new();
    };
    let weights = prices.weights;
    let own = |stop: &Stop| -> Vec<f64> { stop.ways.iter().map(|way| way.price(weights)).collect() };
    // What the rest of the passage takes from each way of a note on, that way's own price included.
    let mut rest = own(last);
    let mut goes_to: Vec<Vec<usize>> = Vec::with_capacity(stops.len());
    let mut to = last;
    for from in before.iter().rev() {
        let width = to.ways.len();
        let steps = prices.between(from, to);
        let mut here = own(from);
        let mut next = vec![0; here.len()];
        for (i, (cost, goes)) in here.iter_mut().zip(&mut next).enumerate() {
            let row = steps.get(i * width..(i + 1) * width).unwrap_or_default();
            let best = least(row.iter().zip(&rest).map(|(step, rest)| step + rest));
            *cost += best.1;
            *goes = best.0;
        }
        rest = here;
        goes_to.push(next);
        to = from;
    }
    let mut at = least(rest.into_iter()).0;
    let mut path = vec![at];
    for next in goes_to.iter().rev() {
        at = next.get(at).copied().unwrap_or(0);
        path.push(at);
    }
    path
}

/// The first of the smallest numbers and where it stands.
fn least(numbers: impl Iterator<Item = f64>) -> (usize, f64) {
    let mut best = (0, f64::INFINITY);
    for (index, number) in numbers.enumerate() {
        if number + NOTHING < best.1 {
            best = (index, number);
        }
    }
    best
}

/// A fingering that sounds worse is there to avoid a slide: where another way of the note avoids it too, that one is taken,
/// as long as the passage stays no dearer than with the first ways. Quick notes are let be. Source: see `rules.rs` (left F
/// before forked F wherever nothing slides).
fn no_needless_lesser(stops: &[Stop], prices: &mut Prices, path: &mut [usize]) {
    let lesser = |way: &Way| way.fingering.lesser.is_some() && !way.quick;
    for at in 0..path.len() {
        let Some(stop) = stops.get(at) else { continue };
        if !path
            .get(at)
            .and_then(|index| stop.ways.get(*index))
            .is_some_and(lesser)
        {
            continue;
        }
        let around = at.saturating_sub(1)..(at + 2).min(path.len());
        let Some(near) = stops.get(around.clone()) else {
            continue;
        };
        let mut tried: Vec<usize> = path.get(around.clone()).unwrap_or_default().to_vec();
        let here = at - around.start;
        let slides_now = slides(near, prices.chart, &tried);
        let most = total(near, prices, &vec![0; tried.len()]);
        let mut best: Option<(usize, f64)> = None;
        for other in (0..stop.ways.len()).filter(|index| !stop.ways.get(*index).is_some_and(lesser)) {
            if let Some(slot) = tried.get_mut(here) {
                *slot = other;
            }
            let price = total(near, prices, &tried);
            let as_good = slides(near, prices.chart, &tried) <= slides_now && price <= most + NOTHING;
            if as_good && best.is_none_or(|(_, least)| price + NOTHING < least) {
                best = Some((other, price));
            }
        }
        if let (Some((other, _)), Some(slot)) = (best, path.get_mut(at)) {
            *slot = other;
        }
    }
}

/// Puts a run of other ways back to the first ways where it saves too little.
fn keep_what_pays(stops: &[Stop], prices: &mut Prices, path: &mut [usize]) {
    let mut start = 0;
    while start < path.len() {
        if path.get(start) == Some(&0) {
            start += 1;
            continue;
        }
        let length = path.iter().skip(start).take_while(|index| **index != 0).count();
        let end = start + length;
        // One note more on either side, so that the steps into and out of the run count.
        let around = start.saturating_sub(1)..(end + 1).min(path.len());
        if let (Some(stops), Some(chosen)) = (stops.get(around.clone()), path.get(around)) {
            let basic = vec![0; chosen.len()];
            let saved = total(stops, prices, &basic) - total(stops, prices, chosen);
            let spares = slides(stops, prices.chart, chosen) < slides(stops, prices.chart, &basic);
            if saved + NOTHING < PAYS && !(spares && saved > NOTHING) {
                path.iter_mut()
                    .skip(start)
                    .take(length)
                    .for_each(|index| *index = 0);
            }
        }
        start = end;
    }
}

/// How many fingers slide along a path.
fn slides(stops: &[Stop], chart: &Chart, path: &[usize]) -> usize {
    let ways = stops
        .iter()
        .zip(path)
        .filter_map(|(stop, index)| stop.ways.get(*index));
    let next = ways.clone().skip(1);
    ways.zip(next)
        .map(|(from, to)| moved(chart, from, to).slides.len())
        .sum()
}

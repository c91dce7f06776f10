//! How far does each ottava reach? From where to where in each system, over the ends of systems, and which of them are none.
//!
//! An ottava moves every note under it: one that the reader is not sure of, and whose end was not seen, is left out and told.

use super::System;
use super::over::NEAR;
use crate::signs::Beside;
use crate::vocabulary::Main;

/// An ottava less sure than this needs its end …
const SURE: f32 = 0.9;
/// … at least so sure. Judgement: on the pages of development, what was no ottava was at most 0.86 sure and its end at most 0.02, and every
/// printed one surer than 0.99.
const SURE_END: f32 = 0.5;

/// From where to where in the picture, and how many octaves.
pub(super) type Range = (f32, f32, i8);

/// A mark that was left out, with its system, and the end in the same system that would be its own.
pub(super) type LeftOut<'a> = (usize, &'a Beside, Option<&'a Beside>);

/// Where each ottava reaches, system by system; one that goes on is printed again at the next system, or goes on silently. And those
/// that were left out.
pub(super) fn ottavas(systems: &[System]) -> (Vec<Vec<Range>>, Vec<LeftOut<'_>>) {
    let mut open: Option<i8> = None;
    let mut out = Vec::with_capacity(systems.len());
    let mut left_out = Vec::new();
    for (number, system) in systems.iter().enumerate() {
        let mut ranges = Vec::new();
        let mut from = 0.0;
        let again = system
            .seen
            .roads
            .iter()
            .any(|road| octaves(road.name).is_some() || road.name == "ott_end");
        if !again {
            open = None;
        }
        for (at, road) in system.seen.roads.iter().enumerate() {
            if let Some(kind) = octaves(road.name) {
                if open.is_none() && !road.right && road.sure < SURE {
                    let end = end_of(systems, number, at);
                    if end.is_none_or(|end| end.sure < SURE_END) {
                        let ours = |end: &&Beside| {
                            let mut here = system.seen.roads.iter();
                            here.any(|road| std::ptr::eq(road, *end))
                        };
                        left_out.push((number, road, end.filter(ours)));
                        continue;
                    }
                }
                if open.is_none() {
                    // A bar line just here comes before the first note under it.
                    let bar = system
                        .seen
                        .signs
                        .iter()
                        .filter(|sign| matches!(sign.main, Main::Bar(_)));
                    let bar = bar.map(|sign| sign.x).filter(|x| (x - road.x).abs() < NEAR);
                    from = bar.fold(road.x - NEAR * 0.8, f32::max);
                }
                open = Some(kind);
            } else if road.name == "ott_end"
                && let Some(kind) = open.take()
            {
                ranges.push((from, road.x - 2.0, kind));
            }
        }
        if let Some(kind) = open {
            ranges.push((from, f32::MAX, kind));
        }
        out.push(ranges);
    }
    (out, left_out)
}

/// The end of the ottava at this place among the signs of its system, or where it is printed again in the next.
fn end_of(systems: &[System], system: usize, at: usize) -> Option<&Beside> {
    let is_ottava = |road: &&Beside| octaves(road.name).is_some() || road.name == "ott_end";
    let mut here = systems
        .get(system)?
        .seen
        .roads
        .get(at..)?
        .iter()
        .filter(is_ottava);
    let name = here.next()?.name;
    match here.next() {
        Some(next) => (next.name == "ott_end").then_some(next),
        None => {
            let next = systems.get(system + 1)?.seen.roads.iter().find(is_ottava)?;
            (next.name == name || next.name == "ott_end").then_some(next)
        }
    }
}

fn octaves(name: &str) -> Option<i8> {
    Some(match name {
        "8va" => 1,
        "8vb" => -1,
        "15ma" => 2,
        "15mb" => -2,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two systems with these signs above them: name, how sure.
    fn systems(signs: [&[(&'static str, f32)]; 2]) -> Vec<System> {
        signs
            .iter()
            .map(|signs| {
                let mut system = System::of_scores(&[]);
                let roads = (0_u8..).zip(*signs).map(|(n, (name, sure))| Beside {
                    number: u32::from(n),
                    x: 100.0 + 100.0 * f32::from(n),
                    name,
                    sure: *sure,
                    right: false,
                });
                system.seen.roads = roads.collect();
                system
            })
            .collect()
    }

    /// How many ranges there are in each system, and how many were left out.
    fn found(signs: [&[(&'static str, f32)]; 2]) -> (Vec<usize>, usize) {
        let systems = systems(signs);
        let (ranges, left_out) = ottavas(&systems);
        (ranges.iter().map(Vec::len).collect(), left_out.len())
    }

    #[test]
    fn a_doubtful_ottava_needs_its_end() {
        assert_eq!(found([&[("8va", 0.8), ("ott_end", 0.02)], &[]]), (vec![0, 0], 1));
        assert_eq!(found([&[("8va", 0.8)], &[]]), (vec![0, 0], 1));
        assert_eq!(found([&[("8va", 0.8), ("ott_end", 0.7)], &[]]), (vec![1, 0], 0));
        // It is printed again in the next system, and ends there.
        let goes_on = found([&[("8va", 0.8)], &[("8va", 0.8), ("ott_end", 0.1)]]);
        assert_eq!(goes_on, (vec![1, 1], 0));
        // A sure one needs nothing.
        assert_eq!(found([&[("8va", 0.95)], &[]]), (vec![1, 0], 0));
    }

    #[test]
    fn what_somebody_said_is_an_ottava_is_one() {
        let mut systems = systems([&[("8va", 0.8)], &[]]);
        systems[0].seen.roads[0].right = true;
        assert!(ottavas(&systems).1.is_empty());
    }
}

//! Where are breaths needed? Each stretch between free places is divided at its best place until every part fits.
//!
//! The place at which a stretch is divided depends on the stretch alone, never on how long the breath is or how fast the
//! piece goes. So the breaths of a longer breath, or of a faster tempo, are always among those of a shorter or slower
//! one: more breath never asks for more breaths, and what is marked for the final tempo stays when more is marked for
//! the slow one.

use super::places::{Candidate, Quality};
use super::played::Blown;

/// What the division found, by position between played notes: `n` is the place before played note `n`.
#[derive(Clone, Debug, Default)]
pub(super) struct Division {
    /// Places where a breath is taken, and from which tempo on: true if at the final tempo, too.
    pub breaths: Vec<(usize, bool)>,
    /// Stretches that no legal place divides though they are too long: from, to, and whether at the final tempo, too.
    pub too_long: Vec<(usize, usize, bool)>,
    /// All places, free and needed, at the final tempo, in order; the beginning and the end included.
    pub final_places: Vec<usize>,
}

/// Two breaths are at least so many average quarter notes apart (ours).
const APART: f64 = 2.0;
/// What an uneven division costs, against the cost of a poor place (ours).
const UNEVEN: f64 = 1.5;

/// Divides a played line. `places` has one entry for each played note: the place before it, if one may breathe there;
/// `fixed` says where one breathes anyhow. `breath` is in seconds of air.
pub(super) fn divide(blown: &[Blown], places: &[Option<Candidate>], fixed: &[bool], breath: f64) -> Division {
    let air = Air::of(blown);
    let mut division = Division::default();
    let ends = (1..blown.len()).filter(|at| fixed.get(*at) == Some(&true));
    let mut from = 0;
    for to in ends.chain([blown.len()]) {
        split(&air, places, (from, to), breath, &mut division);
        from = to;
    }
    division.breaths.sort_unstable();
    let free = (0..=blown.len()).filter(|at| *at == 0 || *at == blown.len() || fixed.get(*at) == Some(&true));
    let needed = division
        .breaths
        .iter()
        .filter(|(_, kept)| *kept)
        .map(|(at, _)| *at);
    division.final_places = free.chain(needed).collect();
    division.final_places.sort_unstable();
    division.final_places.dedup();
    division
}

/// Sums of air before each played note.
struct Air {
    /// At the first tempo, nowhere less than at the final one.
    first: Vec<f64>,
    last: Vec<f64>,
    /// Average quarter notes in a second of air at the final tempo: what is uneven does not depend on the tempo.
    measure: f64,
}

impl Air {
    fn of(blown: &[Blown]) -> Self {
        let sums = |of: fn(&Blown) -> f64| {
            let mut sum = 0.0;
            let mut sums = vec![0.0];
            for note in blown {
                sum += of(note);
                sums.push(sum);
            }
            sums
        };
        let first = sums(|note| note.air[0].max(note.air[1]));
        let last = sums(|note| note.air[1]);
        let quarters: f64 = blown.iter().map(|note| note.quarters).sum();
        let all = last.last().copied().unwrap_or(0.0);
        Self {
            measure: if all > 0.0 { quarters / all } else { 0.0 },
            first,
            last,
        }
    }

    fn between(sums: &[f64], from: usize, to: usize) -> f64 {
        let at = |index: usize| sums.get(index).copied().unwrap_or(0.0);
        at(to) - at(from)
    }
}

fn split(
    air: &Air,
    places: &[Option<Candidate>],
    whole: (usize, usize),
    breath: f64,
    division: &mut Division,
) {
    let mut open = vec![whole];
    while let Some((from, to)) = open.pop() {
        let final_long = Air::between(&air.last, from, to) > breath;
        if !final_long && Air::between(&air.first, from, to) <= breath {
            continue;
        }
        match best(air, places, from, to) {
            Some(at) => {
                division.breaths.push((at, final_long));
                open.extend([(at, to), (from, at)]);
            }
            None => division.too_long.push((from, to, final_long)),
        }
    }
}

/// The best place inside a stretch: a good one not far from the middle; the earlier of equals.
fn best(air: &Air, places: &[Option<Candidate>], from: usize, to: usize) -> Option<usize> {
    let whole = Air::between(&air.last, from, to);
    let mut best: Option<(f64, usize)> = None;
    for at in from + 1..to {
        let Some(place) = places.get(at).and_then(Option::as_ref) else {
            continue;
        };
        let left = Air::between(&air.last, from, at);
        let right = whole - left;
        if left.min(right) * air.measure < APART && place.quality > Quality::Free {
            continue;
        }
        let uneven = if whole > 0.0 { (left - right) / whole } else { 0.0 };
        let cost = place.cost + UNEVEN * uneven * uneven;
        if best.is_none_or(|(least, _)| cost < least - 1e-9) {
            best = Some((cost, at));
        }
    }
    best.map(|(_, at)| at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::Quarters;
    use proptest::prelude::*;

    fn note(at: usize, secs: f64) -> Blown {
        Blown {
            note: at,
            air: [secs, secs],
            secs: [secs, secs],
            rest: 0.0,
            quarters: secs,
            rest_quarters: Quarters::ZERO,
        }
    }

    fn candidate(cost: f64) -> Candidate {
        Candidate {
            quality: Quality::PhraseEnd,
            cost,
            why: "a phrase ends",
        }
    }

    /// The fewest breaths that there can be: as far as the breath reaches, then at the last place before. `None` if some
    /// stretch can't be divided.
    fn fewest(places: &[bool], secs: &[f64], breath: f64) -> Option<usize> {
        let (mut used, mut since_place, mut breaths) = (0.0, None, 0);
        for (at, length) in secs.iter().enumerate() {
            if places[at] {
                since_place = Some(0.0);
            }
            used += length;
            if let Some(since) = since_place.as_mut() {
                *since += length;
            }
            if used > breath {
                used = since_place.take()?;
                breaths += 1;
                if used > breath {
                    return None;
                }
            }
        }
        Some(breaths)
    }

    proptest! {
        /// Every stretch fits, or no place divides it but one right beside its ends; and halving at good places never
        /// takes more than twice the fewest breaths, and one.
        #[test]
        fn stretches_fit_or_have_no_place(
            notes in prop::collection::vec((1_u8..8, prop::option::of(0.0_f64..2.0)), 2..80), breath in 4.0_f64..30.0,
        ) {
            let blown: Vec<Blown> = notes.iter().enumerate().map(|(at, (secs, _))| note(at, f64::from(*secs))).collect();
            let places: Vec<Option<Candidate>> = notes.iter().map(|(_, cost)| cost.map(candidate)).collect();
            let fixed = vec![false; notes.len()];
            let division = divide(&blown, &places, &fixed, breath);
            let length = |from: usize, to: usize| blown[from..to].iter().map(|n| n.air[1]).sum::<f64>();
            for pair in division.final_places.windows(2) {
                let (from, to) = (pair[0], pair[1]);
                let too_long = division.too_long.contains(&(from, to, true));
                prop_assert_eq!(too_long, length(from, to) > breath);
                if too_long {
                    let inside = (from + 1..to).filter(|at| places[*at].is_some());
                    for at in inside {
                        prop_assert!(length(from, at).min(length(at, to)) < APART);
                    }
                }
            }
            let can: Vec<bool> = places.iter().map(Option::is_some).collect();
            let secs: Vec<f64> = blown.iter().map(|n| n.air[1]).collect();
            if let Some(least) = fewest(&can, &secs, breath).filter(|_| division.too_long.is_empty()) {
                prop_assert!(division.breaths.len() >= least);
                prop_assert!(division.breaths.len() <= 2 * least + 1, "{} for {least}", division.breaths.len());
            }
        }
    }
}

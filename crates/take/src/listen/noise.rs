//! What sounds when nobody plays? The unlikeness of the room to itself, from the softest instants without a pitch.

use super::candidates::{Periods, voicing};
use super::difference::{Difference, Noise};
use super::window::Window;
use crate::numbers::{real, single};

/// Every so-and-so-many-th frame is looked at …
const SKIP: usize = 4;
/// … and the softest so many without pitch are taken, at least and at most …
const LEAST: usize = 8;
const MOST: usize = 64;
/// … and of a long take this part of what was looked at.
const PART: f64 = 0.05;
/// An instant with so little belief in any pitch has none.
const PITCHLESS: f64 = 0.1;
/// And so much louder than the softest ones (in power) is something else: a key, a breath, a tone too soft to be followed.
const LOUDER: f32 = 2.5;
/// A frame without pitch: energy of a pair, difference function.
type Quiet = (f32, Vec<f32>);

/// The noise of a recording, as its difference function hears it; none where there is too little to tell.
pub(super) fn profile(
    difference: &mut Difference,
    mut window: Window<'_>,
    samples: usize,
    hop: usize,
    periods: Periods,
) -> Option<Noise> {
    let size = difference.size;
    let looked = samples / (hop * SKIP).max(1);
    let most = crate::numbers::count(real(looked) * PART).clamp(LEAST, MOST);
    // The softest so far, the softest first.
    let mut softest: Vec<Quiet> = Vec::with_capacity(most + 1);
    // How many in a row were pitchless and about as loud, and the last of them.
    let (mut row, mut before) = (0, None::<Quiet>);
    for n in 0..looked {
        window.centre_on(n * hop * SKIP, |_| {});
        if !difference.look(window.middle(size)) || voicing(difference, periods) > PITCHLESS {
            (row, before) = (0, None);
            continue;
        }
        let power = difference.pair_energy;
        let alike = before
            .as_ref()
            .is_none_or(|(other, _)| power < other * LOUDER && *other < power * LOUDER);
        row = if alike { row + 1 } else { 1 };
        let last = before.replace((power, difference.plain.clone()));
        // The middle one of three: between two tones there is no pitch either, but not for so long.
        if let Some(last) = last.filter(|_| row >= 3) {
            let place = softest.partition_point(|(other, _)| *other <= last.0);
            softest.insert(place, last);
            softest.truncate(most);
        }
    }
    let (low, _) = softest.get(softest.len() / 4)?;
    let limit = low * LOUDER;
    let quiet: Vec<&Quiet> = softest.iter().filter(|(power, _)| *power <= limit).collect();
    (quiet.len() >= LEAST).then(|| mean(&quiet))
}

fn mean(quiet: &[&Quiet]) -> Noise {
    let part = 1.0 / single(quiet.len().max(1));
    let lags = quiet.first().map_or(0, |(_, plain)| plain.len());
    let at = |lag: usize| quiet.iter().filter_map(|(_, plain)| plain.get(lag)).sum::<f32>() * part;
    Noise {
        pair_energy: quiet.iter().map(|(power, _)| power).sum::<f32>() * part,
        plain: (0..lags).map(at).collect(),
    }
}

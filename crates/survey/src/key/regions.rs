//! Where does it wander to another key? Local keys smoothed into regions that a teacher would pencil in.

use super::local::{self, Prior, Settings};
use super::signature::{SignatureRegion, Witness, fifths};
use super::tonality::Tonality;
use crate::context::Context;
use notation::{BarIndex, KeyRegion};

/// Numbers that shape the regions.
#[derive(Clone, Copy, Debug)]
pub struct Shape {
    /// The local-key model.
    pub local: Settings,
    /// How many logs the piece's own key is ahead in each bar.
    pub home: f64,
    /// How many logs a key loses for each sharp or flat that its signature is off.
    pub off: f64,
    /// The shortest wandering that is reported, in bars.
    pub shortest: usize,
    /// Slope and offset that bring the model's probabilities down to the share of bars on which analysts agreed.
    pub calibration: (f64, f64),
}

/// The shape in use.
///
/// Source: our own grid search against Roman-numeral analyses distributed with music21 10.5.1 (20 Bach chorales,
/// analyses of Riemenschneider 1–20; 48 Monteverdi madrigals): see the numbers in `FIT.md` beside this file.
pub const SHAPE: Shape = Shape {
    local: Settings {
        leave: 0.15,
        decay: 2.5,
        trust: 2.0,
        floor: 0.02,
        prior: 1.0,
    },
    home: 0.8,
    off: 0.3,
    shortest: 3,
    calibration: (0.70, -0.02),
};

/// The shape where all parts of a score are heard: the same, with its own calibration.
pub const SHAPE_OF_SCORE: Shape = Shape {
    calibration: (0.85, -0.06),
    ..SHAPE
};

/// The regions of a part, in order, together covering all its bars. Empty if there are no bars.
/// `bars` holds the notes of each bar by pitch class: of the part, or of the whole score where it is at hand.
#[must_use]
pub fn regions(
    ctx: &Context<'_>,
    bars: &[[f64; 12]],
    signatures: &[SignatureRegion],
    witness: &Witness,
    key: Tonality,
    shape: &Shape,
) -> Vec<KeyRegion> {
    if bars.is_empty() {
        return Vec::new();
    }
    let in_force = signature_by_bar(ctx, signatures, witness, key);
    let prior = priors(&in_force, key, shape);
    let mut path = local::best_path(bars, &prior, &shape.local);
    let sounding: Vec<bool> = bars.iter().map(|bar| bar.iter().sum::<f64>() > 0.0).collect();
    smooth(&mut path, &sounding, local::state(key), shape.shortest);
    let probable = local::posterior(bars, &prior, &shape.local);
    let mut regions: Vec<KeyRegion> = Vec::new();
    let mut from = 0;
    for bar in 1..=path.len() {
        if bar < path.len() && path[bar] == path[from] {
            continue;
        }
        let local = named(path[from], in_force[from], key);
        let sum: f64 = probable[from..bar].iter().map(|row| row[path[from]]).sum();
        regions.push(KeyRegion {
            from: BarIndex::from_usize(from),
            to: BarIndex::from_usize(bar - 1),
            tonic: local.tonic(),
            mode: local.mode().to_owned(),
            certainty: calibrated(sum / super::features::count(bar - from), shape),
        });
        from = bar;
    }
    regions
}

fn calibrated(claimed: f64, shape: &Shape) -> f64 {
    (shape.calibration.0 * claimed + shape.calibration.1).clamp(0.0, 1.0)
}

/// The signature in force at each bar; the home key's own where it is not to be believed.
fn signature_by_bar(
    ctx: &Context<'_>,
    signatures: &[SignatureRegion],
    witness: &Witness,
    key: Tonality,
) -> Vec<i32> {
    if !witness.believed || witness.borrowed || witness.by_notes {
        return vec![key.signature(); ctx.piece.bars.len()];
    }
    let mut by_bar = Vec::with_capacity(ctx.piece.bars.len());
    let mut next = 0;
    let mut now = signatures.first().map_or(0, |region| fifths(&region.signature));
    for bar in 0..ctx.piece.bars.len() {
        while let Some(region) = signatures
            .get(next)
            .filter(|region| region.place.bar.get() <= bar)
        {
            now = fifths(&region.signature);
            next += 1;
        }
        by_bar.push(now);
    }
    by_bar
}

fn priors(in_force: &[i32], key: Tonality, shape: &Shape) -> Vec<Prior> {
    let home = local::state(key);
    let mut last: Option<(i32, Prior)> = None;
    in_force
        .iter()
        .map(|signature| {
            if let Some((of, prior)) = last
                && of == *signature
            {
                return prior;
            }
            let prior = std::array::from_fn(|state| {
                let near = local::key_near(state, f64::from(*signature));
                let off = f64::from((near.signature() - signature).abs().min(6));
                (if state == home { shape.home } else { 0.0 }) - shape.off * off
            });
            last = Some((*signature, prior));
            prior
        })
        .collect()
}

/// The home key keeps its own spelling; others are spelled near the signature in force.
fn named(state: usize, signature: i32, key: Tonality) -> Tonality {
    if state == local::state(key) {
        key
    } else {
        local::key_near(state, f64::from(signature))
    }
}

/// A run of bars in one key.
#[derive(Clone, Copy)]
struct Run {
    state: usize,
    from: usize,
    to: usize,
    sounding: usize,
}

/// Bars of rest take the key before them; wanderings shorter than `shortest` sounding bars go to a neighbour,
/// the shortest of them first. One pass over the runs for each length.
fn smooth(path: &mut [usize], sounding: &[bool], home: usize, shortest: usize) {
    let mut now = sounding.iter().position(|s| *s).map_or(home, |bar| path[bar]);
    for (bar, state) in path.iter_mut().enumerate() {
        if sounding[bar] {
            now = *state;
        } else {
            *state = now;
        }
    }
    let mut runs = runs_of(path, sounding);
    for length in 1..shortest {
        runs = merged(&runs, length, home);
    }
    for run in runs {
        path[run.from..run.to].fill(run.state);
    }
}

fn runs_of(path: &[usize], sounding: &[bool]) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for (bar, state) in path.iter().enumerate() {
        let heard = usize::from(sounding[bar]);
        push(
            &mut runs,
            Run {
                state: *state,
                from: bar,
                to: bar + 1,
                sounding: heard,
            },
        );
    }
    runs
}

/// Adds a run, joined to the one before it where the key is the same.
fn push(runs: &mut Vec<Run>, run: Run) {
    match runs.last_mut() {
        Some(last) if last.state == run.state => {
            last.to = run.to;
            last.sounding += run.sounding;
        }
        _ => runs.push(run),
    }
}

/// The runs with those of at most `length` sounding bars given to a neighbour: to the home key where it stands
/// beside them, else to the longer of the two.
fn merged(runs: &[Run], length: usize, home: usize) -> Vec<Run> {
    let mut kept: Vec<Run> = Vec::new();
    for (i, run) in runs.iter().enumerate() {
        let mut run = *run;
        if run.sounding <= length {
            let (before, after) = (kept.last(), runs.get(i + 1));
            run.state = match (before, after) {
                (Some(before), Some(after))
                    if before.state != home && (after.state == home || after.sounding > before.sounding) =>
                {
                    after.state
                }
                (Some(before), _) => before.state,
                (None, Some(after)) => after.state,
                (None, None) => run.state,
            };
        }
        push(&mut kept, run);
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_wanderings_and_rests_join_their_neighbours() {
        let mut path = vec![0, 0, 0, 7, 0, 0, 7, 7, 7, 9, 9, 2, 2, 2];
        let mut sounding = vec![true; 14];
        sounding[1] = false;
        smooth(&mut path, &sounding, 0, 3);
        assert_eq!(path, [0, 0, 0, 0, 0, 0, 7, 7, 7, 7, 7, 2, 2, 2]);
    }
}

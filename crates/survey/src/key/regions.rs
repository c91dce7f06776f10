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
            certainty: (sum / super::features::count(bar - from)).clamp(0.0, 1.0),
        });
        from = bar;
    }
    regions
}

/// The signature in force at each bar; the home key's own where it is not to be believed.
fn signature_by_bar(
    ctx: &Context<'_>,
    signatures: &[SignatureRegion],
    witness: &Witness,
    key: Tonality,
) -> Vec<i32> {
    if !witness.believed {
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

/// Bars of rest take the key before them; wanderings shorter than `shortest` sounding bars go to their longer neighbour.
fn smooth(path: &mut [usize], sounding: &[bool], home: usize, shortest: usize) {
    let first = sounding.iter().position(|s| *s).map_or(home, |bar| path[bar]);
    let mut now = first;
    for (bar, state) in path.iter_mut().enumerate() {
        if sounding[bar] { now = *state } else { *state = now }
    }
    while let Some((from, to)) = shortest_run(path, sounding, shortest) {
        let before = (from > 0).then(|| path[from - 1]);
        let after = path.get(to).copied();
        let heir = match (before, after) {
            (Some(a), Some(b)) if a == b => a,
            (Some(a), Some(b)) => {
                if a == home {
                    a
                } else if b == home || run_back(path, from) < run_on(path, to) {
                    b
                } else {
                    a
                }
            }
            (Some(a), None) => a,
            (None, Some(b)) => b,
            (None, None) => return,
        };
        path[from..to].fill(heir);
    }
}

/// The shortest run under `shortest` sounding bars, if there is one beside another run.
fn shortest_run(path: &[usize], sounding: &[bool], shortest: usize) -> Option<(usize, usize)> {
    let mut found: Option<(usize, usize, usize)> = None;
    let mut from = 0;
    for bar in 1..=path.len() {
        if bar < path.len() && path[bar] == path[from] {
            continue;
        }
        let length = sounding[from..bar].iter().filter(|s| **s).count();
        let alone = from == 0 && bar == path.len();
        if !alone && length < shortest && found.is_none_or(|(_, _, best)| length < best) {
            found = Some((from, bar, length));
        }
        from = bar;
    }
    found.map(|(from, to, _)| (from, to))
}

fn run_back(path: &[usize], from: usize) -> usize {
    path[..from]
        .iter()
        .rev()
        .take_while(|state| **state == path[from - 1])
        .count()
}

fn run_on(path: &[usize], to: usize) -> usize {
    path[to..].iter().take_while(|state| **state == path[to]).count()
}

//! Which key holds in each bar? A hidden Markov model over the 24 keys, read forward and backward.
//!
//! Source: the method of local keys as hidden states is Temperley 2007 (Music and Probability, ch. 6) and
//! Nápoles López, Arthur & Fujinaga 2019 (DLfM); neighbour groups of keys from the latter's report.

use super::profiles::ALBRECHT_SHANAHAN;
use super::tonality::{Tonality, pitch_class};

/// Keys by state: 0–11 major on that pitch class, 12–23 minor.
pub const STATES: usize = 24;

/// What the model may be told from outside, per bar: how likely each key is before its notes are heard (logs).
pub type Prior = [f64; STATES];

/// For each bar the probability of each key.
pub type Posterior = Vec<[f64; STATES]>;

/// The state of a key.
#[must_use]
pub fn state(key: Tonality) -> usize {
    key.pitch_class() + if key.minor { 12 } else { 0 }
}

/// How near two keys are, 0 (the same) to 8 (furthest).
/// Source: justkeydding's neighbour groups, read from C major and from A minor by symmetry.
#[must_use]
pub const fn distance(from: usize, to: usize) -> usize {
    // Groups from a major key, by semitones above it.
    const MAJOR_TO_MAJOR: [usize; 12] = [0, 5, 3, 3, 4, 1, 8, 1, 4, 3, 3, 5];
    const MAJOR_TO_MINOR: [usize; 12] = [1, 7, 2, 6, 2, 2, 6, 2, 7, 1, 4, 4];
    let interval = (to + 12 - from % 12) % 12;
    let (from_minor, to_minor) = (from >= 12, to >= 12);
    match (from_minor, to_minor) {
        (false, false) | (true, true) => MAJOR_TO_MAJOR[interval],
        (false, true) => MAJOR_TO_MINOR[interval],
        (true, false) => MAJOR_TO_MINOR[(12 - interval) % 12],
    }
}

/// Numbers of the model.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// Probability of leaving a key at a bar line.
    pub leave: f64,
    /// How much less likely each group further away is (a factor per group).
    pub decay: f64,
    /// How much of its weight each note counts.
    pub trust: f64,
    /// Floor added to each profile, so that a chromatic note surprises without forbidding.
    pub floor: f64,
    /// Strength of the prior from outside.
    pub prior: f64,
}

/// Settings for the local keys of a part, chosen on Roman-numeral analyses (see `regions`).
pub const SETTINGS: Settings = Settings {
    leave: 0.05,
    decay: 3.0,
    trust: 0.7,
    floor: 0.02,
    prior: 1.0,
};

/// The furthest that two keys are from each other, in groups.
const FURTHEST: usize = 8;

/// [`distance`] of every key from every other, worked out when the program is built.
const GROUPS: [[usize; STATES]; STATES] = {
    let mut groups = [[0; STATES]; STATES];
    let mut pair = 0;
    while pair < STATES * STATES {
        groups[pair / STATES][pair % STATES] = distance(pair / STATES, pair % STATES);
        pair += 1;
    }
    groups
};

/// Probabilities of moving between states at a bar line.
fn transitions(settings: &Settings) -> [[f64; STATES]; STATES] {
    let by_group: [f64; FURTHEST + 1] =
        [0, 1, 2, 3, 4, 5, 6, 7, 8].map(|groups: i32| settings.decay.powi(-groups));
    let mut moves = [[0.0; STATES]; STATES];
    for (from, (row, groups)) in moves.iter_mut().zip(&GROUPS).enumerate() {
        let mut weight = groups.map(|groups| by_group[groups]);
        weight[from] = 0.0;
        let sum: f64 = weight.iter().sum();
        *row = weight.map(|weight| settings.leave * weight / sum);
        row[from] = 1.0 - settings.leave;
    }
    moves
}

/// Logarithms of [`transitions`]. Those of a key are alike for all keys that are as far from it: few are worked out.
fn log_transitions(settings: &Settings) -> [[f64; STATES]; STATES] {
    let moves = transitions(settings);
    std::array::from_fn(|from| {
        let mut by_group = [None; FURTHEST + 1];
        std::array::from_fn(|to| *by_group[GROUPS[from][to]].get_or_insert_with(|| moves[from][to].ln()))
    })
}

/// For each pitch class the log-probability of hearing it in each key.
fn emissions(floor: f64) -> [[f64; STATES]; 12] {
    let by_mode = [false, true].map(|minor| {
        let weights = ALBRECHT_SHANAHAN.weights(minor);
        let sum: f64 = weights.iter().sum::<f64>() + 12.0 * floor;
        (*weights).map(|weight| ((weight + floor) / sum).ln())
    });
    std::array::from_fn(|pc| {
        std::array::from_fn(|state| by_mode[usize::from(state >= 12)][(pc + 12 - state % 12) % 12])
    })
}

/// Log-likelihood of each bar under each key.
fn likelihoods(bars: &[[f64; 12]], prior: &[Prior], settings: &Settings) -> Vec<[f64; STATES]> {
    let emit = emissions(settings.floor);
    bars.iter()
        .enumerate()
        .map(|(bar, notes)| {
            // All keys side by side: a sum for each of them in turn would wait for its own last step at every note.
            let mut heard = [0.0; STATES];
            for (weight, logs) in notes.iter().zip(&emit) {
                for (sum, log) in heard.iter_mut().zip(logs) {
                    *sum += weight * log;
                }
            }
            let before = prior.get(bar);
            std::array::from_fn(|state| {
                settings.trust * heard[state] + before.map_or(0.0, |p| settings.prior * p[state])
            })
        })
        .collect()
}

/// The probability of each key in each bar, all notes considered. `prior` has one entry per bar or none.
#[must_use]
pub fn posterior(bars: &[[f64; 12]], prior: &[Prior], settings: &Settings) -> Posterior {
    let heard: Vec<[f64; STATES]> = likelihoods(bars, prior, settings)
        .iter()
        .map(exponentials)
        .collect();
    let moves = transitions(settings);
    let back: [[f64; STATES]; STATES] = std::array::from_fn(|to| std::array::from_fn(|from| moves[from][to]));
    let mut forward: Posterior = Vec::with_capacity(bars.len());
    let mut belief = [1.0 / 24.0; STATES];
    for (bar, row) in heard.iter().enumerate() {
        let arrived = if bar == 0 { belief } else { step(&moves, &belief) };
        belief = normalised(std::array::from_fn(|s| arrived[s] * row[s]));
        forward.push(belief);
    }
    let mut backward = [1.0; STATES];
    for bar in (0..bars.len()).rev() {
        let both = normalised(std::array::from_fn(|s| forward[bar][s] * backward[s]));
        forward[bar] = both;
        let heard_here: [f64; STATES] = std::array::from_fn(|s| heard[bar][s] * backward[s]);
        backward = normalised(step(&back, &heard_here));
    }
    forward
}

/// One step along the transitions, or against them if they are turned round.
fn step(moves: &[[f64; STATES]; STATES], belief: &[f64; STATES]) -> [f64; STATES] {
    let mut next = [0.0; STATES];
    for (row, held) in moves.iter().zip(belief) {
        for (sum, chance) in next.iter_mut().zip(row) {
            *sum += chance * held;
        }
    }
    next
}

/// Exponentials scaled so that the largest is one.
fn exponentials(row: &[f64; STATES]) -> [f64; STATES] {
    let top = row.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    std::array::from_fn(|s| (row[s] - top).exp())
}

fn normalised(row: [f64; STATES]) -> [f64; STATES] {
    let sum: f64 = row.iter().sum();
    if sum > 0.0 {
        row.map(|x| x / sum)
    } else {
        [1.0 / 24.0; STATES]
    }
}

/// The most likely sequence of keys, one per bar (Viterbi).
#[must_use]
pub fn best_path(bars: &[[f64; 12]], prior: &[Prior], settings: &Settings) -> Vec<usize> {
    let heard = likelihoods(bars, prior, settings);
    let moves = log_transitions(settings);
    let mut best: [f64; STATES] = heard.first().copied().unwrap_or([0.0; STATES]);
    let mut from_where: Vec<[usize; STATES]> = Vec::with_capacity(bars.len());
    for row in heard.iter().skip(1) {
        let mut came = [0; STATES];
        let mut top = [f64::NEG_INFINITY; STATES];
        for (from, (logs, so_far)) in moves.iter().zip(&best).enumerate() {
            for to in 0..STATES {
                let value = so_far + logs[to];
                (top[to], came[to]) = if value > top[to] {
                    (value, from)
                } else {
                    (top[to], came[to])
                };
            }
        }
        best = std::array::from_fn(|to| top[to] + row[to]);
        from_where.push(came);
    }
    let mut state = (0..STATES)
        .max_by(|a, b| best[*a].total_cmp(&best[*b]))
        .unwrap_or(0);
    let mut path = vec![state; bars.len()];
    for bar in (1..bars.len()).rev() {
        state = from_where.get(bar - 1).map_or(state, |came| came[state]);
        path[bar - 1] = state;
    }
    path
}

/// The key of a state, spelled as near as possible to a place on the line of fifths (the signature in force).
#[must_use]
pub fn key_near(state: usize, signature: f64) -> Tonality {
    let minor = state >= 12;
    let wanted = state % 12;
    let home = signature + if minor { 3.0 } else { 0.0 };
    (-12..=15)
        .filter(|fifths| pitch_class(*fifths) == wanted)
        .min_by(|a, b| {
            (f64::from(*a) - home)
                .abs()
                .total_cmp(&(f64::from(*b) - home).abs())
        })
        .map_or(Tonality::major(0), |fifths| Tonality { fifths, minor })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_are_symmetric_and_nought_at_home() {
        for a in 0..STATES {
            assert_eq!(distance(a, a), 0);
            for b in 0..STATES {
                assert_eq!(distance(a, b), distance(b, a), "{a} {b}");
            }
        }
    }

    #[test]
    fn what_is_worked_out_once_for_many_keys_is_what_each_would_give() {
        let moves = transitions(&SETTINGS);
        let logs = log_transitions(&SETTINGS);
        for from in 0..STATES {
            let sum: f64 = moves[from].iter().sum();
            assert!((sum - 1.0).abs() < 1e-12);
            for to in 0..STATES {
                assert!(
                    (logs[from][to] - moves[from][to].ln()).abs() < 1e-12,
                    "{from} {to}"
                );
                let groups = i32::try_from(distance(from, to)).expect("few");
                let nearer = SETTINGS.decay.powi(1 - groups) * moves[from][(from + 7) % 12 + from / 12 * 12];
                assert!(
                    from == to || (moves[from][to] - nearer).abs() < 1e-12,
                    "{from} {to}"
                );
            }
        }
        let emit = emissions(SETTINGS.floor);
        for state in 0..STATES {
            let sum: f64 = emit.iter().map(|logs| logs[state].exp()).sum();
            assert!((sum - 1.0).abs() < 1e-12, "{state}");
            let tonic = emit[state % 12][state];
            assert!(emit.iter().all(|logs| logs[state] <= tonic), "{state}");
        }
    }

    #[test]
    fn the_best_path_changes_key_once_where_the_notes_do() {
        let scale = |tonic: usize| {
            let mut bar = [0.0; 12];
            for degree in [0, 0, 2, 4, 4, 5, 7, 7, 9, 11] {
                bar[(tonic + degree) % 12] += 1.0;
            }
            bar
        };
        let bars: Vec<[f64; 12]> = (0..16).map(|bar| scale(if bar < 8 { 0 } else { 7 })).collect();
        let path = best_path(&bars, &[], &SETTINGS);
        assert_eq!(path, [[0; 8], [7; 8]].concat());
        let probable = posterior(&bars, &[], &SETTINGS);
        assert!(probable[2][0] > 0.8 && probable[12][7] > 0.8);
    }
}

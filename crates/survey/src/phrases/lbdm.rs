//! Where does the line change most from one note to the next? The local boundary detection model.
//!
//! Source: E. Cambouropoulos, The Local Boundary Detection Model (LBDM), ICMC 2001: for the profiles of pitch interval,
//! time between onsets and rest, strength = x_i (r_{i-1} + r_i) with r_i = |x_i − x_{i+1}| / (x_i + x_{i+1}), each
//! divided by its maximum, then weighed 0.25, 0.50, 0.25.
//!
//! DIFFERENCE: a published program leaves profiles alone whose maximum is under 0.1 of its unit; written lengths are exact, so
//! ours are always divided, and a tune in half notes is divided like the same one in quarters.

use super::notes::Notes;

/// Weights of pitch, onset and rest profiles. Source: as above.
const WEIGHTS: [f64; 3] = [0.25, 0.50, 0.25];

/// The boundary strength before each note, 0 to 1; 0 before the first.
#[must_use]
pub fn strengths(notes: &Notes) -> Vec<f64> {
    let n = notes.len();
    let mut total = vec![0.0; n];
    let between = 1..n;
    let pitch: Vec<f64> = between
        .clone()
        .map(|at| f64::from(notes.leap(at).abs()))
        .collect();
    let onset: Vec<f64> = between.clone().map(|at| notes.ioi(at - 1)).collect();
    let rest: Vec<f64> = between.map(|at| notes.gap(at)).collect();
    for (profile, weight) in [pitch, onset, rest].iter().zip(WEIGHTS) {
        for (slot, strength) in total.iter_mut().skip(1).zip(of_profile(profile)) {
            *slot += weight * strength;
        }
    }
    total
}

fn of_profile(profile: &[f64]) -> Vec<f64> {
    let change = |a: f64, b: f64| {
        let sum = a + b;
        if sum > 0.0 { (a - b).abs() / sum } else { 0.0 }
    };
    let changes: Vec<f64> = profile
        .windows(2)
        .map(|pair| match pair {
            [a, b] => change(*a, *b),
            _ => 0.0,
        })
        .collect();
    let at = |index: usize| changes.get(index).copied().unwrap_or(0.0);
    let mut strengths: Vec<f64> = profile
        .iter()
        .enumerate()
        .map(|(i, x)| x * (i.checked_sub(1).map_or(0.0, at) + at(i)))
        .collect();
    let most = strengths.iter().copied().fold(0.0, f64::max);
    if most > 0.0 {
        strengths.iter_mut().for_each(|strength| *strength /= most);
    }
    strengths
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked by hand from the formula: profile 1 1 4 1 has changes 0, 0.6, 0.6 and strengths 0, 0.6, 4.8, 0.6.
    #[test]
    fn a_profile_is_strongest_at_its_jump() {
        let strengths = of_profile(&[1.0, 1.0, 4.0, 1.0]);
        let expected = [0.0, 0.6 / 4.8, 1.0, 0.6 / 4.8];
        for (mine, theirs) in strengths.iter().zip(expected) {
            assert!((mine - theirs).abs() < 1e-12, "{strengths:?}");
        }
    }
}

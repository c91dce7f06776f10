//! When did the notes come, against the player's own pulse? Early and late, hesitations, the pace of each bar.
//!
//! The pulse at a note is the straight line that fits best through the notes around it, that note left out: what is measured is
//! not measured by itself. Nearer notes count more (tricube), those that lie far off count less (bisquare). Source: Cleveland 1979,
//! robust locally weighted regression (from memory).

use crate::align::{Alignment, Was, weighted_middle};
use crate::expected::Expected;
use notation::Place;
use performance::play::Role;

/// Notes around a note from which the pulse is taken lie within so many seconds of the model on each side…
const AROUND_SECS: f64 = 3.0;
/// …and are at least so many on both sides together.
const FEWEST: usize = 4;
/// A wait is a hesitation from so many seconds on beyond what is due…
const HESITATION_SECS: f64 = 0.35;
/// …and so many times the time due. Judgement.
const HESITATION_TIMES: f64 = 1.6;

/// A wait where the music has none.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Hesitation {
    /// The note (of those expected) before which it was.
    pub before: usize,
    /// Where that stands.
    pub place: Place,
    /// When that note was due, in seconds.
    pub at_secs: f64,
    /// How much longer than due it took, in seconds.
    pub secs: f64,
}

/// A note on the line of time: which of the sounded, the model's seconds, the player's.
#[derive(Clone, Copy, Debug)]
struct Point {
    sounded: usize,
    expected: usize,
    place: Place,
    model: f64,
    secs: f64,
    free: bool,
}

/// What the time of the notes says.
pub(super) struct Timing {
    /// For each note sounded, seconds by which it came late (early is negative).
    pub late: Vec<Option<f64>>,
    pub hesitations: Vec<Hesitation>,
}

/// Early and late, and hesitations.
pub(super) fn timing(line: &[Expected], alignment: &Alignment) -> Timing {
    let mut late: Vec<Option<f64>> = vec![None; alignment.sounded.len()];
    let mut hesitations = Vec::new();
    for run in runs(line, alignment) {
        for steady in parted(&run, &mut hesitations) {
            for (n, point) in steady.iter().enumerate() {
                if let Some(due) = due(steady, n)
                    && let Some(late) = late.get_mut(point.sounded)
                {
                    *late = Some(point.secs - due);
                }
            }
        }
    }
    Timing { late, hesitations }
}

/// Notes that follow each other without a jump.
fn runs(line: &[Expected], alignment: &Alignment) -> Vec<Vec<Point>> {
    let mut runs: Vec<Vec<Point>> = vec![Vec::new()];
    let mut jumps = alignment.jumps.iter().peekable();
    for (sounded, note) in alignment.sounded.iter().enumerate() {
        while jumps.peek().is_some_and(|jump| jump.sounded <= sounded) {
            jumps.next();
            runs.push(Vec::new());
        }
        let Some(expected) = line.get(note.expected) else {
            continue;
        };
        if matches!(note.was, Was::Right | Was::Wrong)
            && expected.role == Role::Written
            && let Some(run) = runs.last_mut()
        {
            run.push(Point {
                sounded,
                expected: note.expected,
                place: expected.place,
                model: expected.secs,
                secs: note.onset_secs,
                free: expected.free,
            });
        }
    }
    runs.retain(|run| !run.is_empty());
    runs
}

/// The run cut where the player waited and where the music stands still.
fn parted<'a>(run: &'a [Point], hesitations: &mut Vec<Hesitation>) -> Vec<&'a [Point]> {
    let paces: Vec<(f64, f64)> = run
        .windows(2)
        .map(|pair| match pair {
            [a, b] if b.model > a.model && !a.free => {
                ((b.secs - a.secs) / (b.model - a.model), b.model - a.model)
            }
            _ => (0.0, 0.0),
        })
        .collect();
    let mut cuts = vec![0];
    for (n, pair) in run.windows(2).enumerate() {
        let [a, b] = pair else { continue };
        if a.free {
            cuts.push(n + 1);
            continue;
        }
        let near: Vec<(f64, f64)> = (n.saturating_sub(6)..(n + 7).min(paces.len()))
            .filter(|other| *other != n)
            .filter_map(|other| paces.get(other).copied())
            .filter(|(pace, weight)| *pace > 0.0 && *weight > 0.0)
            .collect();
        if near.len() < 3 {
            continue;
        }
        let Some(pace) = weighted_middle(&near) else {
            continue;
        };
        let due = (b.model - a.model) * pace;
        let waited = b.secs - a.secs - due;
        if waited > HESITATION_SECS && b.secs - a.secs > due * HESITATION_TIMES {
            hesitations.push(Hesitation {
                before: b.expected,
                place: b.place,
                at_secs: a.secs + due,
                secs: waited,
            });
            cuts.push(n + 1);
        }
    }
    cuts.push(run.len());
    cuts.windows(2)
        .filter_map(|pair| run.get(*pair.first()?..*pair.last()?))
        .filter(|steady| !steady.is_empty())
        .collect()
}

/// When a note was due by the notes around it; `None` where they are too few.
fn due(steady: &[Point], n: usize) -> Option<f64> {
    let at = steady.get(n)?;
    let mut reach = AROUND_SECS;
    let near = |reach: f64| -> Vec<(f64, f64, f64)> {
        steady
            .iter()
            .enumerate()
            .filter(|(other, point)| *other != n && (point.model - at.model).abs() < reach)
            .map(|(_, point)| {
                let away = (point.model - at.model).abs() / reach;
                (point.model - at.model, point.secs, (1.0 - away.powi(3)).powi(3))
            })
            .collect()
    };
    let mut points = near(reach);
    while points.len() < FEWEST {
        reach *= 1.6;
        if reach > 20.0 {
            return None;
        }
        points = near(reach);
    }
    let mut trust = vec![1.0; points.len()];
    let mut line = (0.0, 0.0);
    for _ in 0..4 {
        line = straight(&points, &trust)?;
        let mut away: Vec<f64> = points
            .iter()
            .map(|(x, y, _)| (y - line.0 - line.1 * x).abs())
            .collect();
        let offs = away.clone();
        let middle = crate::align::median(&mut away)?.max(0.003);
        for (trust, off) in trust.iter_mut().zip(&offs) {
            let far = off / (6.0 * middle);
            *trust = if far < 1.0 { (1.0 - far * far).powi(2) } else { 0.0 };
        }
    }
    (line.1 > 0.0).then_some(line.0)
}

/// The straight line through points (x, y, weight): its value at 0 and its rise.
fn straight(points: &[(f64, f64, f64)], trust: &[f64]) -> Option<(f64, f64)> {
    let (mut w, mut x, mut y, mut xx, mut xy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for ((px, py, weight), trust) in points.iter().zip(trust) {
        let weight = weight * trust;
        w += weight;
        x += weight * px;
        y += weight * py;
        xx += weight * px * px;
        xy += weight * px * py;
    }
    let spread = w * xx - x * x;
    if w <= 0.0 || spread <= 1e-12 {
        return None;
    }
    let rise = (w * xy - x * y) / spread;
    Some(((y - rise * x) / w, rise))
}

//! How does a hand draw a line? A little unevenly, pressing more at the start: the same way each time for the same mark.

/// A hand with its habits at one mark.
#[derive(Clone, Debug)]
pub(super) struct Hand {
    state: u64,
}

/// A point of a drawn line, with half the line's width there.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Sample {
    pub x: f64,
    pub y: f64,
    pub half: f64,
}

/// How far apart the points of a line are, in units: a sixteenth of a staff space.
const STEP: f64 = 11.0;
/// How far a line strays from where it should go, in units.
const STRAY: f64 = 5.0;

impl Hand {
    /// The hand for a seed.
    pub fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// The next number from −1 to 1.
    ///
    /// Source: the splitmix64 generator (Steele, Lea & Flood 2014, "Fast splittable pseudorandom number generators").
    fn next(&mut self) -> f64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        // Sixteen bits are plenty.
        let small = u16::try_from(z & 0xffff).unwrap_or(0);
        f64::from(small) / 32767.5 - 1.0
    }

    /// A small uneven amount up to so much either way.
    pub fn about(&mut self, most: f64) -> f64 {
        self.next() * most
    }

    /// A line through points, of such a width where the hand presses most; it goes out thinner by `taper` (0 to 1).
    pub fn line(&mut self, points: &[(f64, f64)], width: f64, taper: f64) -> Vec<Sample> {
        self.drawn(points, width, taper, STRAY)
    }

    /// The same with care, where there is little room.
    pub fn careful_line(&mut self, points: &[(f64, f64)], width: f64, taper: f64) -> Vec<Sample> {
        self.drawn(points, width, taper, STRAY / 3.0)
    }

    fn drawn(&mut self, points: &[(f64, f64)], width: f64, taper: f64, stray: f64) -> Vec<Sample> {
        let smooth = through(points);
        let count = smooth.len().max(2);
        let (phase, slow, pressed) = (self.next() * 3.0, self.next() * 3.0, self.next() * 3.0);
        let length: f64 = smooth.windows(2).map(|pair| apart(pair[0], pair[1])).sum();
        let stray = stray.min(length * 0.02);
        let mut samples = Vec::with_capacity(count);
        let mut gone = 0.0;
        for (at, point) in smooth.iter().enumerate() {
            let before = smooth[at.saturating_sub(1)];
            let after = smooth.get(at + 1).copied().unwrap_or(*point);
            if at > 0 {
                gone += apart(before, *point);
            }
            let along = if length > 0.0 { gone / length } else { 0.0 };
            let (dx, dy) = (after.0 - before.0, after.1 - before.1);
            let norm = dx.hypot(dy).max(1e-9);
            // Two slow waves, no trembling: about one and two to four staff spaces.
            let wave = 0.6 * (gone / 90.0 + phase).sin() + 0.4 * (gone / 37.0 + slow).sin();
            let off = stray * wave;
            let press = 1.0 + 0.10 * (gone / 60.0 + pressed).sin();
            let ends = 0.72 + 0.28 * (std::f64::consts::PI * along).sin().max(0.0).sqrt();
            samples.push(Sample {
                x: point.0 - dy / norm * off,
                y: point.1 + dx / norm * off,
                half: width / 2.0 * press * ends * (1.0 - taper * along),
            });
        }
        samples
    }
}

/// The same seed for the same text, wherever and whenever.
///
/// Source: the Fowler–Noll–Vo hash, FNV-1a, 64 bits.
pub(super) fn seed(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

fn apart(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// Points close together on a smooth curve through the given ones (Catmull–Rom).
fn through(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let Some(first) = points.first() else {
        return Vec::new();
    };
    let at = |index: usize| points.get(index.min(points.len() - 1)).copied().unwrap_or(*first);
    let mut curve = vec![*first];
    for start in 0..points.len().saturating_sub(1) {
        let (p0, p1, p2, p3) = (
            at(start.saturating_sub(1)),
            at(start),
            at(start + 1),
            at(start + 2),
        );
        let mut steps = 1;
        while f64::from(steps) * STEP < apart(p1, p2) && steps < 400 {
            steps += 1;
        }
        for step in 1..=steps {
            let t = f64::from(step) / f64::from(steps);
            curve.push((
                spline(t, p0.0, p1.0, p2.0, p3.0),
                spline(t, p0.1, p1.1, p2.1, p3.1),
            ));
        }
    }
    curve
}

fn spline(t: f64, a: f64, b: f64, c: f64, d: f64) -> f64 {
    let (t2, t3) = (t * t, t * t * t);
    0.5 * (2.0 * b + (c - a) * t + (2.0 * a - 5.0 * b + 4.0 * c - d) * t2 + (3.0 * b - a - 3.0 * c + d) * t3)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_goes_through_its_points_nearly_and_the_same_each_time() {
        let points = [(0.0, 0.0), (100.0, 50.0), (200.0, 0.0)];
        let line = Hand::new(7).line(&points, 30.0, 0.3);
        assert_eq!(line, Hand::new(7).line(&points, 30.0, 0.3));
        assert_ne!(line, Hand::new(8).line(&points, 30.0, 0.3));
        for point in points {
            let nearest = line
                .iter()
                .map(|s| apart((s.x, s.y), point))
                .fold(f64::MAX, f64::min);
            assert!(nearest < 2.0 * STRAY, "{nearest}");
        }
        assert!(line.iter().all(|s| s.half > 0.0 && s.half < 20.0));
    }

    #[test]
    fn one_point_and_none_are_no_trouble() {
        assert_eq!(Hand::new(1).line(&[], 10.0, 0.0), []);
        assert_eq!(Hand::new(1).line(&[(1.0, 2.0)], 10.0, 0.0).len(), 1);
    }

    /// Source: the FNV page of its authors, test vectors of FNV-1a 64: the empty text and "a".
    #[test]
    fn seeds_are_the_published_hash() {
        assert_eq!(seed(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(seed("a"), 0xaf63_dc4c_8601_ec8c);
    }
}

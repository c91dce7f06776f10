//! How likely is each symbol after a context? Prediction by partial match: contexts from short to long, interpolated.
//!
//! A context of order k is the last k things seen; what followed it is counted. The prediction starts even over the
//! alphabet and is refined by each longer context that is known, by the weight N / (N + a·t) for N things counted of t kinds.
//!
//! Source: J. Cleary & I. Witten, "Data compression using adaptive coding and partial string matching", IEEE Trans.
//! Communications 32 (1984); escape method C (a = 1): A. Moffat, IEEE Trans. Communications 38 (1990); interpolation and
//! its gain on melodies: M. Pearce & G. Wiggins, "Improved methods for statistical modelling of monophonic music", Journal
//! of New Music Research 33 (2004). `a` is fitted here and need not be 1.

/// What followed a context: symbols with their counts.
pub trait Counts {
    /// Calls back with each symbol counted after a context, in a fixed order; false if the context is not known.
    fn after(&self, context: u32, each: impl FnMut(u8, u32)) -> bool;
}

/// The longest context that any viewpoint uses.
pub const LONGEST: usize = 7;

/// The contexts of one viewpoint at one moment, from the empty one on, as keys.
#[derive(Clone, Copy, Debug, Default)]
pub struct Contexts {
    keys: [u32; LONGEST + 1],
    len: usize,
}

impl Contexts {
    /// The contexts of a viewpoint with a number whose last things were these, the latest first.
    #[must_use]
    pub fn of(viewpoint: u32, latest_first: &[u32]) -> Self {
        let mut hash = mixed(0x5f37_59df, viewpoint);
        let mut contexts = Self::default();
        contexts.push(hash);
        for thing in latest_first.iter().take(LONGEST) {
            hash = mixed(hash, *thing);
            contexts.push(hash);
        }
        contexts
    }

    fn push(&mut self, hash: u64) {
        if let Some(slot) = self.keys.get_mut(self.len) {
            *slot = u32::try_from(hash >> 32).unwrap_or(0);
            self.len += 1;
        }
    }

    /// From the shortest to the longest.
    #[must_use]
    pub fn keys(&self) -> &[u32] {
        self.keys.get(..self.len).unwrap_or(&[])
    }
}

/// A running hash; multiplication and shifts spread each thing over all bits.
const fn mixed(hash: u64, thing: u32) -> u64 {
    let mut h = (hash ^ (thing as u64).wrapping_add(0x9e37_79b9)).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    h ^= h >> 29;
    h = h.wrapping_mul(0xbf58_476d_1ce4_e5b9);
    h ^ (h >> 32)
}

/// Where a symbol stands in the alphabet of the piece; `None` if it can't come.
pub trait Alphabet {
    /// The index of a symbol.
    fn index(&self, symbol: u8) -> Option<usize>;
}

/// What a forecast rests on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Known {
    /// The length of the longest context that was known.
    pub order: usize,
    /// True if only one thing ever followed it.
    pub only_one: bool,
}

impl Known {
    /// Such grounds.
    #[must_use]
    pub const fn at(order: usize, only_one: bool) -> Self {
        Self { order, only_one }
    }
}

/// Room for one forecast, used again and again.
#[derive(Clone, Debug, Default)]
pub struct Room {
    /// Indices of letters and their counts, from the shortest context to the longest.
    found: Vec<(usize, f64)>,
    /// For each context where its letters end, their number of kinds and their counts together.
    ends: Vec<(usize, f64, f64)>,
}

impl Room {
    /// Looks up the contexts, from the shortest until one is not known.
    fn look_up(
        &mut self,
        counts: &impl Counts,
        contexts: &Contexts,
        alphabet: &impl Alphabet,
        letters: usize,
    ) -> Option<Known> {
        self.found.clear();
        self.ends.clear();
        let mut known = None;
        for (order, key) in contexts.keys().iter().enumerate() {
            let start = self.found.len();
            let (mut kinds, mut total) = (0.0, 0.0);
            let is_known = counts.after(*key, |symbol, count| {
                if let Some(index) = alphabet.index(symbol).filter(|index| *index < letters) {
                    let count = f64::from(count);
                    self.found.push((index, count));
                    total += count;
                    kinds += 1.0;
                }
            });
            if !is_known {
                break;
            }
            if self.found.len() > start {
                self.ends.push((self.found.len(), kinds, total));
                known = Some(Known::at(order, self.found.len() == start + 1));
            }
        }
        known
    }
}

/// Fills `probabilities` (one for each letter of the alphabet) with what the counts say; they sum to 1. `None` if no context
/// was known.
pub fn predict(
    counts: &impl Counts,
    contexts: &Contexts,
    alphabet: &impl Alphabet,
    escape: f64,
    room: &mut Room,
    probabilities: &mut [f64],
) -> Option<Known> {
    let known = room.look_up(counts, contexts, alphabet, probabilities.len())?;
    probabilities.fill(0.0);
    // From the longest context down: each leaves to the shorter ones what it escapes.
    let mut left = 1.0;
    for (at, (end, kinds, total)) in room.ends.iter().enumerate().rev() {
        let start = at
            .checked_sub(1)
            .and_then(|before| room.ends.get(before))
            .map_or(0, |before| before.0);
        let share = left / (total + escape * kinds);
        for (index, count) in room.found.get(start..*end).unwrap_or(&[]) {
            if let Some(probability) = probabilities.get_mut(*index) {
                *probability += share * count;
            }
        }
        left = share * escape * kinds;
    }
    #[expect(
        clippy::cast_precision_loss,
        reason = "an alphabet has some dozens of letters"
    )]
    let even = left / probabilities.len().max(1) as f64;
    for probability in probabilities.iter_mut() {
        *probability += even;
    }
    Some(known)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::short_term::ShortTerm;

    struct Letters(usize);

    impl Alphabet for Letters {
        fn index(&self, symbol: u8) -> Option<usize> {
            Some(usize::from(symbol)).filter(|index| *index < self.0)
        }
    }

    /// The formula written plainly: from the shortest context, p = N/(N+t) · c/N + t/(N+t) · p of the shorter one.
    /// Counted by hand for the letters a b a b a c after one another (0 1 0 1 0 2), the next after `0`.
    #[test]
    fn interpolation_by_hand() {
        let mut short = ShortTerm::default();
        let text = [0, 1, 0, 1, 0, 2, 0];
        for (at, symbol) in text.iter().enumerate() {
            let before: Vec<u32> = at
                .checked_sub(1)
                .map(|before| u32::from(text[before]))
                .into_iter()
                .collect();
            short.learn(&Contexts::of(1, &before), *symbol);
        }
        let mut probabilities = [0.0; 4];
        let known = predict(
            &short,
            &Contexts::of(1, &[0]),
            &Letters(4),
            1.0,
            &mut Room::default(),
            &mut probabilities,
        );
        assert_eq!(known, Some(Known::at(1, false)));
        // Order 0: 0 four times, 1 twice, 2 once: N = 7, t = 3. Order 1 after 0: 1 twice, 2 once: N = 3, t = 2.
        let even = 0.25 * 3.0 / 10.0;
        let order_0 = [4.0 / 10.0 + even, 2.0 / 10.0 + even, 1.0 / 10.0 + even, even];
        let counted = [0.0, 2.0, 1.0, 0.0];
        for at in 0..4 {
            let expected = counted[at] / 5.0 + 2.0 / 5.0 * order_0[at];
            assert!(
                (probabilities[at] - expected).abs() < 1e-12,
                "{at}: {probabilities:?}"
            );
        }
        assert!((probabilities.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }
}

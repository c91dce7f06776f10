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
    fn after(&self, context: u32, each: &mut dyn FnMut(u8, u32)) -> bool;
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

/// Fills `probabilities` (one for each letter of the alphabet) with what the counts say; they sum to 1. `None` if no context
/// was known.
pub fn predict(
    counts: &impl Counts,
    contexts: &Contexts,
    alphabet: &impl Alphabet,
    escape: f64,
    probabilities: &mut [f64],
) -> Option<Known> {
    #[expect(
        clippy::cast_precision_loss,
        reason = "an alphabet has some dozens of letters"
    )]
    let even = 1.0 / probabilities.len().max(1) as f64;
    probabilities.fill(even);
    let mut known = None;
    let mut found: Vec<(usize, f64)> = Vec::with_capacity(32);
    for (order, key) in contexts.keys().iter().enumerate() {
        found.clear();
        let mut total = 0.0;
        let is_known = counts.after(*key, &mut |symbol, count| {
            if let Some(index) = alphabet
                .index(symbol)
                .filter(|index| *index < probabilities.len())
            {
                let count = f64::from(count);
                found.push((index, count));
                total += count;
            }
        });
        if !is_known {
            break;
        }
        if found.is_empty() {
            continue;
        }
        known = Some(Known {
            order,
            only_one: found.len() == 1,
        });
        #[expect(clippy::cast_precision_loss, reason = "at most an alphabet of kinds")]
        let novel = escape * found.len() as f64;
        let whole = total + novel;
        let escaped = novel / whole;
        for probability in probabilities.iter_mut() {
            *probability *= escaped;
        }
        for (index, count) in &found {
            if let Some(probability) = probabilities.get_mut(*index) {
                *probability += count / whole;
            }
        }
    }
    known
}

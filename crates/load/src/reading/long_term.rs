//! What do tunes in general do? A small table of counts, searched in place.
//!
//! Layout: 4 bytes `FRC1`; the weights of the forecasts, each in thousandths as two bytes with a sign; 4097 offsets of 4 bytes, little endian, where the contexts whose key starts with these twelve
//! bits begin; then for each context, by key, the other twenty bits of its key and the number of its symbols in four bits
//! (together 3 bytes, little endian; 15 means that a byte with the true number follows), and so many pairs of a symbol and
//! a count. Nothing is decoded before it is asked for.

use super::mix::{WEIGHTS, Weights};
use super::ppm::Counts;
use std::borrow::Cow;
use std::collections::BTreeMap;

const MAGIC: &[u8; 4] = b"FRC1";
const BUCKETS: usize = 1 << 12;
const INDEX: usize = 4 + WEIGHTS * 2;
const HEAD: usize = INDEX + (BUCKETS + 1) * 4;

/// A table of counts.
#[derive(Clone, Debug)]
pub struct LongTerm {
    bytes: Cow<'static, [u8]>,
}

impl LongTerm {
    /// The table that is shipped; which tune books it was counted from says `long_term.md` beside it.
    #[must_use]
    pub const fn shipped() -> Self {
        Self {
            bytes: Cow::Borrowed(include_bytes!("long_term.bin")),
        }
    }

    /// No counts at all: only the piece itself teaches.
    #[must_use]
    pub const fn none() -> Self {
        Self {
            bytes: Cow::Borrowed(&[]),
        }
    }

    /// A table from its bytes; `None` if they are none.
    #[must_use]
    pub fn from_bytes(bytes: Vec<u8>) -> Option<Self> {
        (bytes.starts_with(MAGIC) && bytes.len() >= HEAD).then_some(Self {
            bytes: Cow::Owned(bytes),
        })
    }

    /// Its bytes.
    #[must_use]
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The weights that were fitted for it.
    #[must_use]
    pub fn weights(&self) -> Weights {
        let bytes = self.bytes.get(4..INDEX).unwrap_or(&[]);
        Weights::of(bytes.chunks_exact(2).map(|two| match two {
            [a, b] => f64::from(i16::from_le_bytes([*a, *b])) / 1000.0,
            _ => 0.0,
        }))
    }

    /// The same counts with other weights.
    #[must_use]
    pub fn weighted(self, weights: &Weights) -> Self {
        let mut bytes = self.bytes.into_owned();
        for (slot, weight) in bytes.iter_mut().skip(4).take(WEIGHTS * 2).zip(as_bytes(weights)) {
            *slot = weight;
        }
        Self {
            bytes: Cow::Owned(bytes),
        }
    }

    fn bucket(&self, index: usize) -> Option<&[u8]> {
        let start = self.offset(index)?;
        let end = self.offset(index + 1)?;
        self.bytes.get(start..end)
    }

    fn offset(&self, index: usize) -> Option<usize> {
        let at = INDEX + index * 4;
        let four: [u8; 4] = self.bytes.get(at..at + 4)?.try_into().ok()?;
        usize::try_from(u32::from_le_bytes(four)).ok()
    }
}

impl Counts for LongTerm {
    fn after(&self, context: u32, mut each: impl FnMut(u8, u32)) -> bool {
        let Some(mut rest) = self.bucket((context >> 20) as usize) else {
            return false;
        };
        let wanted = context & 0xf_ffff;
        while let [a, b, c, after @ ..] = rest {
            let head = u32::from_le_bytes([*a, *b, *c, 0]);
            let (kinds, after) = match (head >> 20, after) {
                (15, [kinds, after @ ..]) => (usize::from(*kinds), after),
                (kinds, after) => (kinds as usize, after),
            };
            let pairs = after.get(..kinds * 2).unwrap_or(&[]);
            if head & 0xf_ffff == wanted {
                for pair in pairs.chunks_exact(2) {
                    if let [symbol, count] = pair {
                        each(*symbol, u32::from(*count));
                    }
                }
                return true;
            }
            rest = after.get(kinds * 2..).unwrap_or(&[]);
        }
        false
    }
}

/// Counts in the making: for each context its order and what followed it how often.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    contexts: BTreeMap<u32, (usize, BTreeMap<u8, u32>)>,
}

/// What is too rare to be kept.
#[derive(Clone, Copy, Debug)]
pub struct Pruning {
    /// Contexts seen less often than this are left out, by order; longer ones as the last.
    pub contexts: [u32; 6],
    /// From this order on, symbols that followed only once are left out, so that no tune can be read back.
    pub once_from: usize,
}

impl Tally {
    /// Counts a symbol after its contexts, from the shortest to the longest.
    pub fn learn(&mut self, keys: &[u32], symbol: u8) {
        for (order, key) in keys.iter().enumerate() {
            let context = self.contexts.entry(*key).or_default();
            context.0 = order;
            *context.1.entry(symbol).or_default() += 1;
        }
    }

    /// The table.
    #[must_use]
    pub fn table(&self, pruning: &Pruning) -> LongTerm {
        let mut buckets: Vec<Vec<u8>> = vec![Vec::new(); BUCKETS];
        for (key, (order, symbols)) in &self.contexts {
            let total: u32 = symbols.values().sum();
            let least = pruning.contexts.get(*order).or(pruning.contexts.last());
            if least.is_some_and(|least| total < *least) {
                continue;
            }
            let rare = u32::from(*order >= pruning.once_from);
            let kept: Vec<(u8, u32)> = symbols
                .iter()
                .filter(|(_, count)| **count > rare)
                .map(|(symbol, count)| (*symbol, *count))
                .collect();
            if let (false, Some(bucket)) = (kept.is_empty(), buckets.get_mut((*key >> 20) as usize)) {
                write(bucket, *key & 0xf_ffff, &kept);
            }
        }
        LongTerm {
            bytes: Cow::Owned(laid_out(&buckets)),
        }
    }
}

fn write(bucket: &mut Vec<u8>, key: u32, kept: &[(u8, u32)]) {
    let kinds = u8::try_from(kept.len()).unwrap_or(u8::MAX);
    let head = key | (u32::from(kinds.min(15)) << 20);
    bucket.extend(head.to_le_bytes().iter().take(3));
    if kinds >= 15 {
        bucket.push(kinds);
    }
    let most = kept.iter().map(|(_, count)| *count).max().unwrap_or(1);
    for (symbol, count) in kept.iter().take(usize::from(kinds)) {
        // Counts over 255 are scaled down together; what was seen stays seen.
        let count = if most > 255 {
            (u64::from(*count) * 255).div_ceil(u64::from(most))
        } else {
            u64::from(*count)
        };
        bucket.push(*symbol);
        bucket.push(u8::try_from(count).unwrap_or(u8::MAX).max(1));
    }
}

fn as_bytes(weights: &Weights) -> impl Iterator<Item = u8> + '_ {
    weights.all().iter().flat_map(|weight| {
        // Weights are held between -0.2 and 2.
        #[expect(
            clippy::cast_possible_truncation,
            reason = "rounded and clamped to what two bytes hold"
        )]
        let thousandths = (weight * 1000.0).round().clamp(-30_000.0, 30_000.0) as i16;
        thousandths.to_le_bytes()
    })
}

fn laid_out(buckets: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = MAGIC.to_vec();
    bytes.extend(as_bytes(&Weights::default()));
    let mut at = HEAD;
    for bucket in buckets {
        bytes.extend(u32::try_from(at).unwrap_or(u32::MAX).to_le_bytes());
        at += bucket.len();
    }
    bytes.extend(u32::try_from(at).unwrap_or(u32::MAX).to_le_bytes());
    for bucket in buckets {
        bytes.extend(bucket);
    }
    bytes
}

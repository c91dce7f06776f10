//! Which spelling opens a run of words? Sorted keys over one text, longest match first.

use crate::words;

/// Keys of one table: folded words joined by single spaces, sorted.
#[derive(Debug)]
pub(super) struct Index {
    pub(super) text: &'static str,
    pub(super) keys: &'static [Key],
}

/// A key's place in the text, and what it opens. Positions instead of strings: a table of strings would have to be
/// relocated, page by page, each time a program starts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Key {
    pub(super) start: u32,
    /// Bytes.
    pub(super) length: u8,
    pub(super) words: u8,
    /// Position of the entry in its list.
    pub(super) entry: u16,
    /// The entry's own term or a listed spelling of at least full length, fit as a target for a misspelling.
    pub(super) target: bool,
}

impl Index {
    pub(super) fn key(&self, key: &Key) -> &'static str {
        slice(self.text, key.start, usize::from(key.length))
    }

    /// The longest key that the tokens open with: (entry, tokens used).
    pub(super) fn longest(&self, tokens: &[words::Token]) -> Option<(u16, usize)> {
        let first = tokens.first()?;
        let from = self
            .keys
            .partition_point(|key| self.key(key) < first.fold.as_str());
        let mut best: Option<(u16, usize)> = None;
        for key in self.keys.get(from..).unwrap_or_default() {
            let text = self.key(key);
            // A space sorts before every letter: the first longer word ends the run.
            if !text.starts_with(first.fold.as_str())
                || text
                    .as_bytes()
                    .get(first.fold.len())
                    .is_some_and(|&next| next != b' ')
            {
                break;
            }
            let words = usize::from(key.words);
            if best.is_none_or(|(_, used)| words > used) && opens_with(tokens, text, words) {
                best = Some((key.entry, words));
            }
        }
        best
    }

    /// The key with exactly this text.
    pub(super) fn find(&self, folded: &str) -> Option<&Key> {
        let from = self.keys.partition_point(|key| self.key(key) < folded);
        self.keys.get(from).filter(|key| self.key(key) == folded)
    }
}

/// So many bytes of a text from a position on.
pub(super) fn slice(text: &'static str, start: u32, length: usize) -> &'static str {
    let start = usize::try_from(start).unwrap_or(usize::MAX);
    text.get(start..start.saturating_add(length)).unwrap_or_default()
}

/// Whether the tokens begin with these words, no comma or bracket between them.
fn opens_with(tokens: &[words::Token], key: &str, words: usize) -> bool {
    let Some(run) = tokens.get(..words) else {
        return false;
    };
    run.iter()
        .enumerate()
        .zip(key.split(' '))
        .all(|((i, token), word)| {
            token.fold == word && (i == 0 || !token.gap.is_hard()) && token.shape != words::Shape::Symbol
        })
}

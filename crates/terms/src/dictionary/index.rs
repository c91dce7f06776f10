//! Which spelling opens a run of words? Sorted keys over one text, longest match first.

use crate::words;

/// Keys of one table: folded words joined by single spaces, sorted.
#[derive(Debug, Default)]
pub(super) struct Index {
    pub(super) text: String,
    pub(super) keys: Vec<Key>,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Key {
    start: u32,
    end: u32,
    /// Position of the entry in its list.
    pub(super) entry: u16,
    pub(super) words: u8,
    /// The entry's own term or a listed spelling of at least full length, fit as a target for a misspelling.
    pub(super) target: bool,
}

impl Index {
    pub(super) fn key(&self, key: &Key) -> &str {
        self.text.get(at(key.start)..at(key.end)).unwrap_or_default()
    }

    pub(super) fn add(&mut self, spelling: &str, entry: usize, target: bool) {
        let start = self.text.len();
        let mut words = 0u8;
        for token in words::tokens(spelling) {
            if words > 0 {
                self.text.push(' ');
            }
            self.text.push_str(&token.fold);
            words = words.saturating_add(1);
        }
        self.push(start, entry, words, target);
    }

    fn push(&mut self, start: usize, entry: usize, words: u8, target: bool) {
        let (Ok(start), Ok(end), Ok(entry)) = (
            u32::try_from(start),
            u32::try_from(self.text.len()),
            u16::try_from(entry),
        ) else {
            return;
        };
        if end > start {
            self.keys.push(Key {
                start,
                end,
                entry,
                words,
                target,
            });
        }
    }

    /// German umlauts also as ae, oe, ue.
    pub(super) fn add_digraphs(&mut self, spelling: &str, entry: usize) {
        if spelling.chars().any(|c| matches!(c, 'ä' | 'ö' | 'ü')) {
            let written: String = spelling.replace('ä', "ae").replace('ö', "oe").replace('ü', "ue");
            self.add(&written, entry, false);
        }
    }

    pub(super) fn sort(&mut self) {
        let text = std::mem::take(&mut self.text);
        let slice = |key: &Key| text.get(at(key.start)..at(key.end)).unwrap_or_default();
        self.keys
            .sort_by(|a, b| slice(a).cmp(slice(b)).then(a.entry.cmp(&b.entry)));
        self.text = text;
    }

    /// The longest key that the tokens open with: (entry, tokens used).
    pub(super) fn longest(&self, tokens: &[words::Token]) -> Option<(usize, usize)> {
        let first = tokens.first()?;
        let from = self
            .keys
            .partition_point(|key| self.key(key) < first.fold.as_str());
        let mut best: Option<(usize, usize)> = None;
        for key in self.keys.iter().skip(from) {
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
                best = Some((usize::from(key.entry), words));
            }
        }
        best
    }

    pub(super) fn find(&self, folded: &str) -> Option<&Key> {
        let from = self.keys.partition_point(|key| self.key(key) < folded);
        self.keys.get(from).filter(|key| self.key(key) == folded)
    }
}

fn at(position: u32) -> usize {
    usize::try_from(position).unwrap_or(usize::MAX)
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

//! Which terms do we know? The tables under `data/`, sorted when the crate is built and looked up by folded words.
//!
//! A term is one line a musician can read and edit; see the head of `data/tempo.txt` for the columns. `build.rs` turns
//! the lines into static tables, so that a program that reads ten words pays for ten words, not for a dictionary.

use std::sync::OnceLock;

use crate::kind::{Kind, Language};
use crate::words;

mod entry;
mod index;
mod labels;
mod list;
mod modifier;
#[cfg(test)]
mod source;
mod tables;
#[cfg(test)]
mod tests;

pub(crate) use crate::kind::Part;
pub use entry::Entry;
pub(crate) use list::WordList;
pub(crate) use modifier::Modifier;

use index::{Index, slice};

/// All tables with their indexes.
#[derive(Debug)]
pub(crate) struct Dictionary {
    terms: Index,
    small: Index,
    /// Single words long enough to be the target of a misspelling, the shortest first.
    targets: &'static [Target],
    /// Every word of every listed spelling.
    words: WordList,
    /// Everyday words and names that lie close to a term.
    plain: WordList,
}

/// A word that a misspelling may be read as.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Target {
    /// Which letters of the alphabet it holds, one bit each.
    pub letters: u32,
    /// Position of its entry.
    pub entry: u16,
    key: u16,
    length: u8,
}

/// Four neighbouring cells of a row: where the first begins in the text, and their lengths in bytes.
#[derive(Clone, Copy, Debug)]
struct Cells {
    start: u32,
    lengths: [u16; 4],
}

impl Cells {
    fn read(self) -> [&'static str; 4] {
        let mut start = self.start;
        self.lengths.map(|length| {
            let cell = slice(tables::TEXT, start, usize::from(length));
            start += u32::from(length);
            cell
        })
    }
}

/// A term as the tables hold it.
#[derive(Clone, Copy, Debug)]
struct TermRow {
    cells: Cells,
    language: Language,
    kind: Kind,
}

/// A small word as the tables hold it.
#[derive(Clone, Copy, Debug)]
struct ModifierRow {
    cells: Cells,
    language: Language,
    part: Part,
}

impl Dictionary {
    /// The term at this position of the tables.
    pub fn entry(&self, position: u16) -> Option<Entry> {
        tables::TERM_ROWS.get(usize::from(position)).map(entry_of)
    }

    /// The longest term at the head of the tokens, with the number of tokens it takes.
    pub fn term_at(&self, tokens: &[words::Token]) -> Option<(Entry, usize)> {
        let (position, used) = self.terms.longest(tokens)?;
        Some((self.entry(position)?, used))
    }

    /// The longest modifier at the head of the tokens.
    pub fn modifier_at(&self, tokens: &[words::Token]) -> Option<(Modifier, usize)> {
        let (position, used) = self.small.longest(tokens)?;
        let row = tables::MODIFIER_ROWS.get(usize::from(position))?;
        Some((modifier_of(row), used))
    }

    /// Every modifier, in the order of the table.
    pub fn modifiers(&self) -> impl Iterator<Item = Modifier> + use<> {
        tables::MODIFIER_ROWS.iter().map(modifier_of)
    }

    /// The term with exactly this folded spelling.
    pub fn exact(&self, folded: &str) -> Option<Entry> {
        let key = self.terms.find(folded)?;
        self.entry(key.entry)
    }

    /// The term with exactly this folded spelling, abbreviations aside.
    pub fn exact_full(&self, folded: &str) -> Option<Entry> {
        let key = self.terms.find(folded).filter(|key| key.target)?;
        self.entry(key.entry)
    }

    /// Whether a word stands in any listed spelling, alone or inside a longer term.
    pub fn has_word(&self, folded: &str) -> bool {
        self.words.contains(folded)
    }

    /// Every word of every listed spelling, sorted.
    pub fn words(&self) -> &WordList {
        &self.words
    }

    /// Everyday words and names that must be left as they are, sorted.
    pub fn plain_words(&self) -> &WordList {
        &self.plain
    }

    /// The targets that are no more than `limit` letters shorter or longer than `length`.
    pub fn targets(&self, length: usize, limit: usize) -> &'static [Target] {
        let shorter = |target: &Target| usize::from(target.length) + limit < length;
        let fits = |target: &Target| usize::from(target.length) <= length + limit;
        let from = self.targets.partition_point(shorter);
        let to = self.targets.partition_point(fits);
        self.targets.get(from..to).unwrap_or_default()
    }

    /// The spelling of a target.
    pub fn spelling(&self, target: &Target) -> &'static str {
        let key = self.terms.keys.get(usize::from(target.key));
        key.map_or("", |key| self.terms.key(key))
    }
}

fn entry_of(row: &TermRow) -> Entry {
    let [term, meaning, aliases, notes] = row.cells.read();
    Entry {
        term,
        language: row.language,
        kind: row.kind,
        meaning,
        aliases,
        notes,
    }
}

fn modifier_of(row: &ModifierRow) -> Modifier {
    let [word, before, after, note] = row.cells.read();
    Modifier {
        word,
        language: row.language,
        part: row.part,
        before,
        after,
        note,
    }
}

/// The dictionary.
pub(crate) fn dictionary() -> &'static Dictionary {
    &tables::DICTIONARY
}

/// Every entry, in the order of the tables. The list is made at its first use; reading a direction never needs it.
pub fn entries() -> &'static [Entry] {
    static LISTED: OnceLock<Vec<Entry>> = OnceLock::new();
    LISTED.get_or_init(|| tables::TERM_ROWS.iter().map(entry_of).collect())
}

/// The entry with this spelling or abbreviation, capitals and accents aside.
pub fn lookup(spelling: &str) -> Option<&'static Entry> {
    let tokens = words::tokens(spelling);
    let (position, used) = dictionary().terms.longest(&tokens)?;
    (used == tokens.len())
        .then(|| entries().get(usize::from(position)))
        .flatten()
}

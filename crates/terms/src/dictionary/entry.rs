//! One term: its meaning, its other spellings, its labelled notes.

use std::ops::Range;

use super::labels::is_labelled;
use crate::kind::{Kind, Language};

/// One term of the dictionary.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The term as a dictionary prints it.
    pub term: &'static str,
    /// The language it is listed under.
    pub language: Language,
    /// Its sort.
    pub kind: Kind,
    /// Its meaning in plain English.
    pub meaning: &'static str,
    /// Other spellings and abbreviations, parted by commas.
    pub(super) aliases: &'static str,
    /// Labelled notes, parted by semicolons.
    pub(super) notes: &'static str,
}

impl Entry {
    /// Other spellings and abbreviations.
    pub fn aliases(&self) -> impl Iterator<Item = &'static str> + use<> {
        self.aliases
            .split(',')
            .map(str::trim)
            .filter(|alias| !alias.is_empty())
    }

    /// What the word says literally, where that helps the memory.
    pub fn literal(&self) -> Option<&'static str> {
        self.note("lit:")
    }

    /// What it means for the player, in one clause.
    pub fn advice(&self) -> Option<&'static str> {
        self.note("do:")
    }

    /// Where readers go wrong.
    pub fn trap(&self) -> Option<&'static str> {
        self.note("trap:")
    }

    /// Where the meaning comes from; `from memory` when no source is named.
    pub fn source(&self) -> &'static str {
        self.note("source:").unwrap_or("from memory")
    }

    /// The Italian row of the tempo tables under which this term is read.
    pub(crate) fn pace(&self) -> Option<&'static str> {
        self.note("pace:")
    }

    /// Direction, onset and factor of a change of tempo, as written in the table.
    pub(crate) fn change(&self) -> Option<&'static str> {
        self.note("change:")
    }

    /// A noun: a thing one plays with, without or like.
    pub(crate) fn is_thing(&self) -> bool {
        self.notes.split(';').any(|part| part.trim() == "noun")
    }

    /// The text after a label, up to the next label.
    pub(super) fn note(&self, label: &str) -> Option<&'static str> {
        let mut found: Option<Range<usize>> = None;
        let mut at = 0;
        for part in self.notes.split(';') {
            let text = part.trim_start();
            let start = at + (part.len() - text.len());
            let end = at + part.len();
            at = end + 1;
            match &mut found {
                Some(range) if !is_labelled(text.trim_end()) => range.end = end,
                Some(_) => break,
                None if text.starts_with(label) => found = Some(start + label.len()..end),
                None => {}
            }
        }
        found.and_then(|range| self.notes.get(range)).map(str::trim)
    }
}

//! Small words that shade another: what part they play and how English says them.

use crate::kind::{Language, Part};

/// A small word that shades another.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Modifier {
    pub word: &'static str,
    pub language: Language,
    pub part: Part,
    /// English before a describing word ("very").
    pub before: &'static str,
    /// English after a process ("a great deal").
    pub after: &'static str,
    pub note: &'static str,
}

impl Modifier {
    /// Joins words without meaning anything alone.
    pub fn only_joins(&self) -> bool {
        matches!(
            self.part,
            Part::And
                | Part::But
                | Part::Or
                | Part::With
                | Part::Without
                | Part::Like
                | Part::Until
                | Part::Thing
        ) || matches!(self.before, "of" | "at the speed of")
    }

    /// A connector between two phrases.
    pub fn connects(&self) -> bool {
        matches!(self.part, Part::And | Part::But | Part::Or)
    }
}

//! Small words that shade another: what part they play and how English says them.

use super::columns;
use crate::kind::Language;

/// What a modifier does to the word beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    Degree,
    More,
    Less,
    NotMuch,
    Always,
    Suddenly,
    Gradually,
    Almost,
    Possible,
    And,
    But,
    Or,
    With,
    Without,
    Like,
    Not,
    Until,
    Thing,
    Other,
}

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
    pub(super) aliases: &'static str,
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

/// Reads one line of the table of modifiers.
pub(super) fn parse_modifier(line: &'static str) -> Option<Modifier> {
    let mut cells = columns(line)?;
    let word = cells.next()?;
    let language = Language::from_code(cells.next()?)?;
    let part = parse_part(cells.next()?)?;
    let before = cells.next()?;
    let after = cells.next()?;
    let aliases = cells.next().unwrap_or_default();
    let note = cells
        .next()
        .unwrap_or_default()
        .trim_start_matches("trap:")
        .trim();
    Some(Modifier {
        word,
        language,
        part,
        before,
        after,
        aliases,
        note,
    })
}

fn parse_part(name: &str) -> Option<Part> {
    Some(match name {
        "degree" => Part::Degree,
        "more" => Part::More,
        "less" => Part::Less,
        "notmuch" => Part::NotMuch,
        "always" => Part::Always,
        "suddenly" => Part::Suddenly,
        "gradually" => Part::Gradually,
        "almost" => Part::Almost,
        "possible" => Part::Possible,
        "and" => Part::And,
        "but" => Part::But,
        "or" => Part::Or,
        "with" => Part::With,
        "without" => Part::Without,
        "like" => Part::Like,
        "not" => Part::Not,
        "until" => Part::Until,
        "thing" => Part::Thing,
        "other" => Part::Other,
        _ => return None,
    })
}

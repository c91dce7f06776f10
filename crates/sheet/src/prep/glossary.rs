//! What do the words on this page mean?

use super::Gloss;
use crate::compose::{Composed, Say};
use survey::terms::PrintedAs;

/// The words in the order of the page, letters of dynamics after them.
pub(super) fn glossary(what: &Composed) -> Vec<Gloss> {
    let say = Say { piece: what.piece };
    let Some(answer) = &what.survey.terms else {
        return Vec::new();
    };
    let mut words: Vec<Gloss> = Vec::new();
    for term in &answer.terms {
        let mut meaning = term
            .meaning
            .clone()
            .unwrap_or_else(|| "not in the dictionary: ask your teacher".to_owned());
        for (_, meant) in &term.misspelt {
            meaning = format!("{meaning} (meant: {meant})");
        }
        words.push(Gloss {
            term: term.text.replace('\n', " "),
            meaning,
            bars: say.bars(term.bars.iter().copied()),
            dynamic: term.printed_as == PrintedAs::Dynamic && is_dynamic(&term.text),
        });
    }
    // Words before letters that every player knows: f and p go when room is short.
    words.sort_by_key(|gloss| gloss.dynamic);
    words
}

/// Letters that the music font has as signs.
fn is_dynamic(text: &str) -> bool {
    !text.is_empty()
        && text
            .chars()
            .all(|c| matches!(c, 'p' | 'm' | 'f' | 'r' | 's' | 'z' | 'n'))
}

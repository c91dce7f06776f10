//! Terms, in words.

use super::say::Say;
use crate::model::Section;
use crate::words::count;
use survey::terms::TermsAnswer;

pub(crate) fn section(answer: &TermsAnswer, say: Say) -> Section {
    if answer.terms.is_empty() {
        return Section::new("terms", "Terms", "No words on the page.");
    }
    let mut section = Section::new("terms", "Terms", count(answer.terms.len(), "term", "terms"));
    let rows = answer
        .terms
        .iter()
        .map(|term| {
            let mut meaning = term
                .meaning
                .clone()
                .unwrap_or_else(|| "not in the dictionary".to_owned());
            for (printed, meant) in &term.misspelt {
                meaning = format!("{meaning} (printed “{printed}”, meant {meant})");
            }
            // Letters such as p need no warning about the noun.
            let traps = if term.printed_as == survey::terms::PrintedAs::Dynamic {
                &[][..]
            } else {
                &term.traps[..]
            };
            for trap in traps {
                meaning = format!("{meaning}; mind: {trap}");
            }
            vec![term.text.clone(), say.few(term.bars.iter().copied()), meaning]
        })
        .collect();
    section.table("", &["", "", ""], rows);
    if !answer.unknown.is_empty() {
        let words: Vec<String> = answer
            .unknown
            .iter()
            .map(|word| format!("“{}”", word.word))
            .collect();
        let bars = say.places(answer.unknown.iter().map(|word| word.place));
        section.line(
            "unknown",
            format!("{} — ask your teacher", words.join(", ")),
            bars,
        );
    }
    section
}

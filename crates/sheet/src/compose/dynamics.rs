//! Dynamics, in words.

use super::say::Say;
use crate::model::Section;
use crate::words::count;
use survey::dynamics::DynamicsAnswer;

pub(crate) fn section(answer: &DynamicsAnswer, say: Say) -> Section {
    let mark = |index: Option<usize>| index.and_then(|i| answer.marks.get(i));
    let headline = match (mark(answer.softest), mark(answer.loudest)) {
        (Some(soft), Some(loud)) if soft.mark != loud.mark => format!("from {} to {}", soft.mark, loud.mark),
        (Some(only), _) => format!("{} throughout", only.mark),
        _ if answer.marks.is_empty() && answer.hairpins.is_empty() => "None printed.".to_owned(),
        _ => "No level printed.".to_owned(),
    };
    let mut section = Section::new("dynamics", "Dynamics", headline);
    if !answer.marks.is_empty() {
        let order: Vec<String> = answer
            .marks
            .iter()
            .map(|m| format!("{} {}", say.label(m.place.bar), m.mark))
            .collect();
        section.line("in order", shortened(&order), vec![]);
    }
    for (label, index) in [("loudest", answer.loudest), ("softest", answer.softest)] {
        if let Some(m) = mark(index) {
            section.line(label, m.mark.clone(), say.at(m.place));
        }
    }
    if !answer.hairpins.is_empty() {
        let text = format!(
            "{} over {}",
            count(answer.hairpins.len(), "hairpin", "hairpins"),
            count(answer.hairpin_bars.len(), "bar", "bars")
        );
        section.line("hairpins", text, say.bars(answer.hairpin_bars.iter().copied()));
    }
    for word in &answer.words {
        section.line(
            "words",
            format!("{}: {}", word.text, word.meaning),
            say.at(word.place),
        );
    }
    for sudden in &answer.sudden {
        let at = mark(Some(sudden.to)).map_or_else(Vec::new, |m| say.at(m.place));
        section.line("sudden", sudden.says(&answer.marks), at);
    }
    section.means(&answer.means);
    section
}

/// A long list by its first items.
fn shortened(items: &[String]) -> String {
    const MOST: usize = 24;
    if items.len() <= MOST {
        return items.join(", ");
    }
    format!("{} … and {} more", items[..MOST].join(", "), items.len() - MOST)
}

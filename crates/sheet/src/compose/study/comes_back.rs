//! What comes back, in words: how much is new, which bars are others and what differs, the form in letters.

use super::Told;
use crate::model::Section;
use load::alike::{LookAlike, Passage};
use notation::BarIndex;

/// Most rows: a long piece returns everywhere.
const MOST: usize = 24;

pub(super) fn section(told: Told) -> Option<Section> {
    let alike = &told.study.alike;
    if alike.bars_with_notes == 0 {
        return None;
    }
    let mut section = Section::new("comes-back", "It comes back", capital(&alike.summary));
    let form = &alike.form;
    if form.sections.len() > 1 {
        let said: Vec<String> = form
            .sections
            .iter()
            .map(|part| format!("{} {}", part.letter, told.say.run(part.bars.0, part.bars.1)))
            .collect();
        let by = if form.printed {
            "sections as printed"
        } else {
            "counted off; no sections are printed"
        };
        section.line("form", format!("{} ({by})", said.join(" · ")), vec![]);
    }
    let whole = |bar: BarIndex| {
        let within = |p: &Passage| (p.bars.0..=p.bars.1).contains(&bar);
        alike.passages.iter().any(within)
    };
    let mut rows: Vec<(BarIndex, String, String)> = alike
        .passages
        .iter()
        .map(|passage| {
            let words = passage.how.words(&range(told, passage), "bars");
            let words = words
                .strip_prefix("is ")
                .map_or_else(|| words.clone(), |rest| format!("are {rest}"));
            let within = |bar: BarIndex| (passage.bars.0..=passage.bars.1).contains(&bar);
            let differs = (alike.look_alikes.iter()).any(|a| within(a.bar) && !a.differences.is_empty());
            let but = if differs { ", but for what follows" } else { "" };
            let run = told.say.run(passage.bars.0, passage.bars.1);
            (passage.bars.0, run, format!("{words}{but}"))
        })
        .collect();
    let single = |alike: &&LookAlike| !alike.differences.is_empty() || !whole(alike.bar);
    rows.extend(
        alike
            .look_alikes
            .iter()
            .filter(single)
            .map(|alike| (alike.bar, told.say.bar(alike.bar), words(told, alike))),
    );
    rows.sort_by_key(|(bar, ..)| *bar);
    let more = rows.len().saturating_sub(MOST);
    for (_, label, text) in rows.into_iter().take(MOST) {
        section.line(&label, text, vec![]);
    }
    if more > 0 {
        section.line("", format!("and {more} more"), vec![]);
    }
    Some(section)
}

fn range(told: Told, passage: &Passage) -> String {
    let (from, to) = passage.like;
    format!("{}–{}", told.say.label(from), told.say.label(to))
}

/// `is bar 5 a third lower; the last note is F♮`.
fn words(told: Told, alike: &LookAlike) -> String {
    let mut said = vec![alike.how.words(&told.say.label(alike.like), "bar")];
    said.extend(alike.differences.iter().cloned());
    said.join("; ")
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars
        .next()
        .map(|first| first.to_uppercase().chain(chars).collect());
    first.unwrap_or_default()
}

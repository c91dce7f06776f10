//! What is in the bar? Its notes over their count, its signs, its words explained.

use super::{Here, Said, list, said};
use crate::hers;
use maud::{Markup, html};
use notation::{BarIndex, EventKind, Quarters};
use survey::metre::MetreAnswer;
use survey::rhythm::{CountAt, count_words};
use survey::terms::{PrintedAs, TermHere};

pub(super) fn in_it(here: &Here) -> Markup {
    let mut all = signs(here);
    all.extend(words(here));
    html! {
        section {
            h3 { "What is in it" }
            (counted(here))
            (list(&all))
            (hers::key_here(here.part, here.bar, &here.labels))
        }
    }
}

/// A note or rest, and the word that is said at it.
struct Column {
    offset: Quarters,
    name: String,
    word: String,
    /// The note, for the pencil.
    note: Option<String>,
}

/// Each note and rest over the word that is said at it.
fn counted(here: &Here) -> Markup {
    let Some(metre) = here.metre() else {
        return html! {};
    };
    let at = slow_or_not(metre, here.bar);
    let words = count_words(metre, here.bar, here.system(), at);
    let mut columns: Vec<Column> = Vec::new();
    for event in here.events.iter().filter(|event| !event.is_grace()) {
        let name = match &event.kind {
            EventKind::Rest { .. } => "rest".to_owned(),
            EventKind::Space => continue,
            EventKind::Chord(_) => event
                .top_pitch()
                .map_or_else(|| "×".to_owned(), |pitch| pitch.sign()),
        };
        match columns
            .iter_mut()
            .find(|column| column.offset == event.place.offset)
        {
            Some(column) => {
                column.name.push(' ');
                column.name.push_str(&name);
            }
            None => columns.push(Column {
                offset: event.place.offset,
                name,
                word: String::new(),
                note: event.is_note().then(|| event.id.to_string()),
            }),
        }
    }
    for word in words {
        match columns.iter_mut().find(|column| column.offset == word.offset) {
            Some(column) => column.word = word.text,
            None => columns.push(Column {
                offset: word.offset,
                name: String::new(),
                word: word.text,
                note: None,
            }),
        }
    }
    columns.sort_by_key(|column| column.offset);
    if columns.is_empty() {
        return html! {};
    }
    html! {
        ol class="counted" aria-label="Notes, and how to count them" {
            @for column in &columns {
                li {
                    @if let Some(note) = &column.note {
                        button type="button" class="name at-note" data-bar=(here.bar.0) data-note=(note) { (column.name) }
                    } @else {
                        span class="name" { @if column.name.is_empty() { "\u{a0}" } @else { (column.name) } }
                    }
                    span class="word" { @if column.word.is_empty() { "\u{a0}" } @else { (column.word) } }
                }
            }
        }
    }
}

/// A bar felt as one is counted in its written beats.
fn slow_or_not(metre: &MetreAnswer, bar: BarIndex) -> CountAt {
    match metre.grid(bar) {
        Some(grid) if grid.beats().len() < 2 => CountAt::Slow,
        _ => CountAt::Tempo,
    }
}

/// Key, dynamics, marks.
fn signs(here: &Here) -> Vec<Said> {
    let survey = here.survey;
    let mut all = Vec::new();
    if let Some(key) = &survey.key
        && let Some(region) = key
            .regions
            .iter()
            .find(|region| region.from <= here.bar && here.bar <= region.to)
    {
        let name = performance::ornament::LocalKey::from(region).name();
        let whose = if key.told_at(here.bar).is_some() {
            ", as the teacher says"
        } else {
            ""
        };
        all.push(said("key", format!("about here {name}{whose}")));
    }
    if let Some(accidentals) = &survey.accidentals {
        let altered: Vec<String> = accidentals
            .ledger
            .iter()
            .filter(|entry| here.has(entry.place) && !entry.hidden)
            .map(|entry| {
                let silent = if entry.carried {
                    ", without a sign of its own"
                } else {
                    ""
                };
                format!("{}{silent}", entry.written.sign_natural())
            })
            .collect();
        if !altered.is_empty() {
            all.push(said("altered", altered.join("; ")));
        }
    }
    if let Some(dynamics) = &survey.dynamics {
        for mark in dynamics.marks.iter().filter(|mark| here.has(mark.place)) {
            all.push(said("dynamics", format!("{}: {}", mark.text, mark.means)));
        }
        if dynamics.hairpin_bars.contains(&here.bar) {
            all.push(said("dynamics", "a hairpin".to_owned()));
        }
    }
    if let Some(articulation) = &survey.articulation {
        let marks = articulation.marks.iter().chain(&articulation.technical);
        for mark in marks.filter(|mark| mark.bars.contains(&here.bar)) {
            let means = if mark.means.is_empty() {
                String::new()
            } else {
                format!(": {}", mark.means)
            };
            all.push(said("marks", format!("{}{means}", mark.mark)));
        }
    }
    all
}

/// Words printed here, explained.
fn words(here: &Here) -> Vec<Said> {
    let Some(terms) = &here.survey.terms else {
        return Vec::new();
    };
    // Dynamic letters are explained with the dynamics.
    let is_word = |word: &&TermHere| word.printed_as != PrintedAs::Dynamic;
    let found = terms
        .all
        .iter()
        .filter(|word| here.has(word.place))
        .filter(is_word);
    found
        .filter_map(|word| {
            let term = terms.terms.get(word.term)?;
            let meaning = term
                .meaning
                .as_deref()
                .unwrap_or("no word of it is in the dictionary: ask");
            let mut text = format!("{}: {meaning}", word.text.replace('\n', " "));
            for more in term.traps.iter().chain(&term.advice) {
                text.push_str("; ");
                text.push_str(more);
            }
            Some(said("words", text))
        })
        .collect()
}

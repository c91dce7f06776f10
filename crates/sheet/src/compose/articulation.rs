//! Articulation, in words.

use super::say::Say;
use crate::model::Section;
use crate::words::count;
use survey::articulation::ArticulationAnswer;

/// Lists longer than this are told by their first members.
const MOST: usize = 5;

pub(crate) fn section(answer: &ArticulationAnswer, say: Say) -> Section {
    let kinds: Vec<String> = answer.marks.iter().map(|mark| mark.mark.clone()).collect();
    let total = answer.slurs.slurred + answer.slurs.separate;
    let share = |n: usize| {
        let per_cent = (n * 100 + total / 2).checked_div(total).unwrap_or(0);
        format!("{per_cent} %")
    };
    let headline = if kinds.is_empty() && answer.slurs.count == 0 {
        format!("No marks and no slurs: everything {}.", answer.separate.done())
    } else {
        let marks = if kinds.is_empty() {
            "no marks".to_owned()
        } else {
            kinds.join(", ")
        };
        format!(
            "{marks}; {}, {} of the notes {}",
            count(answer.slurs.count, "slur", "slurs"),
            share(answer.slurs.separate),
            answer.separate.done()
        )
    };
    let mut section = Section::new("articulation", "Articulation", headline);
    for mark in &answer.marks {
        let means = if mark.means.is_empty() {
            String::new()
        } else {
            format!(": {}", mark.means)
        };
        section.line(
            &mark.mark,
            format!("{}{means}", count(mark.count, "time", "times")),
            say.bars(mark.bars.iter().copied()),
        );
    }
    for mark in &answer.technical {
        let means = if mark.means.is_empty() {
            String::new()
        } else {
            format!(": {}", mark.means)
        };
        section.line(
            &mark.mark,
            format!("{}{means}", count(mark.count, "time", "times")),
            say.bars(mark.bars.iter().copied()),
        );
    }
    for word in &answer.words {
        section.line(
            "words",
            format!("{}: {}", word.text.replace('\n', " "), word.meaning),
            say.at(word.place),
        );
    }
    let mut contrasts: Vec<(String, Vec<notation::BarIndex>)> = Vec::new();
    for contrast in &answer.contrasts {
        let text = contrast.says();
        match contrasts.iter_mut().find(|(known, _)| *known == text) {
            Some((_, bars)) => bars.push(contrast.bar),
            None => contrasts.push((text, vec![contrast.bar])),
        }
    }
    contrasts.sort_by_key(|(_, bars)| std::cmp::Reverse(bars.len()));
    for (text, bars) in contrasts.into_iter().take(MOST) {
        section.line("contrast", text, say.bars(bars));
    }
    let mut patterns: Vec<(&str, usize, Vec<notation::BarIndex>)> = Vec::new();
    for pattern in &answer.patterns {
        match patterns.iter_mut().find(|(name, ..)| *name == pattern.name) {
            Some((_, times, bars)) => {
                *times += pattern.count;
                bars.extend(&pattern.bars);
            }
            None => patterns.push((&pattern.name, pattern.count, pattern.bars.clone())),
        }
    }
    for (name, times, bars) in patterns.into_iter().take(MOST) {
        section.line(
            "pattern",
            format!("{name}: {}", count(times, "group", "groups")),
            say.bars(bars),
        );
    }
    for run in answer.tongued_runs.iter().take(2) {
        let text = format!(
            "{} {} notes without a stop",
            run.notes,
            answer.separate.adjective()
        );
        section.line("long run", text, say.at(run.from.0));
    }
    section.means(&answer.means);
    section
}

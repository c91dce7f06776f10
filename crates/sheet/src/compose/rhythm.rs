//! Rhythm, in words.

use super::say::Say;
use crate::model::Section;
use crate::words::count;
use survey::rhythm::{RhythmAnswer, TieOver};

/// Figures listed; the rest are counted.
const MOST_FIGURES: usize = 12;

pub(crate) fn section(answer: &RhythmAnswer, say: Say) -> Section {
    let mut section = Section::new("rhythm", "Rhythm", answer.summary.clone());
    let figures: Vec<_> = answer.patterns.iter().filter(|p| !p.silent).collect();
    let rows = figures
        .iter()
        .take(MOST_FIGURES)
        .map(|p| {
            let slow = p
                .slow_counting
                .as_ref()
                .map_or_else(String::new, |s| format!(" (slowly: {s})"));
            vec![
                p.name.clone(),
                p.count.to_string(),
                say.bar(p.first.bar),
                format!("{}{slow}", p.counting),
            ]
        })
        .collect();
    section.table("figures", &["figure", "times", "first", "count"], rows);
    if figures.len() > MOST_FIGURES {
        let left = &figures[MOST_FIGURES..];
        let text = format!("{} more figures, each rarer", left.len());
        section.line("", text, say.places(left.iter().map(|p| p.first)));
    }
    if let Some(shortest) = answer.shortest() {
        section.line(
            "shortest",
            format!("{}: {}", shortest.name, count(shortest.count, "note", "notes")),
            say.at(shortest.first),
        );
    }
    for tuplet in &answer.tuplets {
        section.line(
            "tuplets",
            format!("{}: {}", tuplet.name, count(tuplet.count, "group", "groups")),
            say.bars(tuplet.bars.iter().copied()),
        );
    }
    for (label, over) in [
        ("ties over the beat", TieOver::Beat),
        ("ties over the bar line", TieOver::BarLine),
    ] {
        let places: Vec<_> = answer
            .ties
            .iter()
            .filter(|tie| tie.over == over)
            .map(|tie| tie.place)
            .collect();
        if !places.is_empty() {
            section.line(
                "ties",
                format!("{}: {}", label.trim_start_matches("ties "), places.len()),
                say.places(places),
            );
        }
    }
    let most: Vec<String> = answer
        .most_syncopated()
        .iter()
        .take(5)
        .filter_map(|bar| {
            Some(format!(
                "{} ({})",
                say.bar(bar.bar),
                bar.score.filter(|score| *score > 0)?
            ))
        })
        .collect();
    if !most.is_empty() {
        let text = format!("most in {}, by Longuet-Higgins & Lee 1984", most.join(", "));
        section.line("syncopation", text, vec![]);
    }
    for hemiola in &answer.hemiolas {
        section.line(
            "hemiola",
            hemiola.says.clone(),
            say.bars((hemiola.from.0..=hemiola.to.0).map(notation::BarIndex)),
        );
    }
    for slow in answer.slow_after_fast.iter().take(4) {
        section.line("don't rush", slow.says.clone(), say.at(slow.place));
    }
    let rests: Vec<_> = answer
        .rests_on_beats
        .iter()
        .filter(|r| r.entry.is_some())
        .map(|r| r.place)
        .collect();
    if !rests.is_empty() {
        section.line(
            "rest on the beat",
            "the entry comes after it: count the silent beat",
            say.places(rests),
        );
    }
    if !answer.division_changes.is_empty() {
        let places = answer.division_changes.iter().map(|d| d.place);
        section.line(
            "division",
            "the beat changes between two and three: keep its length",
            say.places(places),
        );
    }
    if let Some(run) = &answer.longest_run {
        section.line(
            "longest run",
            count(
                run.notes,
                "short note without a stop",
                "short notes without a stop",
            ),
            say.at(run.from_to.0),
        );
    }
    section
}

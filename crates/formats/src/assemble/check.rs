//! Do the bars add up? Each against its metre, with pickups and split bars understood; labels that come twice.

use super::Score;
use super::grid::{metre_of, part_name};
use crate::report::{in_words, number};
use notation::{BarIndex, Finding, Quarters, Severity};

/// Reports what does not add up, when the grid is settled.
pub(crate) fn check(score: &mut Score) {
    labels(score);
    add_up(score);
}

fn labels(score: &mut Score) {
    let mut seen = std::collections::BTreeMap::new();
    let mut twice = Vec::new();
    for (index, bar) in score.piece.bars.iter().enumerate() {
        if bar.implicit {
            continue;
        }
        if let Some(first) = seen.insert(bar.label.clone(), index) {
            twice.push((index, bar.label.clone(), first));
        }
    }
    for (index, label, first) in twice {
        let apart = index - first;
        let finding = Finding::new(
            Severity::Note,
            "bar-label-twice",
            format!("the label “{label}” is on another bar already, {apart} bars before"),
            "where two bars share a label, count from the start",
        );
        score
            .report
            .push(finding.at_bar(BarIndex::from_usize(index), label));
    }
}

/// Bars against their metre.
fn add_up(score: &mut Score) {
    let bars = score.piece.bars.len();
    if (0..bars).all(|bar| metre_of(score, bar).is_none()) {
        if score.piece.parts.iter().all(|part| part.metres.is_empty()) {
            score.report.push(Finding::new(
                Severity::Note,
                "no-metre",
                "the piece has no time signature; whether its bars add up is not known",
                "",
            ));
        }
        return;
    }
    let metres: Vec<Option<Quarters>> = (0..bars).map(|bar| metre_of(score, bar)).collect();
    let lengths: Vec<Quarters> = score.piece.bars.iter().map(|bar| bar.length).collect();
    let mut skip_next = false;
    for bar in 0..bars {
        let (Some(metre), Some(length)) = (metres.get(bar).copied().flatten(), lengths.get(bar).copied())
        else {
            continue;
        };
        if std::mem::take(&mut skip_next) {
            continue;
        }
        if length > metre {
            too_long(score, bar, length, metre);
        } else if length < metre {
            let next = lengths
                .get(bar + 1)
                .copied()
                .filter(|_| metres.get(bar + 1) == metres.get(bar));
            skip_next = too_short(score, bar, length, metre, next);
        }
        uneven_parts(score, bar, length, metre);
    }
}

fn at(score: &Score, bar: usize, finding: Finding) -> Finding {
    let index = BarIndex::from_usize(bar);
    finding.at_bar(index, score.piece.label(index).to_owned())
}

fn too_long(score: &mut Score, bar: usize, length: Quarters, metre: Quarters) {
    let long: Vec<String> = score
        .facts
        .iter()
        .enumerate()
        .filter(|(_, facts)| facts.get(bar).is_some_and(|bar| bar.content > metre))
        .map(|(index, _)| part_name(&score.piece, index))
        .collect();
    let all = long.len() == score.piece.parts.len();
    let implicit = score.piece.bars.get(bar).is_some_and(|bar| bar.implicit);
    let who = if all {
        String::new()
    } else {
        format!(" in {}", long.join(", "))
    };
    let severity = if implicit {
        Severity::Note
    } else {
        Severity::Caution
    };
    let what = format!(
        "the bar holds {}{who}, its metre {}",
        in_words(length),
        number(metre)
    );
    let mut finding = at(
        score,
        bar,
        Finding::new(severity, "bar-long", what, "count this bar by its notes"),
    );
    if let ([only], false) = (long.as_slice(), all) {
        finding = finding.in_part(only.clone());
    }
    score.report.push(finding);
}

/// Reports a bar shorter than its metre; true if the next bar is its other half.
fn too_short(
    score: &mut Score,
    bar: usize,
    length: Quarters,
    metre: Quarters,
    next: Option<Quarters>,
) -> bool {
    let this = score.piece.bars.get(bar);
    let implicit = this.is_some_and(|bar| bar.implicit);
    let bars = score.piece.bars.len();
    let note = |kind, what: String| Finding::new(Severity::Note, kind, what, "");
    let pickup = score.piece.bars.first().map_or(Quarters::ZERO, |bar| bar.length);
    let section_end = score
        .facts
        .iter()
        .filter_map(|facts| facts.get(bar))
        .any(|bar| bar.section_end);
    let after_section = bar > 0
        && score
            .facts
            .iter()
            .filter_map(|facts| facts.get(bar - 1))
            .any(|bar| bar.section_end);
    let next_implicit = score.piece.bars.get(bar + 1).is_some_and(|bar| bar.implicit);
    let halves = next.is_some_and(|next| next.is_positive() && length + next == metre);
    let (finding, with_next) = if bar == 0 && length.is_positive() {
        (
            note(
                "pickup",
                format!("the piece starts with a pickup of {}", in_words(length)),
            ),
            false,
        )
    } else if halves && (section_end || next_implicit || implicit) {
        (
            note(
                "split-bar",
                "this bar is split in two at the bar line inside it; both halves make one bar".to_owned(),
            ),
            true,
        )
    } else if bar + 1 == bars && length + pickup == metre {
        (
            note(
                "last-bar-short",
                format!("the last bar is shorter by the pickup, {}", in_words(pickup)),
            ),
            false,
        )
    } else if section_end || after_section {
        (
            note(
                "section-bar-short",
                format!(
                    "the bar at the edge of a section holds {} of {}",
                    number(length),
                    in_words(metre)
                ),
            ),
            false,
        )
    } else if implicit {
        (
            note(
                "uncounted-bar",
                format!("an uncounted bar holds {} of {}", number(length), in_words(metre)),
            ),
            false,
        )
    } else {
        let what = format!("the bar holds {}, its metre {}", in_words(length), number(metre));
        (
            Finding::new(
                Severity::Caution,
                "bar-short",
                what,
                "count this bar by its notes",
            ),
            halves,
        )
    };
    let finding = at(score, bar, finding);
    score.report.push(finding);
    with_next
}

/// Parts that end before the bar does although they have notes in it.
fn uneven_parts(score: &mut Score, bar: usize, length: Quarters, metre: Quarters) {
    for index in 0..score.facts.len() {
        let Some(fact) = score.facts.get(index).and_then(|facts| facts.get(bar)) else {
            continue;
        };
        let short = fact.content.is_positive() && fact.content < length && fact.whole_rest.is_none();
        let own = fact.metre.unwrap_or(metre);
        if !short || fact.content == own {
            continue;
        }
        let what = format!(
            "this part holds {} in a bar of {}",
            in_words(fact.content),
            number(length)
        );
        let finding = Finding::new(
            Severity::Caution,
            "part-bar-short",
            what,
            "check this bar against the page",
        );
        let finding = at(score, bar, finding).in_part(part_name(&score.piece, index));
        score.report.push(finding);
    }
}

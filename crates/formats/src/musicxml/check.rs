//! Do the bars add up? Lengths of the grid from all parts, whole-bar rests fitted to it, pickups and split bars understood.

use super::report::{in_words, number};
use super::score::Score;
use notation::{BarIndex, BarSide, Finding, Quarters, Severity};

/// Settles the grid when all parts are read, and reports what does not add up.
pub(super) fn finish(score: &mut Score) {
    let bars = score.piece.bars.len();
    for (index, facts) in score.facts.iter().enumerate() {
        let missing = bars - facts.len().min(bars);
        if missing > 0 {
            let name = part_name(&score.piece, index);
            let finding = Finding::new(
                Severity::Caution,
                "parts-differ",
                format!("this part ends after bar {} of {bars}", facts.len()),
                "look whether bars are missing at its end",
            );
            score.report.push(finding.in_part(name));
        }
    }
    lengths(score);
    fit_whole_rests(score);
    fit_places(score);
    let mut unclosed = Vec::new();
    for part in &mut score.piece.parts {
        for group in &mut part.bar_groups {
            if group.bars == u32::MAX {
                group.bars = u32::try_from(bars)
                    .unwrap_or(u32::MAX)
                    .saturating_sub(group.start.0)
                    .max(1);
                unclosed.push((part.name.clone(), group.start));
            }
        }
        part.index_bars(bars);
    }
    for (part, bar) in unclosed {
        let finding = Finding::new(
            Severity::Note,
            "bar-sign-open",
            "a measure repeat or slashes start here and are not ended; they were taken to last to the end",
            "",
        );
        let label = score.piece.label(bar).to_owned();
        score.report.push(finding.in_part(part).at_bar(bar, label));
    }
    score
        .piece
        .barlines
        .sort_by_key(|line| (line.place, side_order(line.side)));
    score.piece.sound_hints.sort_by_key(|hint| hint.place);
    labels(score);
    add_up(score);
}

fn part_name(piece: &notation::Piece, index: usize) -> String {
    let name = piece
        .parts
        .get(index)
        .map(|part| part.name.clone())
        .unwrap_or_default();
    if name.trim().is_empty() {
        format!("part {}", index + 1)
    } else {
        name
    }
}

const fn side_order(side: BarSide) -> u8 {
    match side {
        BarSide::Left => 0,
        BarSide::Middle => 1,
        BarSide::Right => 2,
    }
}

/// What the metre asks of a bar, by the first part that says.
fn metre_of(score: &Score, bar: usize) -> Option<Quarters> {
    score
        .facts
        .iter()
        .find_map(|facts| facts.get(bar).and_then(|bar| bar.metre))
}

/// The longest content of a bar over all parts.
fn content_of(score: &Score, bar: usize) -> Quarters {
    score
        .facts
        .iter()
        .filter_map(|facts| facts.get(bar))
        .map(|bar| bar.content)
        .max()
        .unwrap_or_default()
}

fn lengths(score: &mut Score) {
    for bar in 0..score.piece.bars.len() {
        let content = content_of(score, bar);
        let rests = score
            .facts
            .iter()
            .zip(&score.piece.parts)
            .filter_map(|(facts, part)| {
                let rest = facts.get(bar)?.whole_rest?;
                part.events.get(rest as usize).map(|event| event.duration)
            });
        let rest = rests.max();
        let metre = metre_of(score, bar);
        if let Some(this) = score.piece.bars.get_mut(bar) {
            this.length = bar_length(content, rest, metre, this.implicit || bar == 0);
        }
    }
}

/// How long a bar is: `content` is its longest voice without whole-bar rests, `rest` the longest of these as stated.
/// A `loose` bar is the first or an uncounted one.
fn bar_length(content: Quarters, rest: Option<Quarters>, metre: Option<Quarters>, loose: bool) -> Quarters {
    let Some(metre) = metre else {
        return content.max(rest.unwrap_or_default());
    };
    match rest {
        None if content.is_zero() => metre,
        None => content,
        // A pickup: the notes of another part say how long it is.
        Some(_) if loose && content.is_positive() => content,
        // Shorter on purpose: uncounted, or notes and rests agree on it.
        Some(rest) if rest.is_positive() && rest < metre && (loose || content == rest) => rest,
        Some(_) => content.max(metre),
    }
}

fn fit_whole_rests(score: &mut Score) {
    for (facts, part) in score.facts.iter().zip(&mut score.piece.parts) {
        for (index, fact) in facts.iter().enumerate() {
            let Some(event) = fact
                .whole_rest
                .and_then(|rest| part.events.get_mut(rest as usize))
            else {
                continue;
            };
            let Some(bar) = score.piece.bars.get(index) else {
                continue;
            };
            let stated = event.duration;
            event.duration = bar.length;
            if stated != bar.length && stated.is_positive() && fact.metre != Some(stated) {
                let finding = Finding::new(
                    Severity::Note,
                    "whole-bar-rest",
                    format!(
                        "a whole-bar rest lasts {} by the file; it was taken for the whole bar, {}",
                        in_words(stated),
                        number(bar.length)
                    ),
                    "",
                );
                let finding = finding.in_part(part.name.clone());
                score
                    .report
                    .push(finding.at_bar(BarIndex::from_usize(index), bar.label.clone()));
            }
        }
    }
}

/// Brings right bar lines to the end of their bar, and signs past the end back to it.
fn fit_places(score: &mut Score) {
    let bars = &score.piece.bars;
    let length = |bar: BarIndex| bars.get(bar.get()).map(|bar| bar.length);
    for line in &mut score.piece.barlines {
        if let Some(length) = length(line.place.bar)
            && (line.side == BarSide::Right || line.place.offset > length)
        {
            line.place.offset = length;
        }
    }
    let fit = |place: &mut notation::Place| {
        if let Some(length) = length(place.bar)
            && place.offset > length
        {
            place.offset = length;
        }
    };
    score
        .piece
        .sound_hints
        .iter_mut()
        .for_each(|hint| fit(&mut hint.place));
    for part in &mut score.piece.parts {
        part.directions
            .iter_mut()
            .for_each(|direction| fit(&mut direction.place));
        for span in &mut part.spans {
            for anchor in [&mut span.start, &mut span.end].into_iter().flatten() {
                fit(&mut anchor.place);
            }
        }
        part.clefs.iter_mut().for_each(|change| fit(&mut change.place));
        part.keys.iter_mut().for_each(|change| fit(&mut change.place));
        part.metres.iter_mut().for_each(|change| fit(&mut change.place));
        part.transpositions
            .iter_mut()
            .for_each(|change| fit(&mut change.place));
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_whole_bar_rest_takes_the_bar() {
        let q = Quarters::whole;
        let length =
            |content, rest: Option<i64>, loose| bar_length(q(content), rest.map(q), Some(q(3)), loose);
        assert_eq!(length(3, None, false), q(3));
        assert_eq!(
            length(0, None, false),
            q(3),
            "an empty bar takes the metre's length"
        );
        assert_eq!(
            length(0, Some(4), false),
            q(3),
            "a whole rest of four in three-four"
        );
        assert_eq!(
            length(2, Some(3), false),
            q(3),
            "the notes of another part are short"
        );
        assert_eq!(length(1, Some(1), false), q(1), "half of a split bar");
        assert_eq!(length(1, Some(3), true), q(1), "a pickup in another part");
        assert_eq!(length(0, Some(1), true), q(1));
        assert_eq!(bar_length(q(2), Some(q(5)), None, false), q(5));
    }
}

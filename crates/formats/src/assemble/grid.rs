//! How long is each bar of the grid? Settled from all parts when they are read: whole-bar rests, places and groups fitted to it.

use super::Score;
use crate::report::{in_words, number};
use notation::{
    BarGroupKind, BarIndex, BarSide, Event, EventKind, Finding, Part, Piece, Place, Quarters, Severity,
};

/// Settles the grid.
pub(crate) fn settle(score: &mut Score) {
    missing_bars(score);
    lengths(score);
    fit_whole_rests(score);
    fit_places(score);
    let bars = score.piece.bars.len();
    for part in &mut score.piece.parts {
        part.index_bars(bars);
        give_back_room(&mut part.events);
    }
    fit_groups(score);
    score
        .piece
        .barlines
        .sort_by_key(|line| (line.place, line.side != BarSide::Left));
    score.piece.sound_hints.sort_by_key(|hint| hint.place);
}

/// A list that has grown holds up to twice its length; of a very long part that is much memory.
fn give_back_room(events: &mut Vec<Event>) {
    if events.capacity() - events.len() > 4_096 {
        events.shrink_to_fit();
    }
}

/// How a part is called in messages.
pub(crate) fn part_name(piece: &Piece, index: usize) -> String {
    piece
        .parts
        .get(index)
        .map_or_else(String::new, |part| shown_name(part, index))
}

fn shown_name(part: &Part, index: usize) -> String {
    if part.name.trim().is_empty() {
        format!("part {}", index + 1)
    } else {
        part.name.clone()
    }
}

/// What the metre asks of a bar, by the first part that says.
pub(crate) fn metre_of(score: &Score, bar: usize) -> Option<Quarters> {
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

fn missing_bars(score: &mut Score) {
    let bars = score.piece.bars.len();
    for (index, facts) in score
        .facts
        .iter()
        .enumerate()
        .filter(|(_, facts)| facts.len() < bars)
    {
        let finding = Finding::new(
            Severity::Caution,
            "parts-differ",
            format!("this part ends after bar {} of {bars}", facts.len()),
            "look whether bars are missing at its end",
        );
        score.report.push(finding.in_part(part_name(&score.piece, index)));
    }
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
        let mut facts = score.facts.iter().filter_map(|facts| facts.get(bar));
        let beside = facts.any(|bar| bar.whole_rest.is_some() && bar.content.is_positive());
        if let Some(this) = score.piece.bars.get_mut(bar) {
            this.length = bar_length(content, rest, metre, is_loose(this.implicit, bar, beside));
        }
    }
}

/// Whether a bar may be shorter than its metre without being called wrong: an uncounted one, and the first. Not the first if notes of
/// the same part stand `beside` a whole bar's rest: a part that begins with a pickup writes no whole rest under it.
pub(crate) fn is_loose(implicit: bool, bar: usize, beside: bool) -> bool {
    implicit || bar == 0 && !beside
}

/// How long a bar is: `content` is its longest voice without whole-bar rests, `rest` the longest of these as stated.
/// A `loose` bar is one that [`is_loose`].
pub(crate) fn bar_length(
    content: Quarters,
    rest: Option<Quarters>,
    metre: Option<Quarters>,
    loose: bool,
) -> Quarters {
    let Some(metre) = metre else {
        return content.max(rest.unwrap_or_default());
    };
    match rest {
        None if content.is_zero() => metre,
        None => content,
        // A pickup: the notes of another part say how long it is, unless a rest was made shorter than the metre for it.
        Some(rest) if loose && content.is_positive() => {
            if rest < metre {
                content.max(rest)
            } else {
                content
            }
        }
        // Shorter on purpose: uncounted, or notes and rests agree on it.
        Some(rest) if rest.is_positive() && rest < metre && (loose || content == rest) => rest,
        Some(_) => content.max(metre),
    }
}

fn fit_whole_rests(score: &mut Score) {
    for (nth, (facts, part)) in score.facts.iter().zip(&mut score.piece.parts).enumerate() {
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
                let finding = finding.in_part(shown_name(part, nth));
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
    let fit = |place: &mut Place| {
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

/// Closes what is still open at the end, keeps groups inside the grid, and looks into multi-bar rests.
fn fit_groups(score: &mut Score) {
    let bars = u32::try_from(score.piece.bars.len()).unwrap_or(u32::MAX);
    let mut said: Vec<(usize, BarIndex, &'static str, &'static str)> = Vec::new();
    for (index, part) in score.piece.parts.iter_mut().enumerate() {
        let mut groups = std::mem::take(&mut part.bar_groups);
        for group in &mut groups {
            let left = bars.saturating_sub(group.start.0).max(1);
            if group.bars == u32::MAX {
                group.bars = left;
                let what = "a measure repeat or slashes start here and are not ended; they were taken to last to the end";
                said.push((index, group.start, "bar-sign-open", what));
            } else if group.bars > left {
                group.bars = left;
                let what = "a rest of several bars starts here that is longer than the piece";
                said.push((index, group.start, "multi-rest-contradicts", what));
            }
            let sounds = |bar: u32| {
                part.bar_events(BarIndex(bar))
                    .iter()
                    .any(|e| matches!(e.kind, EventKind::Chord(_)) && !e.cue)
            };
            let end = group.start.0.saturating_add(group.bars.min(1_000));
            if group.kind == BarGroupKind::MultiRest && (group.start.0..end).any(sounds) {
                let what = "a rest of several bars starts here, but there are notes in these bars";
                said.push((index, group.start, "multi-rest-contradicts", what));
            }
        }
        part.bar_groups = groups;
    }
    for (index, bar, kind, what) in said {
        let severity = if kind == "bar-sign-open" {
            Severity::Note
        } else {
            Severity::Caution
        };
        let advice = if kind == "bar-sign-open" {
            ""
        } else {
            "count the bars on the page"
        };
        let finding = Finding::new(severity, kind, what, advice).in_part(part_name(&score.piece, index));
        let label = score.piece.label(bar).to_owned();
        score.report.push(finding.at_bar(bar, label));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_first_bar_with_a_whole_rest_beside_its_notes_is_no_pickup() {
        assert!(is_loose(false, 0, false) && is_loose(true, 7, false) && is_loose(true, 0, true));
        assert!(!is_loose(false, 0, true) && !is_loose(false, 7, false));
    }

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
        assert_eq!(
            length(1, Some(2), true),
            q(2),
            "two quarters of pickup, the second of them silent"
        );
        assert_eq!(length(2, Some(1), true), q(2));
        assert_eq!(length(0, Some(1), true), q(1));
        assert_eq!(bar_length(q(2), Some(q(5)), None, false), q(5));
    }
}

//! Into which groups do uneven metres fall? 7/8 as 2+2+3 or 3+2+2, 5/4 as 3+2 or 2+3, shown by the notation.
//!
//! Printed groups decide; else what the bars show: dashed bar lines inside them, where beams start and what they
//! run across, notes held across, accents. Without any of it the usual division is taken and said to be a guess.

use crate::Context;
use crate::rhythm::voice::{MainVoice, beam};
use notation::{ArticulationKind, BarIndex, BarSide, Beam, MetrePart, Quarters, Rational};
use std::collections::BTreeMap;

/// How a metre's grouping is known.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum GroupedBy {
    /// The metre itself prints it (3+2/8).
    Printed,
    /// Beams, held notes and accents show it in most bars.
    Notation,
    /// Nothing shows it: the usual division.
    Custom,
}

/// The groups of an uneven metre.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Grouping {
    /// Written beats in each group.
    pub groups: Vec<u16>,
    /// How it is known.
    pub by: GroupedBy,
    /// Bars that show it.
    pub shown_in: usize,
    /// Bars that clearly show another grouping, with it.
    pub other: BTreeMap<BarIndex, Vec<u16>>,
}

impl Grouping {
    /// As it is said: `2+2+3`.
    #[must_use]
    pub fn says(&self) -> String {
        say(&self.groups)
    }
}

/// `2+2+3`.
pub(super) fn say(groups: &[u16]) -> String {
    groups.iter().map(u16::to_string).collect::<Vec<_>>().join("+")
}

/// True where the written beats don't divide evenly into beats: neither threes nor, in quarters and longer, fours.
pub(super) fn is_uneven(part: &MetrePart) -> bool {
    let beats = part.beats();
    let fours = beats.is_multiple_of(4) && part.beat_type <= 4;
    beats >= 5 && !beats.is_multiple_of(3) && !fours
}

/// Groups that are counted: 4 and more fall into twos and threes.
fn counted(groups: &[u16]) -> Vec<u16> {
    let mut counted = Vec::new();
    for group in groups {
        match group {
            4 => counted.extend([2, 2]),
            n if *n > 4 => counted.extend(usual(*n)),
            n => counted.push(*n),
        }
    }
    counted
}

/// The usual division into twos and threes: 3+2, 2+2+3, 3+3+2. Source: common practice.
fn usual(beats: u16) -> Vec<u16> {
    match beats {
        0 => Vec::new(),
        5 => vec![3, 2],
        7 => vec![2, 2, 3],
        8 => vec![3, 3, 2],
        10 => vec![3, 3, 2, 2],
        11 => vec![3, 3, 3, 2],
        n if n % 3 == 0 => vec![3; usize::from(n / 3)],
        n if n % 3 == 2 => [vec![3; usize::from(n / 3)], vec![2]].concat(),
        n if n >= 4 => [vec![2, 2], vec![3; usize::from((n - 4) / 3)]].concat(),
        n => vec![n],
    }
}

/// Every way to make up a number of twos and threes, usual one first; long metres are not searched.
fn candidates(beats: u16) -> Vec<Vec<u16>> {
    let mut found = vec![usual(beats)];
    if beats <= 13 {
        let mut open: Vec<(Vec<u16>, u16)> = vec![(Vec::new(), beats)];
        while let Some((groups, left)) = open.pop() {
            match left {
                0 if !found.contains(&groups) => found.push(groups),
                0 | 1 => {}
                _ => {
                    open.push(([groups.as_slice(), &[2]].concat(), left - 2));
                    if left > 2 {
                        open.push(([groups.as_slice(), &[3]].concat(), left - 3));
                    }
                }
            }
        }
    }
    found
}

/// The grouping of an uneven metre over the bars in which it is in force.
pub(super) fn grouping(
    ctx: &Context,
    voice: &MainVoice,
    part: &MetrePart,
    bars: &[BarIndex],
) -> Option<Grouping> {
    let beats = part.beats();
    if part.groups.len() > 1 {
        let groups = counted(&part.groups);
        return Some(Grouping {
            groups,
            by: GroupedBy::Printed,
            shown_in: bars.len(),
            other: BTreeMap::new(),
        });
    }
    if !is_uneven(part) || beats > 64 {
        return None;
    }
    let unit = Rational::new(4, i64::from(part.beat_type));
    let votes: Vec<(BarIndex, Vec<f64>)> = bars
        .iter()
        .filter(|bar| {
            ctx.piece
                .bars
                .get(bar.get())
                .is_some_and(|bar| bar.length == part.length())
        })
        .map(|bar| (*bar, boundary_votes(ctx, voice, *bar, unit, beats)))
        .collect();
    let candidates = candidates(beats);
    let mut total = vec![0.0; usize::from(beats)];
    for (_, vote) in &votes {
        for (sum, value) in total.iter_mut().zip(vote) {
            *sum += value;
        }
    }
    let (groups, best) = best(&candidates, &total)?;
    let shown = |vote: &[f64]| score(&groups, vote) > 0.0;
    let shown_in = votes.iter().filter(|(_, vote)| shown(vote)).count();
    let by = if best > 0.0 && shown_in > 0 {
        GroupedBy::Notation
    } else {
        GroupedBy::Custom
    };
    let mut other = BTreeMap::new();
    for (bar, vote) in &votes {
        if let Some((its, value)) = self::best(&candidates, vote)
            && its != groups
            && value >= score(&groups, vote) + 1.0
        {
            other.insert(*bar, its);
        }
    }
    Some(Grouping {
        groups,
        by,
        shown_in,
        other,
    })
}

/// The first of the groupings with the best score; the usual one stands first and wins ties.
fn best(candidates: &[Vec<u16>], votes: &[f64]) -> Option<(Vec<u16>, f64)> {
    let mut best: Option<(&Vec<u16>, f64)> = None;
    for groups in candidates {
        let value = score(groups, votes);
        if best.is_none_or(|(_, so_far)| value > so_far + 1e-9) {
            best = Some((groups, value));
        }
    }
    best.map(|(groups, value)| (groups.clone(), value))
}

/// The votes for a grouping's inner boundaries, as a mean, so that many small groups gain nothing by their number.
fn score(groups: &[u16], votes: &[f64]) -> f64 {
    let mut at = 0usize;
    let mut sum = 0.0;
    let mut count = 0.0;
    for group in groups.iter().take(groups.len().saturating_sub(1)) {
        at += usize::from(*group);
        sum += votes.get(at).copied().unwrap_or(0.0);
        count += 1.0;
    }
    if count > 0.0 { sum / count } else { 0.0 }
}

/// For each written beat of a bar: how strongly the notation starts a group there (+) or runs across it (−).
fn boundary_votes(ctx: &Context, voice: &MainVoice, bar: BarIndex, unit: Quarters, beats: u16) -> Vec<f64> {
    let end = unit * Rational::whole(i64::from(beats));
    let mut votes = vec![0.0; usize::from(beats)];
    let mut vote = |offset: Quarters, value: f64| {
        let at = offset / unit;
        if at.is_whole()
            && let Some(slot) = usize::try_from(at.num()).ok().and_then(|at| votes.get_mut(at))
        {
            *slot += value;
        }
    };
    let mut in_beam = false;
    for item in &voice.bar(bar).items {
        let joined = beam(ctx.part, item);
        match joined {
            Some(Beam::Begin) => vote(item.offset, 1.0),
            Some(Beam::Continue | Beam::End) if in_beam => vote(item.offset, -1.0),
            _ if item.sounds() => vote(item.offset, 0.25),
            _ => {}
        }
        in_beam = matches!(joined, Some(Beam::Begin | Beam::Continue))
            || in_beam && !matches!(joined, Some(Beam::End));
        if item.sounds() && item.duration > unit {
            // Longer notes mark where groups start, and are seldom held across a boundary.
            vote(item.offset, 0.25);
            let mut across = item.offset + unit;
            while across < item.end().min(end) {
                vote(across, -0.75);
                across += unit;
            }
        }
        let accented = item
            .event
            .and_then(|index| ctx.part.events.get(index))
            .is_some_and(|event| {
                event.articulations.iter().any(|mark| {
                    matches!(
                        mark.kind,
                        ArticulationKind::Accent | ArticulationKind::Marcato | ArticulationKind::SoftAccent
                    )
                })
            });
        if accented {
            vote(item.offset, 0.75);
        }
    }
    let first = ctx.piece.barlines.partition_point(|line| line.place.bar < bar);
    for line in ctx
        .piece
        .barlines
        .iter()
        .skip(first)
        .take_while(|line| line.place.bar == bar)
    {
        if line.side == BarSide::Middle {
            vote(line.place.offset, 4.0);
        }
    }
    votes
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    fn of(text: &str) -> Grouping {
        let piece = sketch(text).unwrap();
        let ctx = Context::new(&piece, 0).unwrap();
        let voice = MainVoice::read(&ctx);
        let bars: Vec<BarIndex> = (0..piece.bars.len()).map(BarIndex::from_usize).collect();
        grouping(&ctx, &voice, &piece.parts[0].metres[0].value.parts[0], &bars).unwrap()
    }

    #[test]
    fn beams_show_the_groups() {
        let long_first = "[ C5/e C5/e C5/e ] [ C5/e C5/e ] [ C5/e C5/e ]";
        let found = of(&format!("metre:7/8 {long_first} | {long_first} |"));
        assert_eq!(
            (found.groups.as_slice(), found.by),
            ([3, 2, 2].as_slice(), GroupedBy::Notation)
        );
        let long_last = "[ C5/e C5/e ] [ C5/e C5/e ] [ C5/e C5/e C5/e ]";
        let found = of(&format!("metre:7/8 {long_last} | {long_last} | {long_first} |"));
        assert_eq!(found.says(), "2+2+3");
        assert_eq!(found.other.get(&BarIndex(2)), Some(&vec![3, 2, 2]));
    }

    #[test]
    fn held_notes_and_accents_show_the_groups_of_five() {
        assert_eq!(of("metre:5/4 C5/h. C5/h | C5/h. C5/q C5/q |").says(), "3+2");
        assert_eq!(of("metre:5/4 C5/h C5/h. | C5/q C5/q C5/h. |").says(), "2+3");
        let accents = of("metre:5/4 C5/q!accent C5/q C5/q!accent C5/q C5/q |");
        assert_eq!(
            (accents.says().as_str(), accents.by),
            ("2+3", GroupedBy::Notation)
        );
    }

    #[test]
    fn printed_groups_decide_and_nothing_shown_is_a_guess() {
        assert_eq!(of("metre:2+3/8 C5/q C5/q. |").by, GroupedBy::Printed);
        let guess = of("metre:7/8 r/e r/e r/e r/e r/e r/e r/e |");
        assert_eq!((guess.says().as_str(), guess.by), ("2+2+3", GroupedBy::Custom));
    }

    #[test]
    fn every_candidate_makes_up_the_bar() {
        for beats in [5u16, 7, 8, 10, 11, 13, 17, 23] {
            for groups in candidates(beats) {
                assert_eq!(groups.iter().sum::<u16>(), beats, "{groups:?}");
                assert!(groups.iter().all(|group| *group == 2 || *group == 3));
            }
        }
        assert_eq!(candidates(7).len(), 3);
        assert_eq!(candidates(8).len(), 4);
    }
}

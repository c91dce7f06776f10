//! How does an unfolding come about? Signs gathered, endings and repeats paired, jumps resolved, the road walked.

use super::endings;
use super::grid::Grid;
use super::jumps::Route;
use super::listed::Listed;
use super::repeats::{self, Block};
use super::report::Report;
use super::sections;
use super::signs::{Signs, What};
use super::unfolding::{Ending, RepeatPassage, Unfolding, WrittenJump};
use super::walk::{self, Road, Walked};
use super::{RepeatsAfterJump, RoadOptions};
use notation::{BarIndex, Piece, Place, Quarters, Severity};
use std::collections::BTreeMap;

pub(super) fn build(piece: &Piece, options: RoadOptions) -> Unfolding {
    let grid = Grid::new(piece);
    let mut signs = Signs::gather(piece, &grid);
    times_in_words(&mut signs);
    let mut report = Report::new(piece);
    let mut route = Route::placed(&signs, &grid, &mut report);
    let listed = Listed::of(piece, &grid);
    if let Some(listed) = &listed {
        listed.wall(&mut route.walls, &grid);
    }
    let mut voltas = endings::voltas(&signs, &grid, &mut report);
    let blocks = repeats::blocks(&signs, &route.walls, &mut voltas, &grid, &mut report);
    let units = units(&signs, &blocks);
    route.resolve(piece, &signs, &grid, &units, &mut report);
    disagreeing_parts(piece, &signs, &grid, &mut report);
    let road = Road {
        grid: &grid,
        blocks: &blocks,
        voltas: &voltas,
        route: &route,
        listed: listed.as_ref(),
        options,
    };
    let mut walked = walk::walk(&road);
    count_passes(&mut walked);
    let never_played = never_played(piece, &walked);
    after_the_walk(&road, &walked, &never_played, piece, &mut report);

    let jump_places: Vec<Place> = route.jumps.iter().map(|jump| jump.at).collect();
    let sections = sections::sections(&signs, &blocks, &jump_places, &route.codas, &grid);
    let mut findings = report.findings;
    findings.sort_by_key(|finding| (finding.bar, finding.offset));
    let mut onsets = vec![Quarters::ZERO];
    for played in &walked.played {
        let last = onsets.last().copied().unwrap_or_default();
        onsets.push(last + played.length());
    }
    walked.skipped_repeats.sort_unstable();
    walked.skipped_repeats.dedup();
    let taken = walked.taken.iter().copied().chain(std::iter::repeat(0));
    Unfolding {
        onsets,
        repeats: passages(&blocks, &voltas),
        jumps: route
            .jumps
            .iter()
            .zip(taken)
            .map(|(jump, taken)| written(jump, taken))
            .collect(),
        fines: route.fines.iter().map(|fine| fine.at).collect(),
        codas: route
            .leaves
            .iter()
            .map(|leave| (leave.at, leave.target))
            .collect(),
        endings: voltas
            .into_iter()
            .map(|v| Ending {
                start: v.start,
                end: v.end,
                passes: v.passes,
                printed: v.printed,
                repeats: v.repeats,
            })
            .collect(),
        sections,
        played: walked.played,
        leaps: walked.leaps,
        ends_at: walked.ends_at,
        skipped_repeats: walked.skipped_repeats,
        never_played,
        findings,
    }
}

/// `Play 4 times` stands for `times` at the end-repeat that follows, where the source gives no number.
fn times_in_words(signs: &mut Signs) {
    for mark in &signs.marks {
        let What::Times(times) = mark.what else { continue };
        let next = signs
            .ends
            .partition_point(|end| end.at <= Place::start_of(mark.place.bar));
        if let Some(end) = signs.ends.get_mut(next) {
            end.times = end.times.or(Some(times));
        }
    }
}

/// Where the strains of the piece end: at the end of every repeated passage, and where an unrepeated one before it does.
fn units(signs: &Signs, blocks: &[Block]) -> Vec<Place> {
    let mut units: Vec<Place> = Vec::new();
    let mut from = Place::default();
    for block in blocks.iter().filter(|block| !block.ends.is_empty()) {
        if block.start > from && signs.start_from(block.start) == Some(block.start) {
            units.push(block.start);
        }
        units.push(block.end);
        from = block.end;
    }
    units.sort();
    units.dedup();
    units
}

fn passages(blocks: &[Block], voltas: &[endings::Volta]) -> Vec<RepeatPassage> {
    let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (index, volta) in voltas.iter().enumerate() {
        if let Some(block) = volta.block {
            members.entry(block).or_default().push(index);
        }
    }
    let passage = |(index, block): (usize, &Block)| RepeatPassage {
        start: block.start,
        end: block.end,
        times: block.total,
        printed_start: block.printed_start,
        endings: members.get(&index).cloned().unwrap_or_default(),
    };
    blocks.iter().enumerate().map(passage).collect()
}

fn written(jump: &super::jumps::Jump, taken: u32) -> WrittenJump {
    WrittenJump {
        kind: jump.kind,
        at: jump.at,
        target: jump.target,
        until: jump.until,
        words: jump.words.clone(),
        hint: jump.sound,
        repeats: jump.tail.repeats,
        element: jump.element,
        parts: jump.parts.clone(),
        taken,
    }
}

/// Numbers each playing of the same stretch of a bar.
fn count_passes(walked: &mut Walked) {
    let mut seen: BTreeMap<BarIndex, Vec<(Quarters, Quarters, u32)>> = BTreeMap::new();
    for played in &mut walked.played {
        let stretches = seen.entry(played.bar).or_default();
        let overlapping = stretches
            .iter()
            .filter(|(from, to, _)| *from < played.to && played.from < *to);
        played.pass = overlapping
            .map(|(_, _, pass)| *pass)
            .max()
            .map_or(1, |pass| pass.saturating_add(1));
        match stretches
            .iter_mut()
            .find(|(from, to, _)| *from == played.from && *to == played.to)
        {
            Some(known) => known.2 = played.pass,
            None => stretches.push((played.from, played.to, played.pass)),
        }
    }
}

fn never_played(piece: &Piece, walked: &Walked) -> Vec<BarIndex> {
    let mut played = vec![false; piece.bars.len()];
    for bar in &walked.played {
        if let Some(slot) = played.get_mut(bar.bar.get()) {
            *slot = true;
        }
    }
    played
        .iter()
        .enumerate()
        .filter(|(_, played)| !**played)
        .map(|(index, _)| BarIndex::from_usize(index))
        .collect()
}

/// Repeat signs that some parts print and others do not.
fn disagreeing_parts(piece: &Piece, signs: &Signs, grid: &Grid, report: &mut Report) {
    let all = piece.parts.len();
    let some = |parts: &[usize]| {
        let mut distinct = parts.to_vec();
        distinct.sort_unstable();
        distinct.dedup();
        distinct.len() < all
    };
    let what = "this repeat sign does not stand in every part";
    let advice = "it is taken to hold for everybody; pencil it into the other parts";
    for start in signs.starts.iter().filter(|start| some(&start.parts)) {
        report.opens(Severity::Note, "repeat-in-some-parts", start.at, what, advice);
    }
    for end in signs.ends.iter().filter(|end| some(&end.parts)) {
        report.closes(grid, Severity::Note, "repeat-in-some-parts", end.at, what, advice);
    }
}

fn after_the_walk(road: &Road, walked: &Walked, never: &[BarIndex], piece: &Piece, report: &mut Report) {
    if road.listed.is_some() {
        Listed::tell(piece, road.route.jumps.len(), report);
    }
    if walked.endless {
        let what = "the repeats and jumps never come to an end";
        let advice = "cut off after a hundred thousand bars; check the numbers of times at the repeats";
        report.whole(Severity::Problem, "road-map-endless", what, advice);
    }
    for (jump, taken) in road.route.jumps.iter().zip(&walked.taken) {
        if *taken == 0 && road.listed.is_none() {
            let what = format!(
                "this {} is never reached, or leads nowhere",
                jump.kind.abbreviation()
            );
            let advice = "check the signs before it";
            report.closes(
                road.grid,
                Severity::Caution,
                "jump-never-taken",
                jump.at,
                &what,
                advice,
            );
        }
    }
    for jump in walked
        .went_on
        .iter()
        .filter_map(|index| road.route.jumps.get(*index))
    {
        let what = format!("the page goes on after the {}", jump.kind.abbreviation());
        let advice = "taken for the next movement, played after the end of this one";
        report.closes(
            road.grid,
            Severity::Note,
            "goes-on-after-jump",
            jump.at,
            &what,
            advice,
        );
    }
    if !walked.skipped_repeats.is_empty() && road.options.repeats_after_jump == RepeatsAfterJump::No {
        let said = road
            .route
            .jumps
            .iter()
            .any(|jump| jump.tail.repeats == Some(false));
        let what = if said {
            "repeats are not taken again after the jump, as the words say"
        } else {
            "repeats are not taken again after the jump and the last ending is played: the modern custom"
        };
        let advice = if said {
            ""
        } else {
            "in 18th-century music many took them; ask for repeats after the jump if you do"
        };
        report.whole(Severity::Note, "repeats-after-jump", what, advice);
    }
    // Runs of bars that are never played, one finding each.
    let mut rest = never;
    while let Some(first) = rest.first() {
        let run = rest
            .iter()
            .zip(first.0..)
            .take_while(|(bar, expected)| bar.0 == *expected)
            .count();
        let last = rest.get(run.saturating_sub(1)).unwrap_or(first);
        let what = if run > 1 {
            format!(
                "bars {} to {} are never played",
                piece.label(*first),
                piece.label(*last)
            )
        } else {
            "this bar is never played".to_owned()
        };
        let advice = "check the endings and jumps round it";
        report.opens(
            Severity::Caution,
            "bar-never-played",
            Place::start_of(*first),
            &what,
            advice,
        );
        rest = rest.get(run.max(1)..).unwrap_or(&[]);
    }
}

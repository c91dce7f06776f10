//! Can it be practised so? Spots, the first tempo, the ladder, levels, phrases, look-alikes.

use super::{index, list, number, text};
use crate::case::Case;
use crate::notes;
use serde_json::Value;
use std::collections::BTreeSet;
use terms::tempo::METRONOME_MARKS;

pub(super) fn spots_are_short_and_ranked(case: &Case, faults: &mut Vec<String>) {
    let spots = list(&case.json, "trouble_spots");
    let mut taken = BTreeSet::new();
    for (rank, spot) in spots.iter().enumerate() {
        let (from, to) = (index(spot, "from_bar_index"), index(spot, "to_bar_index"));
        let mut ask = |holds: bool, what: &str| {
            faults.extend((!holds).then(|| format!("spot {rank}: {what}")));
        };
        ask(from <= to && to - from < 4, "not one to four bars");
        ask((from..=to).all(|bar| taken.insert(bar)), "overlaps another");
        ask(
            (spot["slowly_first"] == true) == (rank < 3),
            "the first three are read slowly first",
        );
        ask(
            !list(spot, "reasons").is_empty() && !text(spot, "suggestion").is_empty(),
            "nothing said",
        );
        let into = &spot["into"];
        ask(
            into.is_null() || index(into, "bar_index") > to,
            "practised backwards",
        );
        ask(
            !into.is_null() || to + 1 == case.piece.bars.len(),
            "ends before the next downbeat",
        );
        let also = list(spot, "also_bars").iter().map(|bar| index(bar, "bar_index"));
        ask(
            also.into_iter().all(|bar| !(from..=to).contains(&bar)),
            "is also itself",
        );
    }
    let same_order = case
        .study
        .spots
        .iter()
        .zip(spots)
        .all(|(a, b)| a.from.get() == index(b, "from_bar_index"));
    let falling = case
        .study
        .spots
        .windows(2)
        .all(|pair| pair[0].weight >= pair[1].weight);
    faults.extend(
        (!same_order || !falling || spots.len() != case.study.spots.len()).then(|| "not ranked".to_owned()),
    );
}

pub(super) fn rungs_are_on_the_metronome(case: &Case, faults: &mut Vec<String>) {
    let marked = case.study.goal.is_some() && case.study.first.is_some();
    let ladder = &case.json["ladder"];
    if marked != ladder.is_object() {
        faults.push("a ladder without a tempo to climb to, or none with it".to_owned());
    }
    let mark = |bpm: usize| METRONOME_MARKS.iter().any(|mark| usize::from(*mark) == bpm);
    for rung in list(ladder, "rungs") {
        let (bpm, click) = (index(rung, "bpm"), index(&rung["click"], "bpm"));
        let mut ask = |holds: bool, what: &str| {
            faults.extend((!holds).then(|| format!("{}: {what}", text(rung, "says"))));
        };
        ask(mark(bpm), "not on the metronome's series");
        ask(
            click >= bpm && click % bpm.max(1) == 0,
            "the click does not divide the beat",
        );
        ask(
            (rung["beat"] == rung["click"]["beat"]) == (click == bpm),
            "the click is another note",
        );
        ask(bpm >= 60 || click >= 60, "clicks more than a second apart");
        ask(
            index(rung, "times") >= 1 && index(rung, "times") <= index(rung, "times_most"),
            "how often?",
        );
        ask(
            text(rung, "says").contains(&bpm.to_string()),
            "says another tempo",
        );
    }
    if ladder.is_object() {
        faults.extend(list(ladder, "rungs").is_empty().then(|| "no rungs".to_owned()));
        let scheme = load::ladder::Scheme::from_id(text(ladder, "scheme"));
        faults.extend(
            (scheme.is_none() || text(ladder, "source").is_empty()).then(|| "whose scheme?".to_owned()),
        );
    }
}

pub(super) fn the_first_tempo_is_hers(case: &Case, faults: &mut Vec<String>) {
    let first = &case.json["tempo"]["first_reading"];
    if case.study.first.is_none() {
        faults.extend((first["basis"] == "player").then(|| "whose tempo?".to_owned()));
        return;
    }
    let mut ask = |holds: bool, what: &str| faults.extend((!holds).then(|| what.to_owned()));
    ask(first["basis"] == "player", "not the player's");
    ask(
        0 < index(first, "low") && index(first, "low") <= index(first, "high"),
        "no range",
    );
    let limits = list(first, "limits");
    ask(
        limits.iter().any(|limit| limit["what"] == first["limited_by"]),
        "limited by what?",
    );
    let (fastest, breath): (Vec<&Value>, Vec<&Value>) =
        limits.iter().partition(|limit| limit["what"] != "breath");
    let tempi: Vec<f64> = fastest.iter().map(|limit| number(limit, "beat_bpm")).collect();
    ask(tempi.is_sorted() && breath.len() <= 1, "the slowest first");
    ask(tempi.iter().all(|bpm| *bpm > 0.0), "a limit of no tempo");
    let says = format!("{} = {}", text(first, "beat_sign"), index(first, "low"));
    ask(
        text(&case.json["tempo"], "summary").contains(&says),
        "the summary says another tempo",
    );
    ask(
        first["set_by_bar"].as_str() == first["hardest_bar"].as_str(),
        "set by another bar",
    );
}

pub(super) fn levels_phrases_and_look_alikes(case: &Case, faults: &mut Vec<String>) {
    let mut ask = |holds: bool, what: &str| faults.extend((!holds).then(|| what.to_owned()));
    for level in list(&case.json, "levels") {
        let exceeded = list(level, "criteria").iter().any(|one| one["fits"] == false);
        ask((level["fits"] == true) != exceeded, "a level fits or it does not");
        ask(
            !text(level, "table").is_empty() && !text(level, "source").is_empty(),
            "a level without its table",
        );
    }
    let phrases = list(&case.json, "phrases");
    let all: usize = phrases.iter().map(|phrase| index(phrase, "notes")).sum();
    ask(
        all == notes::in_line(&case.piece),
        "phrases do not cover the line",
    );
    let starts: Vec<_> = phrases
        .iter()
        .map(|p| (index(p, "from_bar_index"), number(p, "from_beat")))
        .collect();
    ask(starts.is_sorted(), "phrases out of order");
    for alike in list(&case.json, "look_alikes") {
        ask(
            index(alike, "like_bar_index") < index(alike, "bar_index"),
            "a look-alike of a later bar",
        );
    }
    let more = &case.json["look_alikes_more"];
    let with_notes = (0..case.piece.bars.len())
        .filter(|bar| notes::has_notes(&case.piece, *bar))
        .count();
    ask(
        index(more, "bars_with_notes") <= with_notes,
        "more bars with notes than there are",
    );
    ask(
        index(more, "new_bars") <= index(more, "bars_with_notes"),
        "more new bars than bars",
    );
    let sections = list(&more["form"], "sections");
    let ends = |at: usize| index(&sections[at], "to_bar_index") + 1;
    ask(
        (1..sections.len()).all(|at| index(&sections[at], "from_bar_index") == ends(at - 1)),
        "the form has holes",
    );
}

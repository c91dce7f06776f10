//! Which rhythms are hard to keep? Strokes over the beats where they are not heard, counts under what divides unusually.

use super::{Draft, Gather, free};
use crate::{Matter, worth};
use notation::{BarIndex, PencilSign, Place};
use survey::metre::{Beat, BeatGrid, MetreAnswer};
use survey::rhythm::{CountAt, RhythmAnswer, count_words};

/// A syncopation score from which beats are pencilled in (Longuet-Higgins & Lee). Ours.
const SYNCOPATED: u32 = 2;
/// Places where a slow note follows fast ones that are considered.
const SLOW_AFTER_FAST: usize = 4;
/// Strokes that are worth so much deserve the count beneath, too.
const ALSO_COUNTED: f64 = 0.7;

/// A rhythm that has been marked often enough is not marked again.
const AGAIN_NO_MORE: f64 = 0.3;

/// A hard bar.
struct Hard {
    bar: BarIndex,
    matter: Matter,
    reason: String,
    worth: f64,
    /// Which of the piece's bar rhythms it is; bars of no such list stand alone.
    figure: usize,
}

pub(super) fn gather(gather: &mut Gather) {
    let survey = gather.survey;
    let (Some(metre), Some(rhythm)) = (&survey.metre, &survey.rhythm) else {
        return;
    };
    let mut hard = hard_bars(rhythm);
    hard.retain(|hard| metre.grid(hard.bar).is_some_and(|grid| grid.counted));
    // One reason a bar, the best; bars of the same rhythm are marked once and fall in worth after that.
    hard.sort_by(|a, b| a.bar.cmp(&b.bar).then(b.worth.total_cmp(&a.worth)));
    hard.dedup_by_key(|hard| hard.bar);
    worth::fall(
        &mut hard,
        |hard| (hard.matter, hard.figure),
        |hard| &mut hard.worth,
    );
    hard.retain(|hard| hard.worth >= AGAIN_NO_MORE);
    for hard in hard {
        if hard.matter == Matter::Beats && hard.worth >= ALSO_COUNTED {
            mark(gather, metre, rhythm, &hard, Matter::Counts, hard.worth - 0.1);
        }
        mark(gather, metre, rhythm, &hard, hard.matter, hard.worth);
    }
}

fn mark(
    gather: &mut Gather,
    metre: &MetreAnswer,
    rhythm: &RhythmAnswer,
    hard: &Hard,
    matter: Matter,
    value: f64,
) {
    let Some(grid) = metre.grid(hard.bar) else { return };
    let end = gather.end_of(hard.bar);
    let mut draft = Draft::new(
        matter,
        "rhythm",
        free(Place::start_of(hard.bar)),
        hard.reason.clone(),
        value,
    );
    draft.to = Some(free(end));
    let Some(mark) = gather.add(draft) else { return };
    mark.at = if mark.sign == PencilSign::Counts {
        counts(metre, rhythm, grid)
    } else {
        strokes(grid)
    };
    mark.text = mark
        .at
        .iter()
        .map(|(_, word)| word.as_str())
        .collect::<Vec<_>>()
        .join(" ")
        .trim()
        .to_owned();
    if mark.at.is_empty() {
        gather.marks.pop();
    }
}

/// What is beaten: the felt beats, but in a bar felt as one the written ones.
fn felt_as_one(grid: &BeatGrid) -> bool {
    grid.beats().len() < 2
}

fn strokes(grid: &BeatGrid) -> Vec<(Place, String)> {
    let beats: &[Beat] = if felt_as_one(grid) {
        grid.slow_beats()
    } else {
        grid.beats()
    };
    beats
        .iter()
        .map(|beat| grid.offset(beat.start))
        .filter(|offset| !offset.is_negative() && *offset < grid.actual)
        .map(|offset| {
            (
                Place {
                    bar: grid.bar,
                    offset,
                },
                String::new(),
            )
        })
        .collect()
}

fn counts(metre: &MetreAnswer, rhythm: &RhythmAnswer, grid: &BeatGrid) -> Vec<(Place, String)> {
    let speed = if felt_as_one(grid) {
        CountAt::Slow
    } else {
        CountAt::Tempo
    };
    count_words(metre, grid.bar, rhythm.system, speed)
        .into_iter()
        .filter(|word| !word.offset.is_negative() && word.offset < grid.actual)
        .map(|word| {
            let place = Place {
                bar: grid.bar,
                offset: word.offset,
            };
            (place, word.text)
        })
        .collect()
}

fn hard_bars(rhythm: &RhythmAnswer) -> Vec<Hard> {
    let mut all = Vec::new();
    let mut add = |bar: BarIndex, matter: Matter, reason: String, value: f64| {
        let figure = rhythm
            .bar_patterns
            .iter()
            .position(|pattern| pattern.bars.contains(&bar));
        all.push(Hard {
            bar,
            matter,
            reason,
            worth: value,
            figure: figure.unwrap_or(usize::MAX - bar.get()),
        });
    };
    for bar in rhythm.most_syncopated() {
        if let Some(score) = bar.score.filter(|score| *score >= SYNCOPATED) {
            let value = worth::BEATS + 0.04 * f64::from(score.min(6));
            add(
                bar.bar,
                Matter::Beats,
                "syncopated: feel the beats under it".to_owned(),
                value,
            );
        }
    }
    for hemiola in &rhythm.hemiolas {
        for bar in hemiola.from.0..=hemiola.to.0 {
            add(
                BarIndex(bar),
                Matter::Beats,
                hemiola.says.clone(),
                worth::COUNTS + 0.02,
            );
        }
    }
    for slow in rhythm.worst_slow_after_fast().into_iter().take(SLOW_AFTER_FAST) {
        add(slow.place.bar, Matter::Beats, slow.says.clone(), worth::BEATS);
    }
    for change in &rhythm.division_changes {
        let (from, to) = change.from_to;
        let reason = format!("the beat changes from {from} notes to {to}");
        add(change.place.bar, Matter::Counts, reason, worth::COUNTS);
    }
    for tuplet in &rhythm.tuplets {
        let plain = tuplet.ratio.actual == 3 && tuplet.ratio.normal == 2 && tuplet.nested == 0;
        let value = if plain { worth::BEATS } else { worth::COUNTS + 0.04 };
        for bar in &tuplet.bars {
            add(*bar, Matter::Counts, format!("a {}", tuplet.name), value);
        }
    }
    for rest in rhythm.rests_on_beats.iter().filter(|rest| rest.entry.is_some()) {
        let reason = format!("a rest on beat {}, the entry after it", rest.beat);
        add(rest.place.bar, Matter::Counts, reason, worth::BEATS - 0.06);
    }
    all
}

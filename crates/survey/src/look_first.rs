//! Where to look first? The places most likely to go wrong at first sight, with reasons, from what the questions found.
//!
//! The weights are our own judgement (`from memory` of what trips readers, not measured): they only order places that
//! the questions found for reasons of their own. How hard a bar is for one player is asked on a later floor.

use crate::accidentals::AccidentalsAnswer;
use crate::articulation::ArticulationAnswer;
use crate::clefs::ClefsAnswer;
use crate::context::Context;
use crate::dynamics::DynamicsAnswer;
use crate::ornaments::OrnamentsAnswer;
use crate::range::RangeAnswer;
use crate::rhythm::RhythmAnswer;
use crate::road_map::RoadMapAnswer;
use notation::BarIndex;

/// How many places are shown.
pub const SHOWN: usize = 5;

/// One place to look at before playing.
#[derive(Clone, PartialEq, Debug)]
pub struct LookFirst {
    /// First bar.
    pub from: BarIndex,
    /// Last bar.
    pub to: BarIndex,
    /// Why, the strongest reason first, at most four.
    pub reasons: Vec<Reason>,
    /// What to do there before playing.
    pub suggestion: &'static str,
    /// The sum of its reasons' weights; only good for ordering.
    pub weight: f64,
}

/// One reason why a bar goes wrong.
#[derive(Clone, PartialEq, Debug)]
pub struct Reason {
    /// The bar.
    pub bar: BarIndex,
    /// What sort of trouble.
    pub sort: Sort,
    /// The reason, a clause.
    pub says: String,
    /// How much it weighs.
    pub weight: f64,
}

/// What sort of trouble.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
#[expect(missing_docs, reason = "named for the trouble")]
pub enum Sort {
    RoadMap,
    Signs,
    Accidentals,
    Rhythm,
    Leap,
    Range,
    Ornament,
    Expression,
    Speed,
}

impl Sort {
    const fn suggestion(self) -> &'static str {
        match self {
            Self::RoadMap => "trace the way with a finger before playing",
            Self::Signs => "stop at the change and name the first notes after it",
            Self::Accidentals => "say the note names aloud, then play them slowly",
            Self::Rhythm => "count it aloud and tap it before playing",
            Self::Leap => "hear the far note before you play it",
            Self::Range => "name the notes on ledger lines and pencil one of them in",
            Self::Ornament => "play it once without the ornament, then name its notes",
            Self::Expression => "read the marks once without playing",
            Self::Speed => "choose the tempo by these notes, not by the first bar",
        }
    }
}

/// What the questions found.
#[derive(Clone, Copy, Debug)]
pub struct Found<'a> {
    /// Question 2.
    pub range: &'a RangeAnswer,
    /// Question 4.
    pub rhythm: &'a RhythmAnswer,
    /// Question 7.
    pub road_map: &'a RoadMapAnswer,
    /// Question 8.
    pub dynamics: &'a DynamicsAnswer,
    /// Question 9.
    pub accidentals: &'a AccidentalsAnswer,
    /// Question 10.
    pub clefs: &'a ClefsAnswer,
    /// Question 11.
    pub articulation: &'a ArticulationAnswer,
    /// Question 12.
    pub ornaments: &'a OrnamentsAnswer,
}

/// The places most likely to go wrong, the worst first; fewer than [`SHOWN`] where the page is plain.
#[must_use]
pub fn answer(ctx: &Context, found: &Found) -> Vec<LookFirst> {
    let mut by_bar: Vec<Vec<Reason>> = vec![Vec::new(); ctx.piece.bars.len()];
    for reason in reasons(ctx, found) {
        if let Some(bar) = by_bar.get_mut(reason.bar.get()) {
            bar.push(reason);
        }
    }
    for bar in &mut by_bar {
        bar.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    }
    choose(&by_bar)
}

/// Reasons of one sort in one bar count less and less, so that one sort does not drown the others.
fn weigh(reasons: &[Reason], known: &[Sort]) -> f64 {
    let mut seen: Vec<Sort> = Vec::new();
    reasons
        .iter()
        .map(|reason| {
            let again = i32::try_from(seen.iter().filter(|s| **s == reason.sort).count()).unwrap_or(9);
            let told = i32::try_from(known.iter().filter(|s| **s == reason.sort).count()).unwrap_or(9);
            seen.push(reason.sort);
            // Half for each further reason of a sort in the bar; four fifths for each place that shows this sort already.
            reason.weight * 0.5_f64.powi(again) * 0.8_f64.powi(told)
        })
        .sum()
}

fn choose(by_bar: &[Vec<Reason>]) -> Vec<LookFirst> {
    let mut taken = vec![false; by_bar.len()];
    let mut known: Vec<Sort> = Vec::new();
    let mut chosen = Vec::new();
    while chosen.len() < SHOWN {
        let weights: Vec<f64> = by_bar
            .iter()
            .zip(&taken)
            .map(|(bar, taken)| if *taken { 0.0 } else { weigh(bar, &known) })
            .collect();
        let Some(best) = (0..weights.len()).max_by(|a, b| weights[*a].total_cmp(&weights[*b]).then(b.cmp(a)))
        else {
            break;
        };
        if weights[best] <= 0.0 {
            break;
        }
        let (mut from, mut to) = (best, best);
        // A neighbour nearly as hard belongs to the same place.
        let near = |index: usize| weights.get(index).is_some_and(|w| *w >= 0.7 * weights[best]);
        if near(best + 1) {
            to = best + 1;
        } else if best > 0 && near(best - 1) {
            from = best - 1;
        }
        let mut reasons: Vec<Reason> = by_bar[from..=to].iter().flatten().cloned().collect();
        reasons.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        let reasons = different(reasons);
        taken[from..=to].fill(true);
        let Some(first) = reasons.first().map(|reason| reason.sort) else {
            break;
        };
        known.push(first);
        chosen.push(LookFirst {
            from: BarIndex::from_usize(from),
            to: BarIndex::from_usize(to),
            reasons,
            suggestion: first.suggestion(),
            weight: weights[from..=to].iter().sum(),
        });
    }
    chosen
}

/// At most four reasons, at most two of a sort, none said twice.
fn different(reasons: Vec<Reason>) -> Vec<Reason> {
    let mut kept: Vec<Reason> = Vec::new();
    for reason in reasons {
        let of_sort = kept.iter().filter(|k| k.sort == reason.sort).count();
        if kept.len() < 4 && of_sort < 2 && kept.iter().all(|k| k.says != reason.says) {
            kept.push(reason);
        }
    }
    kept
}

fn reasons(ctx: &Context, found: &Found) -> Vec<Reason> {
    let mut all = Vec::new();
    let mut add = |bar: BarIndex, sort: Sort, weight: f64, says: String| {
        all.push(Reason {
            bar,
            sort,
            says,
            weight,
        });
    };
    for trap in &found.road_map.traps {
        add(trap.place.bar, Sort::RoadMap, 2.0, trap.says.clone());
    }
    signs(ctx, found, &mut add);
    accidentals(found.accidentals, &mut add);
    rhythm(found.rhythm, &mut add);
    range(found.range, &mut add);
    for ornament in &found.ornaments.ornaments {
        let weight = if ornament.doubtful() { 1.8 } else { 0.6 };
        let mark = &ornament.realised.mark;
        let says = if ornament.doubtful() {
            format!("a {mark} that can be read in two ways")
        } else {
            format!("a {mark}")
        };
        add(ornament.place.bar, Sort::Ornament, weight, says);
    }
    for sudden in &found.dynamics.sudden {
        if let Some(mark) = found.dynamics.marks.get(sudden.to) {
            add(
                mark.place.bar,
                Sort::Expression,
                0.8,
                sudden.says(&found.dynamics.marks),
            );
        }
    }
    for contrast in &found.articulation.contrasts {
        add(contrast.bar, Sort::Expression, 0.5, contrast.says());
    }
    all
}

fn signs(ctx: &Context, found: &Found, add: &mut impl FnMut(BarIndex, Sort, f64, String)) {
    for change in found.clefs.staves.iter().flat_map(|staff| &staff.changes) {
        add(
            change.place.bar,
            Sort::Signs,
            2.0,
            format!("the clef changes to {}", change.clef.name()),
        );
    }
    for pair in ctx.part.keys.windows(2) {
        if pair[0].value.altered() != pair[1].value.altered() && pair[0].staff == pair[1].staff {
            let says = format!("the key signature changes to {}", pair[1].value.name());
            add(pair[1].place.bar, Sort::Signs, 2.0, says);
        }
    }
    for pair in ctx.part.metres.windows(2) {
        if pair[0].value != pair[1].value {
            add(
                pair[1].place.bar,
                Sort::Signs,
                1.5,
                format!("the metre changes to {}", pair[1].value.name()),
            );
        }
    }
}

fn accidentals(answer: &AccidentalsAnswer, add: &mut impl FnMut(BarIndex, Sort, f64, String)) {
    for courtesy in &answer.courtesy_suggested {
        add(courtesy.place.bar, Sort::Accidentals, 1.8, courtesy.says());
    }
    for dense in &answer.densest {
        let surprises = u32::try_from(dense.surprises.min(12)).unwrap_or(12);
        if surprises > 1 {
            add(
                dense.bar,
                Sort::Accidentals,
                0.45 * f64::from(surprises),
                dense.says(),
            );
        }
    }
    for double in &answer.double_inflections {
        let says = format!(
            "{} and {} next to each other",
            double.first.sign_natural(),
            double.second.sign_natural()
        );
        add(double.second_at.0.bar, Sort::Accidentals, 1.2, says);
    }
    for enharmonic in answer.enharmonic.iter().filter(|e| !e.in_signature) {
        for (place, _) in &enharmonic.at {
            add(place.bar, Sort::Accidentals, 1.2, enharmonic.says());
        }
    }
    for run in &answer.chromatic_runs {
        let weight = if run.notes >= 6 { 1.5 } else { 0.8 };
        add(
            run.from_at.0.bar,
            Sort::Accidentals,
            weight,
            format!("{} notes by semitones", run.notes),
        );
    }
}

fn rhythm(answer: &RhythmAnswer, add: &mut impl FnMut(BarIndex, Sort, f64, String)) {
    for bar in &answer.syncopation {
        if let Some(score) = bar.score.filter(|score| *score >= 2) {
            add(
                bar.bar,
                Sort::Rhythm,
                (0.4 * f64::from(score)).min(2.0),
                "syncopated".to_owned(),
            );
        }
    }
    for slow in &answer.slow_after_fast {
        add(slow.place.bar, Sort::Rhythm, 0.9, slow.says.clone());
    }
    for rest in answer.rests_on_beats.iter().filter(|rest| rest.entry.is_some()) {
        add(
            rest.place.bar,
            Sort::Rhythm,
            0.7,
            format!("a rest on beat {}, the entry after it", rest.beat),
        );
    }
    for change in &answer.division_changes {
        let (from, to) = change.from_to;
        add(
            change.place.bar,
            Sort::Rhythm,
            1.0,
            format!("the beat changes from {from} notes to {to}"),
        );
    }
    for hemiola in &answer.hemiolas {
        add(hemiola.from, Sort::Rhythm, 1.2, hemiola.says.clone());
    }
    for tuplet in &answer.tuplets {
        let plain = tuplet.ratio.actual == 3 && tuplet.ratio.normal == 2 && tuplet.nested == 0;
        let weight = if plain { 0.4 } else { 1.5 };
        for bar in &tuplet.bars {
            add(*bar, Sort::Rhythm, weight, format!("a {}", tuplet.name));
        }
    }
    let figures: usize = answer.patterns.iter().map(|pattern| pattern.count).sum();
    for pattern in answer
        .patterns
        .iter()
        .filter(|p| p.count == 1 && !p.silent && figures >= 24)
    {
        add(
            pattern.first.bar,
            Sort::Rhythm,
            0.5,
            format!("a rhythm that comes only here: {}", pattern.name),
        );
    }
    if let Some(run) = answer.longest_run.as_ref().filter(|run| run.notes >= 8) {
        add(
            run.from_to.0.bar,
            Sort::Speed,
            1.2,
            format!("the longest run: {} short notes without a stop", run.notes),
        );
    }
}

fn range(answer: &RangeAnswer, add: &mut impl FnMut(BarIndex, Sort, f64, String)) {
    for leap in answer
        .leaps
        .iter()
        .filter(|leap| leap.semitones.abs() >= 12 && !leap.over_rest)
    {
        let size = u32::try_from(leap.semitones.unsigned_abs().min(48)).unwrap_or(48);
        let way = if leap.up { "up" } else { "down" };
        let says = format!("a leap of {} {way} to {}", leap.name, leap.to.sign());
        add(
            leap.to_place.bar,
            Sort::Leap,
            0.9 + f64::from(size.saturating_sub(12)) / 8.0,
            says,
        );
    }
    for (place, _) in &answer.ledger.three_or_more_at {
        add(
            place.bar,
            Sort::Range,
            0.7,
            "three ledger lines and more".to_owned(),
        );
    }
    for beyond in answer.fit.iter().flat_map(|fit| &fit.beyond) {
        for (place, _) in beyond.at.iter().take(1) {
            add(
                place.bar,
                Sort::Range,
                1.0,
                format!("{} is beyond the usual range", beyond.written.sign()),
            );
        }
    }
}

//! What does the whole page say? All questions asked in the order in which their answers feed each other.

use crate::context::Context;
use crate::look_first::{self, Found, LookFirst};
use crate::question::Question;
use crate::rhythm::CountingSystem;
use crate::{
    accidentals, articulation, clefs, counts, dynamics, key, metre, ornaments, range, rhythm, road_map,
    tempo, terms,
};
use instruments::Identified;
use notation::{BarIndex, Finding, Piece};
use performance::road::{RepeatsAfterJump, RoadOptions};
use std::collections::BTreeSet;

/// How the survey goes about it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Options {
    /// Take repeats again after a D.C. or D.S. where the page does not say.
    pub repeats_after_jump: bool,
    /// How rhythms are counted aloud.
    pub counting: CountingSystem,
    /// The player's fastest comfortable single tongue, in notes a second; `None` for the instrument's usual.
    pub tongue: Option<f64>,
}

/// The answers to the twelve questions, and where to look first.
#[derive(Clone, Debug)]
pub struct Survey {
    /// The instrument, if the part says.
    pub instrument: Option<Identified>,
    /// Notes to play: the events of the line, ties joined, grace notes and cues left out.
    pub notes: usize,
    /// Question 1.
    pub key: key::KeyAnswer,
    /// Question 2.
    pub range: range::RangeAnswer,
    /// Question 3.
    pub metre: metre::MetreAnswer,
    /// Question 4.
    pub rhythm: rhythm::RhythmAnswer,
    /// Question 5.
    pub terms: terms::TermsAnswer,
    /// Question 6.
    pub tempo: tempo::TempoAnswer,
    /// Question 7.
    pub road_map: road_map::RoadMapAnswer,
    /// Question 8.
    pub dynamics: dynamics::DynamicsAnswer,
    /// Question 9.
    pub accidentals: accidentals::AccidentalsAnswer,
    /// Question 10.
    pub clefs: clefs::ClefsAnswer,
    /// Question 11.
    pub articulation: articulation::ArticulationAnswer,
    /// Question 12.
    pub ornaments: ornaments::OrnamentsAnswer,
    /// Where to look first.
    pub look_first: Vec<LookFirst>,
    /// Plain counts.
    pub counts: counts::PartCounts,
    /// What the questions found odd, each once, in order of place, with the question (`None`: of none in particular).
    pub findings: Vec<(Option<Question>, Finding)>,
}

/// Surveys one part; `None` if the piece has no such part.
#[must_use]
pub fn survey(piece: &Piece, part_index: usize, options: &Options) -> Option<Survey> {
    let ctx = Context::new(piece, part_index)?;
    let instrument = instruments::identify(ctx.part);
    let repeats_after_jump = if options.repeats_after_jump {
        RepeatsAfterJump::Yes
    } else {
        RepeatsAfterJump::No
    };
    let road_map = road_map::answer(&ctx, &RoadOptions { repeats_after_jump });
    let played: Vec<BarIndex> = road_map.unfolding.order();
    let key = key::answer(&ctx, Some(&played));
    let marked = tempo::marked(&ctx);
    let metre = metre::answer(&ctx, &marked);
    let rhythm = rhythm::answer(&ctx, &metre, options.counting);
    let tempo_options = tempo::TempoOptions {
        tongue_per_second: options.tongue,
    };
    let tempo = tempo::answer_marked(&ctx, &metre, &rhythm, &played, &tempo_options, &marked);
    let mut range = range::answer(&ctx, instrument.as_ref());
    range.leaps.retain(|leap| read_on(&played, leap.from_place.bar, leap.to_place.bar));
    let terms = terms::answer(&ctx);
    let dynamics = dynamics::answer(&ctx);
    let hints = accidentals::AccidentalHints {
        tonic_signature: unsigned(&key),
        play_order: &played,
    };
    let accidentals = accidentals::answer(&ctx, instrument.as_ref(), &hints);
    let clefs = clefs::answer(&ctx, instrument.as_ref());
    let articulation = articulation::answer(&ctx, instrument.as_ref());
    let ornaments = ornaments::answer(&ctx, &key.regions);
    let found = Found {
        range: &range,
        rhythm: &rhythm,
        road_map: &road_map,
        dynamics: &dynamics,
        accidentals: &accidentals,
        clefs: &clefs,
        articulation: &articulation,
        ornaments: &ornaments,
    };
    let look_first = look_first::answer(&ctx, &found);
    let counts = counts::count(&ctx);
    let findings = gathered([
        (Some(Question::RoadMap), &road_map.findings),
        (Some(Question::Metre), &metre.findings),
        (Some(Question::Rhythm), &rhythm.findings),
        (Some(Question::Range), &range.findings),
        (Some(Question::Terms), &terms.findings),
        (Some(Question::Tempo), &tempo.findings),
        (Some(Question::Dynamics), &dynamics.findings),
        (Some(Question::Accidentals), &accidentals.findings),
        (Some(Question::Clefs), &clefs.findings),
        (Some(Question::Ornaments), &ornaments.findings),
        (None, &crate::other_signs::other_signs(&ctx)),
    ]);
    Some(Survey {
        instrument,
        notes: ctx.line.len(),
        key,
        range,
        metre,
        rhythm,
        terms,
        tempo,
        road_map,
        dynamics,
        accidentals,
        clefs,
        articulation,
        ornaments,
        look_first,
        counts,
        findings,
    })
}

/// True if the second bar is ever played right after the first (a first and a second ending never are).
fn read_on(played: &[BarIndex], from: BarIndex, to: BarIndex) -> bool {
    from == to
        || to > from.next()
        || played.windows(2).any(|pair| matches!(pair, [a, b] if (*a, *b) == (from, to)))
}

/// Findings of all questions in order of place, each once.
fn gathered<const N: usize>(
    lists: [(Option<Question>, &Vec<Finding>); N],
) -> Vec<(Option<Question>, Finding)> {
    let mut all: Vec<(Option<Question>, Finding)> = Vec::new();
    let mut known: BTreeSet<(Option<BarIndex>, &str)> = BTreeSet::new();
    for (question, finding) in lists.iter().flat_map(|(question, list)| list.iter().map(move |f| (question, f))) {
        if known.insert((finding.bar, &finding.what)) {
            all.push((*question, finding.clone()));
        }
    }
    all.sort_by_key(|(_, finding)| (finding.bar, finding.offset));
    all
}

/// The signature that a part without one by custom would carry, in sharps; `None` where the printed one is believed.
fn unsigned(key: &key::KeyAnswer) -> Option<i8> {
    if key.signature_believed || key.certainty <= 0.0 {
        return None;
    }
    let (step, alter) = key.tonic;
    let major = step.fifths() + 7 * i32::from(alter) - if key.mode == "minor" { 3 } else { 0 };
    i8::try_from(major).ok()
}

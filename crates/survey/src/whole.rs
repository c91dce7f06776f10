//! What does the whole page say? All questions asked in the order in which their answers feed each other.

use crate::context::Context;
use crate::look_first::{self, Found, LookFirst};
use crate::other_signs::other_signs;
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
    /// Keys that the teacher names, of the whole part or of some bars; the answers go by them.
    pub keys: Vec<key::ToldKey>,
}

/// The answers to the questions asked, and where to look first.
#[derive(Clone, Debug, Default)]
pub struct Survey {
    /// The instrument, if the part says.
    pub instrument: Option<Identified>,
    /// Notes to play: the events of the line, ties joined, grace notes and cues left out.
    pub notes: usize,
    /// Question 1.
    pub key: Option<key::KeyAnswer>,
    /// Question 2.
    pub range: Option<range::RangeAnswer>,
    /// Question 3.
    pub metre: Option<metre::MetreAnswer>,
    /// Question 4.
    pub rhythm: Option<rhythm::RhythmAnswer>,
    /// Question 5.
    pub terms: Option<terms::TermsAnswer>,
    /// Question 6.
    pub tempo: Option<tempo::TempoAnswer>,
    /// Question 7; always answered, since others rest on the play order.
    pub road_map: road_map::RoadMapAnswer,
    /// Question 8.
    pub dynamics: Option<dynamics::DynamicsAnswer>,
    /// Question 9.
    pub accidentals: Option<accidentals::AccidentalsAnswer>,
    /// Question 10.
    pub clefs: Option<clefs::ClefsAnswer>,
    /// Question 11.
    pub articulation: Option<articulation::ArticulationAnswer>,
    /// Question 12.
    pub ornaments: Option<ornaments::OrnamentsAnswer>,
    /// Where to look first; empty unless all questions were asked.
    pub look_first: Vec<LookFirst>,
    /// Plain counts.
    pub counts: counts::PartCounts,
    /// What the questions asked found odd, each once, in order of place.
    pub findings: Vec<Finding>,
}

/// Surveys one part; `None` if the piece has no such part. Questions that others rest on are asked along with them.
#[must_use]
pub fn survey(piece: &Piece, part_index: usize, questions: &[Question], options: &Options) -> Option<Survey> {
    let ctx = Context::new(piece, part_index)?;
    let asked = |question: Question| questions.contains(&question);
    let instrument = instruments::identify(ctx.part);
    let known = instrument.as_ref();
    let repeats_after_jump = if options.repeats_after_jump {
        RepeatsAfterJump::Yes
    } else {
        RepeatsAfterJump::No
    };
    // Each answer is made in its place: side by side before they are put together they are several pages of memory.
    let mut survey = Survey {
        notes: ctx.line.len(),
        counts: counts::count(&ctx),
        road_map: road_map::answer(&ctx, &RoadOptions { repeats_after_jump }),
        ..Survey::default()
    };
    let played: Vec<BarIndex> = survey.road_map.unfolding.order();

    // Ornaments take their notes from the key in force; accidentals ask it what a part without signature would carry.
    let key_wanted = asked(Question::Key) || asked(Question::Ornaments) || asked(Question::Accidentals);
    survey.key = key_wanted.then(|| key::answer_told(&ctx, Some(&played), &options.keys));
    // The tempo decides what is felt as a beat, the beat what is counted, and both how slowly to read.
    let beat_wanted = asked(Question::Metre) || asked(Question::Rhythm) || asked(Question::Tempo);
    let marked = beat_wanted.then(|| tempo::marked(&ctx));
    survey.metre = marked.as_ref().map(|marked| metre::answer(&ctx, marked));
    survey.rhythm = survey
        .metre
        .as_ref()
        .filter(|_| asked(Question::Rhythm) || asked(Question::Tempo))
        .map(|metre| rhythm::answer(&ctx, metre, options.counting));
    survey.tempo = marked
        .as_ref()
        .zip(survey.metre.as_ref())
        .zip(survey.rhythm.as_ref())
        .filter(|_| asked(Question::Tempo))
        .map(|((marked, metre), rhythm)| {
            let tempo = tempo::TempoOptions {
                tongue_per_second: options.tongue,
            };
            tempo::answer_marked(&ctx, metre, rhythm, &played, &tempo, marked)
        });
    survey.accidentals = asked(Question::Accidentals).then(|| {
        let tonic_signature = survey.key.as_ref().and_then(unsigned);
        accidentals::answer(
            &ctx,
            known,
            &accidentals::AccidentalHints {
                tonic_signature,
                play_order: &played,
            },
        )
    });
    survey.range = asked(Question::Range).then(|| {
        let mut range = range::answer(&ctx, known);
        range
            .leaps
            .retain(|leap| read_on(&played, leap.from_place.bar, leap.to_place.bar));
        range
    });
    survey.terms = asked(Question::Terms).then(|| terms::answer(&ctx));
    survey.dynamics = asked(Question::Dynamics).then(|| dynamics::answer(&ctx));
    survey.clefs = asked(Question::Clefs).then(|| clefs::answer(&ctx, known));
    survey.articulation = asked(Question::Articulation).then(|| articulation::answer(&ctx, known));
    let regions = survey.key.as_ref().map_or(&[][..], |key| &key.regions);
    survey.ornaments = asked(Question::Ornaments).then(|| ornaments::answer(&ctx, regions));
    survey.look_first = found(&survey)
        .map(|found| look_first::answer(&ctx, &found))
        .unwrap_or_default();
    survey.findings = gathered(&survey, asked, other_signs(&ctx));
    survey.instrument = instrument;
    Some(survey)
}

/// What "where to look first" goes by; `None` unless everything it needs was asked.
fn found(survey: &Survey) -> Option<Found<'_>> {
    Some(Found {
        range: survey.range.as_ref()?,
        rhythm: survey.rhythm.as_ref()?,
        road_map: &survey.road_map,
        dynamics: survey.dynamics.as_ref()?,
        accidentals: survey.accidentals.as_ref()?,
        clefs: survey.clefs.as_ref()?,
        articulation: survey.articulation.as_ref()?,
        ornaments: survey.ornaments.as_ref()?,
    })
}

/// Findings of the questions asked in order of place, each once, with the signs that no question speaks of.
fn gathered(survey: &Survey, asked: impl Fn(Question) -> bool, others: Vec<Finding>) -> Vec<Finding> {
    let lists: [(Question, Option<&Vec<Finding>>); 10] = [
        (Question::RoadMap, Some(&survey.road_map.findings)),
        (
            Question::Metre,
            survey.metre.as_ref().map(|answer| &answer.findings),
        ),
        (
            Question::Rhythm,
            survey.rhythm.as_ref().map(|answer| &answer.findings),
        ),
        (
            Question::Range,
            survey.range.as_ref().map(|answer| &answer.findings),
        ),
        (
            Question::Terms,
            survey.terms.as_ref().map(|answer| &answer.findings),
        ),
        (
            Question::Tempo,
            survey.tempo.as_ref().map(|answer| &answer.findings),
        ),
        (
            Question::Dynamics,
            survey.dynamics.as_ref().map(|answer| &answer.findings),
        ),
        (
            Question::Accidentals,
            survey.accidentals.as_ref().map(|answer| &answer.findings),
        ),
        (
            Question::Clefs,
            survey.clefs.as_ref().map(|answer| &answer.findings),
        ),
        (
            Question::Ornaments,
            survey.ornaments.as_ref().map(|answer| &answer.findings),
        ),
    ];
    let told = lists
        .into_iter()
        .filter(|(question, _)| asked(*question))
        .filter_map(|(_, list)| list);
    let mut all: Vec<Finding> = Vec::new();
    let mut known: BTreeSet<(Option<BarIndex>, &str)> = BTreeSet::new();
    for finding in told.flatten() {
        if known.insert((finding.bar, &finding.what)) {
            all.push(finding.clone());
        }
    }
    all.extend(others);
    all.sort_by_key(|finding| (finding.bar, finding.offset));
    all
}

/// True if the second bar is ever played right after the first (a first and a second ending never are).
fn read_on(played: &[BarIndex], from: BarIndex, to: BarIndex) -> bool {
    from == to
        || to > from.next()
        || played
            .windows(2)
            .any(|pair| matches!(pair, [a, b] if (*a, *b) == (from, to)))
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

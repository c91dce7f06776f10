//! Which leaps are there, and which steps lie between? Each leap walked by step in the key in force, then leapt.

use super::Source;
use super::draft::{DraftBar, Passage, Tone};
use super::forms::Form;
use super::runs::passage_of;
use notation::{BarIndex, KeySignature, Pitch, Quarters, Rational};

/// A fourth is the smallest leap that is filled: a third is a step in a chord. Judgement.
const SMALLEST: i32 = 3;
/// More letters than that are walked in no one breath: two octaves.
const WIDEST: i32 = 14;
/// Most leaps in one drill.
const MOST: usize = 4;

/// A leap of the passage.
pub(crate) struct Leap {
    pub from: Pitch,
    pub to: Pitch,
    bar: Option<BarIndex>,
    like: DraftBar,
}

/// The leaps of a passage without a rest between, the widest first, each once.
pub(crate) fn leaps(passage: &Passage) -> Vec<Leap> {
    let mut all: Vec<Leap> = Vec::new();
    let mut before: Option<Pitch> = None;
    for bar in &passage.bars {
        for tone in &bar.tones {
            let here = tone.top();
            if let (Some(from), Some(to)) = (before, here)
                && (SMALLEST..=WIDEST).contains(&(to.diatonic() - from.diatonic()).abs())
                && !all.iter().any(|leap| (leap.from, leap.to) == (from, to))
            {
                all.push(Leap {
                    from,
                    to,
                    bar: bar.from,
                    like: bar.clone(),
                });
            }
            before = here;
        }
    }
    all.sort_by_key(|leap| std::cmp::Reverse((leap.to.key_number() - leap.from.key_number()).abs()));
    all
}

/// The passages: the walk in eighths held at its end, then the leap in long notes.
pub(crate) fn filled(source: &Source, passage: &Passage) -> Option<Vec<Passage>> {
    let all: Vec<Passage> = leaps(passage)
        .iter()
        .filter_map(|leap| one(source, leap))
        .take(MOST)
        .collect();
    (!all.is_empty()).then_some(all)
}

fn one(source: &Source, leap: &Leap) -> Option<Passage> {
    let steps = between(source, leap)?;
    let full = leap.like.full();
    if !full.is_positive() {
        return None;
    }
    let pulse = leap.like.pulse();
    let beat = pulse.beat().max(Rational::ONE).min(full);
    let step = if pulse.compound {
        beat / Rational::whole(3)
    } else {
        beat / Rational::whole(2)
    };
    // The first note waits so long that the far one comes on a beat.
    let walked = small(steps.len() + 1) * step;
    let late = walked.modulo(beat);
    let wait = if late.is_zero() { step } else { step + beat - late };
    let mut walk = vec![Tone::note(leap.from, wait)];
    walk.extend(steps.into_iter().map(|pitch| Tone::note(pitch, step)));
    let walked = walk.iter().fold(Quarters::ZERO, |sum, tone| sum + tone.length);
    // The far note is held to the end of its bar.
    walk.push(Tone::note(leap.to, full - walked.modulo(full)));
    // Then the leap alone: two long notes.
    let half = if pulse.count() >= 2 {
        pulse
            .beats
            .get(pulse.count().div_ceil(2))
            .copied()
            .unwrap_or(full)
    } else {
        full
    };
    let mut flow = walk;
    flow.push(Tone::note(leap.from, half));
    flow.push(Tone::note(leap.to, if half < full { full - half } else { full }));
    mark(&mut flow);
    Some(passage_of(&flow, &leap.like, None))
}

fn small(count: usize) -> Quarters {
    Rational::whole(i64::try_from(count).unwrap_or(1))
}

/// Numbers the tones of a flow, so that slurs can hold on to them.
pub(crate) fn mark(flow: &mut [Tone]) {
    for (mark, tone) in (1_u32..).zip(flow.iter_mut()) {
        tone.mark = mark;
    }
}

/// The steps between the two notes in the key in force; `None` if a letter can't be told apart from its neighbours.
fn between(source: &Source, leap: &Leap) -> Option<Vec<Pitch>> {
    let (low, high) = (leap.from.min(leap.to), leap.from.max(leap.to));
    let up = leap.to > leap.from;
    let alter = key_of(source, leap, up);
    let mut steps: Vec<Pitch> = (low.diatonic() + 1..high.diatonic())
        .map(|letter| {
            let natural = Pitch::new(notation::Step::C, 0, 0).transposed(letter, Rational::ZERO);
            let plain = Pitch {
                alter: Rational::ZERO,
                ..natural
            };
            alter(plain)
        })
        .collect();
    // A chromatic end note may collide with its neighbour: such a leap is left alone.
    let mut last = low;
    for pitch in steps.iter().copied().chain([high]) {
        if pitch.semitones() <= last.semitones() {
            return None;
        }
        last = pitch;
    }
    if !up {
        steps.reverse();
    }
    Some(steps)
}

/// What a letter is in the key in force: the region's scale, in minor as it goes up or comes down; else the signature.
fn key_of<'a>(source: &Source, leap: &'a Leap, up: bool) -> Box<dyn Fn(Pitch) -> Pitch + 'a> {
    let region = source.survey.key.as_ref().and_then(|key| {
        let bar = leap.bar?;
        key.regions
            .iter()
            .find(|region| (region.from..=region.to).contains(&bar))
    });
    let signature = leap.like.key.clone();
    match region {
        Some(region) => {
            let (tonic, minor) = (region.tonic, region.mode == "minor");
            let form = match (minor, up) {
                (false, _) => Form::Major,
                (true, true) => Form::MelodicMinor,
                (true, false) => Form::NaturalMinor,
            };
            Box::new(move |plain: Pitch| in_scale(plain, tonic, form, up))
        }
        None => Box::new(move |plain: Pitch| with_signature(plain, &signature)),
    }
}

fn in_scale(plain: Pitch, tonic: (notation::Step, i8), form: Form, up: bool) -> Pitch {
    let root = Pitch::new(tonic.0, tonic.1, plain.octave);
    form.note(root, plain.diatonic() - root.diatonic(), up)
}

fn with_signature(plain: Pitch, key: &KeySignature) -> Pitch {
    Pitch {
        alter: key.alter_of(plain.step),
        ..plain
    }
}

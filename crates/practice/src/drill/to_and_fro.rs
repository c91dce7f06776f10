//! Between which notes do fingers change with trouble? Those with a proposed fingering first; to and fro, quicker and quicker.

use super::Source;
use super::draft::{DraftBar, Passage, Pulse, Reach, Tone};
use super::leaps::mark;
use super::offer::Pair;
use super::runs::passage_of;
use crate::BarSpan;
use instruments::Family;
use instruments::fingering::{Fingering, Layout, fingering_words};
use load::fingers::Move;
use notation::{Quarters, Rational, SpanKind};

/// Most pairs in one drill.
const MOST: usize = 3;
/// Fingers that move before a plain change is worth a drill of its own. Judgement.
const MANY_FINGERS: f64 = 3.0;

/// The pairs of notes to go to and fro between: those with a proposed fingering first, then the hardest changes.
pub(crate) fn pairs(source: &Source, span: BarSpan) -> Vec<Pair> {
    let fingering = &source.study.fingering;
    // On brass lips can't go to and fro over more than a fourth quickly; fingers alone reach an octave. Judgement.
    let brass = source
        .study
        .player
        .instrument
        .is_some_and(|instrument| instrument.family == Family::Brass);
    let widest = if brass { 5 } else { 12 };
    let mut ranked: Vec<(f64, Pair)> = Vec::new();
    for moved in fingering.moves.iter().filter(|moved| span.holds(moved.place.bar)) {
        let (from, to) = (
            fingering_of(source, moved, true),
            fingering_of(source, moved, false),
        );
        let proposed = from.is_some() || to.is_some();
        let apart = (moved.to.key_number() - moved.from.key_number()).abs();
        if apart == 0 || apart > widest || !proposed && moved.amount < MANY_FINGERS {
            continue;
        }
        let pair = Pair {
            from: moved.from,
            to: moved.to,
            from_fingering: from,
            to_fingering: to,
        };
        let worth = moved.amount + if proposed { 100.0 } else { 0.0 };
        let same = |other: &Pair| {
            (other.from, other.to) == (pair.from, pair.to) || (other.to, other.from) == (pair.from, pair.to)
        };
        if !ranked.iter().any(|(_, known)| same(known)) {
            ranked.push((worth, pair));
        }
    }
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    ranked.into_iter().map(|(_, pair)| pair).take(MOST).collect()
}

/// The name of the fingering proposed for a note of a move, where it is not the basic one.
fn fingering_of(source: &Source, moved: &Move, first: bool) -> Option<String> {
    let notes = &source.study.fingering.notes;
    let at = notes
        .iter()
        .position(|note| note.event == moved.event && note.written == moved.to)?;
    let index = if first { at.checked_sub(1)? } else { at };
    let chosen = notes.get(index)?;
    (chosen.alternate && (!first || chosen.written == moved.from)).then(|| words(&chosen.fingering))
}

/// What is written over a note for its fingering: valves and positions in words, a woodwind's by its name.
pub(crate) fn words(fingering: &Fingering) -> String {
    match fingering.layout {
        Layout::Woodwind => fingering.name.to_string(),
        _ => fingering_words(fingering),
    }
}

/// To and fro: in beats, in halves of them, in quarters of them, then held. All slurred.
pub(crate) fn to_and_fro(pairs: &[Pair], like: &DraftBar, slide: bool) -> Vec<Passage> {
    pairs.iter().map(|pair| one_pair(pair, like, slide)).collect()
}

fn one_pair(pair: &Pair, like: &DraftBar, slide: bool) -> Passage {
    let pulse = like.pulse();
    let mut flow = Vec::new();
    let mut reaches = Vec::new();
    let mut number = 0_u32;
    for (index, stage) in stages(&pulse, slide).into_iter().enumerate() {
        let first = number + 1;
        for length in stage {
            let turn = (number + 1 - first).is_multiple_of(2);
            let mut tone = Tone::note(if turn { pair.from } else { pair.to }, length);
            number += 1;
            if index == 0 && number <= 2 {
                let fingering = if turn {
                    &pair.from_fingering
                } else {
                    &pair.to_fingering
                };
                tone.words.clone_from(fingering);
            }
            flow.push(tone);
        }
        reaches.push(Reach {
            from: first,
            to: number,
            kind: SpanKind::Slur,
        });
    }
    let full = pulse.full;
    flow.push(Tone::note(pair.from, full));
    mark(&mut flow);
    let mut passage = passage_of(&flow, like, None);
    passage.reaches = reaches;
    passage
}

/// The lengths of a bar of beats, of a bar of what they divide into, and of a quick one; a slide has no quick one.
fn stages(pulse: &Pulse, slide: bool) -> Vec<Vec<Quarters>> {
    let beats: Vec<Quarters> = pulse
        .beats
        .windows(2)
        .filter_map(|pair| Some(*pair.get(1)? - *pair.first()?))
        .collect();
    let parts = |beat: Quarters, by: Quarters| -> Vec<Quarters> {
        let count = usize::try_from((beat / by).floor()).unwrap_or(1).clamp(1, 16);
        vec![by; count]
    };
    let part = |beat: Quarters| {
        let three = pulse.compound || beat.num() == 3;
        beat / Rational::whole(if three { 3 } else { 2 })
    };
    let quick = |beat: Quarters| {
        let mut quick = part(beat) / Rational::whole(2);
        while quick > Rational::new(1, 4) {
            quick = quick / Rational::whole(2);
        }
        quick
    };
    let mut stages = vec![
        beats.clone(),
        beats.iter().flat_map(|beat| parts(*beat, part(*beat))).collect(),
    ];
    if !slide {
        stages.push(beats.iter().flat_map(|beat| parts(*beat, quick(*beat))).collect());
    }
    stages
}

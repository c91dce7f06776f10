//! Where do notes of one value run, and in which rhythms are they practised? Dotted, reversed, in threes, with stops.

use super::draft::{DraftBar, Passage, Pulse, Tone, bar_up};
use super::half::doubled;
use notation::{KeySignature, Metre, Quarters, Rational, TupletRatio};

/// Fewest pairs, or groups of three, that are worth a rhythm of their own.
const FEWEST_GROUPS: usize = 3;
/// Fewest notes that are worth regrouping.
const FEWEST_NOTES: usize = 6;
/// Runs of a sixteenth and less are written twice as long: dots on shorter notes are hard to read. Judgement.
const READABLE: Quarters = Rational::ONE;

/// Three in the time of two.
const TRIPLET: TupletRatio = TupletRatio { actual: 3, normal: 2 };

/// The passage with its runs in dotted rhythm, or reversed: the same notes, the same bars. `None` without enough of them.
pub(crate) fn dotted(passage: &Passage, reverse: bool) -> Option<Passage> {
    let passage = if is_fast(passage) {
        doubled(passage)
    } else {
        passage.clone()
    };
    let mut varied = passage.clone();
    let mut groups = 0;
    for bar in &mut varied.bars {
        groups += vary(bar, reverse);
    }
    if groups < FEWEST_GROUPS {
        return None;
    }
    for tone in varied.tones_mut() {
        tone.ornaments.clear();
        tone.graces.clear();
    }
    varied.spell();
    Some(varied)
}

/// True if its runs are sixteenths or faster.
fn is_fast(passage: &Passage) -> bool {
    let fast = passage.bars.iter().flat_map(|bar| {
        groups(bar)
            .into_iter()
            .map(|(at, _)| bar.tones.get(at).map_or(READABLE, nominal))
    });
    fast.min()
        .is_some_and(|value| value < READABLE / Rational::whole(2))
}

/// The value as printed, without its tuplets.
fn nominal(tone: &Tone) -> Quarters {
    tone.written
        .as_ref()
        .map_or(tone.length, |written| written.value.quarters())
}

/// Notes of one value that begin together with a beat or its part: their first index and how many (2 or 3).
fn groups(bar: &DraftBar) -> Vec<(usize, usize)> {
    let pulse = bar.pulse();
    let mut found = Vec::new();
    let mut held = false;
    let mut at = bar.lead;
    let mut positions = Vec::with_capacity(bar.tones.len());
    let mut plain = Vec::with_capacity(bar.tones.len());
    for tone in &bar.tones {
        positions.push(at);
        plain.push(tone.is_note() && !tone.tied && !held && tone.fermatas.is_empty());
        held = tone.tied;
        at += tone.length;
    }
    let mut index = 0;
    while index < bar.tones.len() {
        let size = bar.tones.get(index).and_then(|tone| group_size(&pulse, tone));
        let size = size.filter(|size| {
            let ends = index + size;
            let alike = bar.tones.get(index..ends).is_some_and(|tones| {
                tones
                    .iter()
                    .all(|tone| tone.length == tones[0].length && tone.chain == tones[0].chain)
            });
            let free = plain
                .get(index..ends)
                .is_some_and(|plain| plain.iter().all(|plain| *plain));
            let whole = bar.tones.get(index).map_or(Rational::ONE, |tone| tone.length) * small(*size);
            let (start, _) = pulse.beat_at(positions[index]);
            alike && free && ((positions[index] - start) / whole).is_whole()
        });
        match size {
            Some(size) => {
                found.push((index, size));
                index += size;
            }
            None => index += 1,
        }
    }
    found
}

/// In twos or threes? `None` for what is no run.
fn group_size(pulse: &Pulse, tone: &Tone) -> Option<usize> {
    let beat = if pulse.compound || pulse.beat() < Rational::ONE {
        pulse.beat().max(Rational::ONE)
    } else {
        pulse.beat()
    };
    if tone.chain.as_slice() == [TRIPLET] {
        return Some(3);
    }
    if !tone.chain.is_empty() || tone.is_rest() || tone.length.num() != 1 {
        return None;
    }
    let third = pulse.beat() / Rational::whole(3);
    if pulse.compound && tone.length == third {
        return Some(3);
    }
    (tone.length + tone.length <= beat && tone.length <= Rational::ONE).then_some(2)
}

fn small(size: usize) -> Rational {
    Rational::whole(i64::try_from(size).unwrap_or(1))
}

/// Puts the groups of a bar into rhythm; how many there were.
fn vary(bar: &mut DraftBar, reverse: bool) -> usize {
    let groups = groups(bar);
    for (at, _) in &groups {
        let (one, other) = (*at, at + 1);
        let Some(value) = bar.tones.get(one).map(|tone| tone.length) else {
            continue;
        };
        let (long, short) = (value * Rational::new(3, 2), value * Rational::new(1, 2));
        let (first, second) = if reverse { (short, long) } else { (long, short) };
        for (index, length) in [(one, first), (other, second)] {
            if let Some(tone) = bar.tones.get_mut(index) {
                *tone = tone.lasting(length);
            }
        }
    }
    if !groups.is_empty() {
        for tone in &mut bar.tones {
            tone.beams.clear();
        }
    }
    groups.len()
}

/// A run: its notes, whether each begins a beat, and the note it leads to.
struct Run {
    notes: Vec<(Tone, Quarters)>,
    leads_to: Option<Tone>,
    like: DraftBar,
    /// The length that its beats are counted in.
    beat: Quarters,
}

/// Runs of at least so many notes of one value, without a rest between.
fn runs(passage: &Passage, fewest: usize) -> Vec<Run> {
    let mut found: Vec<Run> = Vec::new();
    let mut open: Option<Run> = None;
    let mut held = false;
    for bar in &passage.bars {
        let pulse = bar.pulse();
        let beat = run_beat(&pulse);
        let mut at = bar.lead;
        for tone in &bar.tones {
            let position = at;
            at += tone.length;
            let is_run = beat
                .is_some_and(|beat| group_size(&pulse, tone).is_some() && tone.length + tone.length <= beat)
                && !held
                && !tone.tied;
            let goes_on = open.as_ref().is_some_and(|run| {
                is_run
                    && run
                        .notes
                        .first()
                        .is_some_and(|(first, _)| first.length == tone.length && first.chain == tone.chain)
                    && Some(run.beat) == beat
                    && run.like.metre == bar.metre
            });
            if !goes_on && let Some(mut run) = open.take() {
                run.leads_to = Some(tone.clone()).filter(|tone| tone.is_note() && !held);
                found.push(run);
            }
            held = tone.tied;
            let Some(beat) = beat.filter(|_| is_run) else {
                continue;
            };
            let inside = position.modulo(beat);
            let run = open.get_or_insert_with(|| Run {
                notes: Vec::new(),
                leads_to: None,
                like: DraftBar {
                    clefs: Vec::new(),
                    keys: Vec::new(),
                    ..bar.clone()
                },
                beat,
            });
            run.notes.push((tone.clone(), inside));
        }
    }
    found.extend(open);
    found.retain(|run| run.notes.len() >= fewest);
    found
}

/// The beat in which runs are grouped: a quarter where a half is counted; none where beats are unequal or too short.
fn run_beat(pulse: &Pulse) -> Option<Quarters> {
    if pulse.compound {
        return Some(pulse.beat());
    }
    let even = pulse
        .beats
        .windows(2)
        .all(|pair| matches!(pair, [a, b] if *b - *a == pulse.beat()));
    if !even || pulse.beat() < Rational::ONE {
        return None;
    }
    Some(Rational::ONE)
}

fn stripped(tone: &Tone, length: Quarters, chain: &[TupletRatio]) -> Tone {
    let mut plain = tone.bare().lasting(length);
    plain.tied = false;
    plain.chain = chain.to_vec();
    plain
}

/// The runs in triplets: three notes to a beat instead of two or four. `None` without runs in twos.
pub(crate) fn triplets(passage: &Passage) -> Option<Vec<Passage>> {
    let runs: Vec<Run> = runs(passage, FEWEST_NOTES)
        .into_iter()
        .filter(|run| {
            run.beat == Rational::ONE && run.notes.first().is_some_and(|(tone, _)| tone.chain.is_empty())
        })
        .collect();
    if runs.is_empty() {
        return None;
    }
    Some(runs.iter().map(in_threes).collect())
}

fn in_threes(run: &Run) -> Passage {
    let third = Rational::new(1, 3);
    let mut tones: Vec<&Tone> = run.notes.iter().map(|(tone, _)| tone).collect();
    tones.extend(&run.leads_to);
    let last = tones.len().saturating_sub(1);
    let flow: Vec<Tone> = tones
        .iter()
        .enumerate()
        .map(|(index, tone)| match (index == last, index % 3) {
            // The last note is held to the end of its beat.
            (true, 0) => stripped(tone, Rational::ONE, &[]),
            (true, 1) => stripped(tone, Rational::new(2, 3), &[TRIPLET]),
            _ => stripped(tone, third, &[TRIPLET]),
        })
        .collect();
    passage_of(&flow, &run.like, None)
}

/// The runs beat by beat, each group played on to the next beat and held there. `None` without runs.
pub(crate) fn with_stops(passage: &Passage) -> Option<Vec<Passage>> {
    let runs = runs(passage, FEWEST_NOTES - 1);
    let all: Vec<Passage> = runs.iter().filter_map(stopping).collect();
    (!all.is_empty()).then_some(all)
}

fn stopping(run: &Run) -> Option<Passage> {
    let full = run.like.full();
    let beats = (full / run.beat).floor();
    let exact = (full / run.beat).is_whole();
    // Group and stop fill two beats, in a bar of three a stop is two long.
    let (hold, metre) = match beats {
        2 | 4 | 6 if exact => (run.beat, None),
        3 if exact => (run.beat + run.beat, None),
        _ => (
            run.beat,
            Some(if run.beat == Rational::ONE {
                Metre::new(2, 4)
            } else {
                Metre::new(6, 8)
            }),
        ),
    };
    let mut tones: Vec<(&Tone, bool)> = run
        .notes
        .iter()
        .map(|(tone, inside)| (tone, inside.is_zero()))
        .collect();
    // Where the run leads to a beat, that beat is the last stop.
    let (value, chain) = run
        .notes
        .first()
        .map(|(tone, _)| (tone.length, tone.chain.clone()))?;
    let after = run.notes.last().map(|(_, inside)| *inside + value)?;
    if let Some(tone) = &run.leads_to {
        tones.push((tone, after == run.beat));
    }
    let lead = run.notes.first().map(|(_, inside)| *inside).unwrap_or_default();
    let mut flow: Vec<Tone> = rests(lead, value, &chain);
    let mut group_begun = false;
    let mut stops = 0;
    for (index, (tone, on_beat)) in tones.iter().enumerate() {
        if *on_beat && group_begun {
            flow.push(stripped(tone, hold, &[]));
            stops += 1;
            group_begun = false;
            if index + 1 < tones.len() {
                flow.extend(rests(value, value, &chain));
            }
            continue;
        }
        flow.push(stripped(tone, value, &chain));
        group_begun = true;
    }
    (stops >= 2).then(|| passage_of(&flow, &run.like, metre))
}

/// Silence as rests of one value.
fn rests(length: Quarters, value: Quarters, chain: &[TupletRatio]) -> Vec<Tone> {
    if chain.is_empty() {
        return if length.is_positive() {
            vec![Tone::rest(length)]
        } else {
            Vec::new()
        };
    }
    let mut left = length;
    let mut all = Vec::new();
    while left.is_positive() && all.len() < 16 {
        all.push(Tone {
            chain: chain.to_vec(),
            ..Tone::rest(value.min(left))
        });
        left -= value;
    }
    all
}

/// Tones in bars like another one, perhaps in another metre.
pub(crate) fn passage_of(flow: &[Tone], like: &DraftBar, metre: Option<Metre>) -> Passage {
    let mut like = DraftBar::like(like);
    if let Some(metre) = metre {
        like.length = metre.length().unwrap_or(like.length);
        like.metre = Some(metre);
    }
    if like.key.fifths.is_none() && like.key.listed.is_empty() {
        like.key = KeySignature::of_fifths(0);
    }
    let mut passage = Passage {
        bars: bar_up(flow, &like),
        ..Passage::default()
    };
    passage.spell();
    passage
}

//! Over which breaks between registers do the bars go? By the instrument's own breaks; on brass over neighbouring slots of one
//! fingering.

use super::Source;
use super::draft::{DraftBar, Passage, Reach, Tone};
use super::leaps::mark;
use super::offer::Pair;
use super::runs::passage_of;
use super::to_and_fro::words;
use crate::BarSpan;
use instruments::{Family, Instrument};
use notation::{Pitch, Quarters, Rational, SpanKind};

/// Most pairs in one drill.
const MOST: usize = 3;

/// The pairs of notes over a break, or between slots on brass, that the bars cross.
pub(crate) fn crossings(source: &Source, span: BarSpan) -> Vec<Pair> {
    let Some(instrument) = source.study.player.instrument else {
        return Vec::new();
    };
    if instrument.family == Family::Brass {
        return slots(source, span);
    }
    let breaks = instrument.register_breaks();
    let mut found: Vec<Pair> = Vec::new();
    for (from, to) in steps_in(source, span) {
        let (low, high) = (from.min(to), from.max(to));
        // A crossing from a note near the break: a leap over two registers is a leap.
        let crossed = breaks.iter().find(|(under, over)| low <= *under && high >= *over);
        let near = high.key_number() - low.key_number() <= 16;
        if crossed.is_some() && near && !found.iter().any(|pair| same(pair, from, to)) {
            found.push(plain_pair(from, to));
        }
    }
    found.truncate(MOST - 1);
    // First the note over the break out of the one that it is blown over from, on nearly the same fingers.
    let over = found.iter().map(|pair| pair.from.max(pair.to)).min();
    let blown = over.and_then(|upper| overblown(source, instrument, upper));
    if let Some(pair) = blown.filter(|pair| !found.iter().any(|known| same(known, pair.from, pair.to))) {
        found.insert(0, pair);
    }
    found
}

/// A note of the second register with the one that it overblows, if she plays both. Source: common practice: flutes, oboes
/// and saxophones overblow the octave, clarinets the twelfth.
fn overblown(source: &Source, instrument: &Instrument, upper: Pitch) -> Option<Pair> {
    let id = instrument.id;
    let (letters, semitones) = match instrument.family {
        Family::Reed if id.contains("clarinet") || id.contains("basset") => (11, 19),
        Family::Flute => (7, 12),
        Family::Reed if id.contains("oboe") || id.contains("english-horn") || id.ends_with("sax") => (7, 12),
        _ => return None,
    };
    // Only the second register lies over the first break.
    let breaks = instrument.register_breaks();
    let second = upper >= breaks.first()?.1 && breaks.get(1).is_none_or(|(under, _)| upper <= *under);
    let lower = upper.transposed(-letters, Rational::whole(-semitones));
    let (low, high) = source.range()?;
    let plays = lower.semitones() >= low.semitones() && upper.semitones() <= high.semitones();
    (second && plays).then(|| plain_pair(lower, upper))
}

fn plain_pair(from: Pitch, to: Pitch) -> Pair {
    Pair {
        from,
        to,
        from_fingering: None,
        to_fingering: None,
    }
}

fn same(pair: &Pair, from: Pitch, to: Pitch) -> bool {
    (pair.from, pair.to) == (from, to) || (pair.to, pair.from) == (from, to)
}

/// Neighbouring notes of the line in some bars, without a rest between; the last leads into the next bar.
fn steps_in(source: &Source, span: BarSpan) -> Vec<(Pitch, Pitch)> {
    let line = &source.ctx.line;
    line.windows(2)
        .filter_map(|pair| {
            let [one, two] = pair else { return None };
            let event = source.ctx.event(one)?;
            let joined = one.onset + one.duration == two.onset;
            (span.holds(event.place.bar) && joined && one.pitch != two.pitch)
                .then_some((one.pitch, two.pitch))
        })
        .collect()
}

/// Leaps on brass that are taken from slot to slot: both notes on one fingering, else the slots under the upper note.
fn slots(source: &Source, span: BarSpan) -> Vec<Pair> {
    let Some(chart) = source.study.fingering.chart else {
        return Vec::new();
    };
    let mut found: Vec<Pair> = Vec::new();
    for (from, to) in steps_in(source, span) {
        let (low, high) = (from.min(to), from.max(to));
        if high.key_number() - low.key_number() < 3 {
            continue;
        }
        // The upper note's usual fingering, and the slot beneath it on the same one.
        let Some(upper) = chart.fingerings(high).first() else {
            continue;
        };
        let under = (1..=12)
            .rev()
            .map(|down| high.transposed(-letters(down), Rational::whole(-i64::from(down))));
        let on_same = |pitch: &Pitch| {
            chart.fingerings(*pitch).iter().any(|one| {
                one.state == upper.state
                    && one.position == upper.position
                    && one.harmonic.zip(upper.harmonic).is_some_and(|(a, b)| a + 1 == b)
            })
        };
        let Some(slot) = under.into_iter().find(on_same) else {
            continue;
        };
        if !found.iter().any(|pair| same(pair, slot, high)) {
            let mut pair = plain_pair(slot, high);
            pair.from_fingering = Some(words(upper));
            pair.to_fingering = Some(words(upper));
            found.push(pair);
        }
    }
    found.truncate(MOST);
    found
}

/// Letters of the usual interval of so many semitones.
const fn letters(semitones: i32) -> i32 {
    match semitones {
        1 | 2 => 1,
        3 | 4 => 2,
        5 | 6 => 3,
        7 => 4,
        8 | 9 => 5,
        10 | 11 => 6,
        _ => 7,
    }
}

/// Slurs over a break: long from either side, then twice as quick, then held over.
pub(crate) fn slurred(pairs: &[Pair], like: &DraftBar) -> Vec<Passage> {
    pairs.iter().map(|pair| slur(pair, like)).collect()
}

fn slur(pair: &Pair, like: &DraftBar) -> Passage {
    let pulse = like.pulse();
    let full = pulse.full;
    let half = pulse
        .beats
        .get(pulse.count().div_ceil(2))
        .copied()
        .unwrap_or(full);
    let (first, second) = if half < full {
        (half, full - half)
    } else {
        (full, full)
    };
    let (from, to) = (pair.from, pair.to);
    let beat = pulse.beat();
    let mut flow: Vec<Tone> = Vec::new();
    let mut reaches: Vec<Reach> = Vec::new();
    let mut group = |notes: &[(Pitch, Quarters)]| {
        let start = u32::try_from(flow.len()).unwrap_or(0) + 1;
        flow.extend(notes.iter().map(|(pitch, length)| Tone::note(*pitch, *length)));
        let end = u32::try_from(flow.len()).unwrap_or(0);
        reaches.push(Reach {
            from: start,
            to: end,
            kind: SpanKind::Slur,
        });
    };
    group(&[(from, first), (to, second)]);
    group(&[(to, first), (from, second)]);
    let mut quick: Vec<(Pitch, Quarters)> = Vec::new();
    let mut at = Quarters::ZERO;
    while at < full && quick.len() < 16 {
        let length = beat.min(full - at);
        quick.push((if quick.len().is_multiple_of(2) { from } else { to }, length));
        at += length;
    }
    group(&quick);
    group(&[(if quick.len().is_multiple_of(2) { from } else { to }, full)]);
    mark(&mut flow);
    let mut passage = passage_of(&flow, like, None);
    passage.reaches = reaches
        .into_iter()
        .filter(|reach| reach.from < reach.to)
        .collect();
    if let Some(tone) = passage.bars.first_mut().and_then(|bar| bar.tones.first_mut()) {
        tone.words.clone_from(&pair.from_fingering);
    }
    passage
}

//! What was heard of each bar, in the order played? Whole, partly or not; what went wrong in it; its tempo.

use super::{HeardNote, Hesitation};
use crate::align::{Alignment, JumpKind, Was};
use crate::expected::Expected;
use crate::numbers::real;
use notation::{BarIndex, Quarters};
use performance::play::{BarBeats, Performance, Role};

/// How much of a bar was played.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Reached {
    /// None of its notes; or it has none.
    Not,
    /// Some.
    Partly,
    /// From its first note to its last.
    Whole,
}

/// One bar as it was to be played.
#[derive(Clone, PartialEq, Debug)]
pub struct HeardBar {
    /// The bar of the page.
    pub bar: BarIndex,
    /// For the how-manieth time, from 1.
    pub pass: u32,
    /// How much of it was played.
    pub reached: Reached,
    /// Notes that begin in it.
    pub expected: usize,
    /// Notes at their pitch, the last time each was played.
    pub right: usize,
    /// Other pitches in their place, the last time.
    pub wrong: usize,
    /// Not heard, the last time.
    pub missing: usize,
    /// Notes too many, all times.
    pub extra: usize,
    /// How often it was begun again from here or broken off here.
    pub restarts: usize,
    /// Waits in it.
    pub hesitations: usize,
    /// Notes far from the pulse.
    pub out_of_time: usize,
    /// Felt beats a minute; `None` where too little was heard.
    pub tempo: Option<f64>,
    /// The felt beat, in quarter notes.
    pub beat: Quarters,
}

impl HeardBar {
    /// Everything at its pitch and in time, at one go.
    #[must_use]
    pub fn clean(&self) -> bool {
        self.reached == Reached::Whole && self.pitches_missed() == 0 && !self.rhythm_missed()
    }

    /// Pitches that were not as written.
    #[must_use]
    pub fn pitches_missed(&self) -> usize {
        self.wrong + self.missing + self.extra
    }

    /// Something in it was not in time.
    #[must_use]
    pub fn rhythm_missed(&self) -> bool {
        self.missing + self.extra + self.restarts + self.hesitations + self.out_of_time > 0
    }
}

/// The felt beat of a bar.
pub(super) fn beat(beats: &[BarBeats], bar: BarIndex) -> Quarters {
    of_bar(beats, bar).map_or(Quarters::whole(1), BarBeats::unit)
}

fn of_bar(beats: &[BarBeats], bar: BarIndex) -> Option<&BarBeats> {
    beats.iter().find(|beats| beats.bar == bar)
}

/// The felt beat as it is counted aloud, from 1; quarter notes from 1 where none is felt.
pub(super) fn counted(beats: &[BarBeats], bar: BarIndex, offset: Quarters) -> f64 {
    let plain = 1.0 + offset.to_f64();
    let Some(bar) = of_bar(beats, bar) else {
        return plain;
    };
    let position = bar.lead + offset;
    let number = bar.beats.partition_point(|beat| beat.start <= position);
    let Some(beat) = number.checked_sub(1).and_then(|n| bar.beats.get(n)) else {
        return plain;
    };
    real(number) + (position - beat.start).to_f64() / beat.length.to_f64().max(1e-9)
}

/// Late or early by more than this is out of time: part of the beat, and seconds. Judgement: well past what listeners notice (2.5 %
/// of the time between notes, Friberg & Sundberg 1995) and what ensembles play (30 ms).
const OUT_OF_TIME_BEAT: f64 = 0.2;
const OUT_OF_TIME_SECS: f64 = 0.09;

impl HeardNote {
    /// Whether it came so early or late, the last time it was played, that its rhythm was missed.
    #[must_use]
    pub fn out_of_time(&self) -> bool {
        let limit = OUT_OF_TIME_SECS.max(OUT_OF_TIME_BEAT * self.beat_secs);
        self.was != Was::Extra && !self.again && self.late_secs.is_some_and(|late| late.abs() > limit)
    }
}

/// The bars in the order played.
pub(super) fn bars(
    performance: &Performance,
    line: &[Expected],
    alignment: &Alignment,
    notes: &[HeardNote],
    hesitations: &[Hesitation],
    beats: &[BarBeats],
) -> Vec<HeardBar> {
    let mut bars: Vec<HeardBar> = performance
        .slots
        .iter()
        .map(|slot| HeardBar {
            bar: slot.played.bar,
            pass: slot.played.pass,
            reached: Reached::Not,
            expected: 0,
            right: 0,
            wrong: 0,
            missing: 0,
            extra: 0,
            restarts: 0,
            hesitations: 0,
            out_of_time: 0,
            tempo: None,
            beat: beat(beats, slot.played.bar),
        })
        .collect();
    let mut last: Vec<Option<&HeardNote>> = vec![None; line.len()];
    for note in notes {
        if note.was != Was::Extra
            && let Some(held) = last.get_mut(note.expected)
        {
            *held = Some(note);
        }
    }
    let slot_of = |expected: usize| line.get(expected).map(|note| note.slot);
    let mut reached: Vec<usize> = vec![0; bars.len()];
    let mut ornamented: Vec<bool> = vec![false; bars.len()];
    for (expected, held) in line.iter().zip(&last) {
        let sounds = held.is_some_and(|note| matches!(note.was, Was::Right | Was::Wrong));
        if let Some(some) = ornamented.get_mut(expected.slot) {
            *some |= sounds;
        }
        let Some(bar) = bars
            .get_mut(expected.slot)
            .filter(|_| expected.role == Role::Written)
        else {
            continue;
        };
        bar.expected += 1;
        let Some(note) = held else { continue };
        if let Some(reached) = reached.get_mut(expected.slot) {
            *reached += 1;
        }
        match note.was {
            Was::Right => bar.right += 1,
            Was::Wrong => bar.wrong += 1,
            Was::Missing => bar.missing += 1,
            Was::Unparted | Was::Extra => {}
        }
    }
    let mut of = |expected: usize, add: &dyn Fn(&mut HeardBar)| {
        if let Some(bar) = slot_of(expected).and_then(|slot| bars.get_mut(slot)) {
            add(bar);
        }
    };
    for note in notes {
        if note.was == Was::Extra {
            of(note.expected, &|bar| bar.extra += 1);
        } else if note.out_of_time() {
            of(note.expected, &|bar| bar.out_of_time += 1);
        }
    }
    let goes_back = |jump: &&crate::align::Jump| {
        jump.kind == JumpKind::Back && super::leaves_its_note(line, jump.from, jump.to)
    };
    for jump in alignment.jumps.iter().filter(goes_back) {
        of(jump.from, &|bar| bar.restarts += 1);
    }
    for hesitation in hesitations {
        of(hesitation.before, &|bar| bar.hesitations += 1);
    }
    for (index, (bar, reached)) in bars.iter_mut().zip(&reached).enumerate() {
        bar.reached = match *reached {
            // A trill over the whole bar: none of its notes is written out.
            0 if bar.expected == 0 && ornamented.get(index) == Some(&true) => Reached::Whole,
            0 => Reached::Not,
            some if some == bar.expected => Reached::Whole,
            _ => Reached::Partly,
        };
        bar.tempo = tempo(performance, line, notes, index, bar.beat);
    }
    bars
}

/// Felt beats a minute in a slot: the straight line through its notes and the first one after it, the last time they were played.
fn tempo(
    performance: &Performance,
    line: &[Expected],
    notes: &[HeardNote],
    slot: usize,
    beat: Quarters,
) -> Option<f64> {
    let from = line.partition_point(|note| note.slot < slot);
    let to = line.partition_point(|note| note.slot <= slot);
    let inside: Vec<&HeardNote> = notes
        .iter()
        .filter(|note| {
            !note.again && matches!(note.was, Was::Right | Was::Wrong) && (from..=to).contains(&note.expected)
        })
        .collect();
    let (first, last) = (inside.first()?, inside.last()?);
    let (a, b) = (line.get(first.expected)?, line.get(last.expected)?);
    let took = last.onset_secs - first.onset_secs;
    let model = b.secs - a.secs;
    let slot = performance.slots.get(slot)?;
    // Half a bar at least, without a fermata in it.
    let free = line
        .get(first.expected..last.expected)?
        .iter()
        .any(|note| note.free);
    if free || model <= 0.0 || took <= 0.0 || (b.onset - a.onset) * Quarters::whole(2) < slot.length {
        return None;
    }
    let quarters = (b.onset - a.onset).to_f64();
    let tempo = 60.0 * quarters / took / beat.to_f64().max(1e-9);
    (5.0..=600.0).contains(&tempo).then_some(tempo)
}
